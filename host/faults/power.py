"""Faults of relays, contactor, elements, mains and of the contacts that are sensed."""

from __future__ import annotations

from host.faults.base import NO_SESSION, Fault, FaultError, Promise, Quiet

DARK = "the contactor is open: the fault cannot show until heat is asked for"
COLDER = "less heat than asked: the oven stays colder"
PAST = "over-setpoint undriven-rise high-limit"  # the slow rules and what they guard


def _relay(zone, stuck):
    def make(outside):
        outside.account()
        outside.relays[zone == "deck"].stuck = stuck

    return make


def _element(zone, is_whole):
    def make(outside):
        outside.account()
        outside.relays[zone == "deck"].element_ok = is_whole

    return make


def _contactor(stuck):
    def make(outside):
        outside.account()
        outside.contactor.stuck = stuck

    return make


def _outside(name, value):
    return lambda outside: setattr(outside, name, value)


def _pad(pin_name, level):
    def make(outside):
        outside.orders.append(["pad", outside.pins.pin(pin_name), level])

    return make


def _wire(kind, *names):
    def make(outside):
        getattr(outside.contacts, kind).update(names)

    return make


def _wire_mended(kind, *names):
    def mend(outside):
        getattr(outside.contacts, kind).difference_update(names)
        outside.contacts.sensing = {}

    return mend


def _trip_limiter(outside):
    if outside.limiter is None:
        raise FaultError("no independent limiter is wired")
    outside.limiter.has_tripped = True


def _mains(ratio, for_s=0.0):
    def make(outside):
        outside.mains(ratio)
        if for_s:
            outside.at(outside.now_us + round(for_s * 1e6), outside, "mains", 1.0)

    return make


def _door(outside):
    outside.door(600.0)


def faults() -> list[Fault]:
    """Every fault of this group."""
    found = []
    for zone in ("top", "deck"):
        found.extend(_of_a_zone(zone))
    return [*found, _both_relays(), *_of_the_contactor(), *_of_the_contacts(), *_of_the_wires(), *_of_the_mains()]


def _of_a_zone(zone):
    dark = {"cooling": Quiet(DARK)}
    welded = Promise("relay-welded start-test", 1.0, "off_" + zone)
    one_zone = "one zone alone does not pass the holding power by much: the controller takes the other one back"
    slow = {"*": Quiet(one_zone, PAST, 600.0)}
    half = Promise("half-wave start-test relay-welded", 1.0, "off_" + zone)
    leak = {"*": Quiet("half of one element's power: the controller takes it into account", PAST, 300.0)}
    missing = {"*": Promise("no-current", 1.5, "on_" + zone, while_on=True), **dark}
    less = {"*": Quiet(COLDER, "element-weak no-rise probe-fell", 180.0)}
    pin = "HEAT_" + zone.upper()

    def relay(name, words, stuck, promises, unsensed):
        return Fault(name, words, _relay(zone, stuck), _relay(zone, None), "actuator", promises, unsensed)

    return [
        relay(f"relay_welded_{zone}", f"relay of the {zone} element conducts always", "welded",
              {"*": welded, **dark}, slow),
        relay(f"relay_open_{zone}", f"relay of the {zone} element never conducts", "open", missing, less),
        relay(f"relay_leaks_half_{zone}", f"{zone} relay passes half waves while off", "leaks_half",
              {"*": half, **dark}, leak),
        relay(f"relay_half_{zone}", f"{zone} relay passes half waves while on", "half",
              {"*": Promise("half-wave no-current", 1.5, "on_" + zone, while_on=True), **dark}, less),
        Fault(f"element_open_{zone}", f"{zone} element burnt through", _element(zone, False), _element(zone, True),
              "actuator", missing, less),
        Fault(f"pin_stuck_on_{zone}", f"input of the {zone} relay short to the supply", _pad(pin, 1), _pad(pin, None),
              "actuator", {"*": Promise("pin-readback relay-welded", 1.0, "off_" + zone),
                           **{p: Promise("pin-readback contactor-welded", 1.0) for p in ("cold", "held", "cooling")}}),
        Fault(f"pin_stuck_off_{zone}", f"input of the {zone} relay short to ground", _pad(pin, 0), _pad(pin, None),
              "actuator", {"*": Promise("pin-readback", 1.5, "on_" + zone), **dark}),
    ]  # fmt: skip


def _both(stuck):
    def make(outside):
        for zone in ("top", "deck"):
            _relay(zone, stuck)(outside)

    return make


def _both_relays():
    # Below the setpoint all heat is wanted anyway: stuck relays show once it is passed.
    slow = {"*": Promise(PAST, 700.0, "off"), "setpoint": Promise(PAST, 320.0, "off"),
            "preheat": Promise(PAST, 2000.0, "off"), "cold": Promise(PAST, 5000.0, "off"),
            "cooling": Quiet(DARK)}  # fmt: skip
    return Fault("relays_welded_both", "both relays conduct always (their common driver has failed)", _both("welded"),
                 _both(None), "actuator",
                 {"*": Promise("relay-welded start-test", 1.0, "off"), "cooling": Quiet(DARK)}, slow)  # fmt: skip


def _of_the_contactor():
    idle = ("cold", "cooling", "held")
    sleeping = "the contactor only stays closed: both relays still switch the heat off"
    welded = {"*": Quiet(sleeping), **{phase: Promise("contactor-welded", 2.0) for phase in idle}}
    # Let go for another fault's sake, or for a reading that is not believed, its pin is seen to disagree.
    seen = Promise("contactor-welded pin-readback", 2.0)
    stuck = {"*": Quiet(sleeping, "pin-readback"), **dict.fromkeys(idle, seen)}
    return [
        Fault("contactor_welded", "contactor's main contacts welded", _contactor("welded"), _contactor(None),
              "actuator", welded, {"*": Quiet(sleeping)}),
        Fault("contactor_open", "contactor's coil broken", _contactor("open"), _contactor(None), "actuator",
              {"*": Promise("contactor-open no-current", 2.0, "heat"), "cooling": Quiet(DARK)},
              {"*": Quiet(COLDER, "no-rise probe-fell", 200.0)}),
        Fault("contactor_driver_stuck", "contactor's driver conducts always", _pad("CONTACTOR", 1),
              _pad("CONTACTOR", None), "actuator", stuck),
    ]  # fmt: skip


def _wire_fault(name, words, kind, inputs, promises):
    return Fault(name, words, _wire(kind, *inputs), _wire_mended(kind, *inputs), "wiring", promises, needs=inputs)


def _of_the_contacts():
    held = {"*": Promise("enable-open", 0.5), "cooling": Quiet(NO_SESSION), "cold": Quiet(NO_SESSION)}
    taken = {"*": Promise("selector-original", 0.5), "cooling": Quiet(NO_SESSION, "fan-stopped"),
             "cold": Quiet(NO_SESSION, "fan-stopped")}  # fmt: skip
    limiter = {"*": Promise("limiter-open", 0.5)}
    fan = {"*": Promise("fan-stopped", 6.0, inhibit_s=0.5),
           "cooling": Promise("fan-stopped", 6.0, above_c=155),
           "cold": Quiet("a resting fan is not asked for; the start is refused or trips", "fan-stopped")}  # fmt: skip
    return [
        Fault("limiter", "the independent limiter opens", _trip_limiter, None, "wiring", limiter,
              needs=("LIMIT_OK",)),
        Fault("enable_open", "the enable switch is opened", _outside("enable", False), _outside("enable", True),
              "wiring", held, needs=("ENABLE",)),
        Fault("selector_original", "switch on ORIGINAL", _outside("position", "original"),
              _outside("position", "ours"), "wiring", taken, needs=("SELECTOR",)),
        Fault("fan_stopped", "the cooling fan stands still", _outside("fan_works", False), _outside("fan_works", True),
              "wiring", fan, needs=("FAN_OK",)),
        _wire_fault("enable_wire_cut", "wire of ENABLE broken", "cut_wires", ("ENABLE",), held),
        _wire_fault("limiter_wire_cut", "wire of LIMIT_OK broken", "cut_wires", ("LIMIT_OK",), limiter),
        _wire_fault("selector_wire_cut", "wire of SELECTOR broken", "cut_wires", ("SELECTOR",), taken),
        _wire_fault("fan_wire_cut", "wire of FAN_OK broken", "cut_wires", ("FAN_OK",), fan),
    ]  # fmt: skip


def _of_the_wires():
    mirror = "the mirror contact is only looked at while the contactor is open"
    sense = ("MAINS_SENSE_TOP", "MAINS_SENSE_DECK")
    return [
        _wire_fault("mirror_wire_cut", "wire of the mirror contact broken", "cut_wires", ("CONTACTOR_OPEN",),
             {"*": Quiet(mirror), **{p: Promise("contactor-welded self-test", 2.0)
                                     for p in ("cold", "held", "cooling")}}),
        _wire_fault("mirror_wire_short", "wire of the mirror contact short to ground", "shorted_wires",
             ("CONTACTOR_OPEN",),
             {"*": Promise("contactor-open", 2.0, "heat"), "cooling": Quiet(DARK)}),
        _wire_fault("sense_wire_cut", "wire of a current sensor broken", "cut_wires", sense[:1],
             {"*": Promise("no-current", 1.5, "on_top", while_on=True), "cooling": Quiet(DARK)}),
        _wire_fault("sense_wire_short", "wire of a current sensor short to ground", "shorted_wires", sense[1:],
             {"*": Promise("relay-welded", 1.0, "off_deck"), "cooling": Promise("contactor-welded", 2.0),
              "held": Promise("contactor-welded", 2.0), "cold": Promise("contactor-welded", 2.0)}),
        Fault("door_open", "the door stays open for 10 minutes", _door, None, "people",
              {"*": Promise("door-open", 1.0, inhibit_s=0.6)}, needs=("DOOR",)),
        Fault("door_wire_cut", "wire of the door contact broken", _wire("cut_wires", "DOOR"),
              _wire_mended("cut_wires", "DOOR"), "wiring", {"*": Promise("door-open", 1.0, inhibit_s=0.6)},
              needs=("DOOR",)),
    ]  # fmt: skip


def _of_the_mains():
    gone = {"*": Promise("no-current fan-stopped contactor-open", 7.0, "on"),
            "cooling": Quiet(DARK, "fan-stopped"), "cold": Quiet(NO_SESSION, "fan-stopped")}  # fmt: skip
    unseen = {"*": Promise("fan-stopped", 7.0), "cooling": Quiet(DARK, "fan-stopped"),
              "cold": Quiet(NO_SESSION, "fan-stopped")}  # fmt: skip
    dip = {"*": Quiet("a short dip: the heat is less for two seconds", "no-current")}
    low = {"*": Quiet(COLDER, "element-weak no-rise probe-fell", 180.0)}
    return [
        Fault("mains_gone", "mains away for heat and fan, board on its own supply", _mains(0.0), _mains(1.0), "mains",
              gone, unseen),
        Fault("mains_dip", "mains at half voltage for 2 s", _mains(0.5, 2.0), None, "mains", dip),
        Fault("mains_low", "mains at 85 %", _mains(0.85), _mains(1.0), "mains", low),
        Fault("mains_high", "mains at 115 %", _mains(1.15), _mains(1.0), "mains",
              {"*": Quiet("more heat than nominal: the controller takes it off", PAST, 180.0)}),
    ]  # fmt: skip
