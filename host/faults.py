"""The fault library: what can go wrong in and around an oven, by name.

`parse("relay_welded_top@600")` gives (fault, seconds). A fault acts on the Outside alone; nothing of
the device is touched.
"""


class FaultError(ValueError):
    """A fault that cannot be had; the text is one line."""


class Fault:
    """One named fault: `start(outside)` makes it, `end(outside)` repairs it where that can be."""

    def __init__(self, name, description, make, mend=None):
        self.name = name
        self.description = description
        self._make = make
        self._mend = mend

    def __deepcopy__(self, memo):
        return self  # holds no state of a board

    def start(self, outside):
        """Make the fault."""
        self._make(outside)
        outside.tell("fault", self.name)

    def end(self, outside):
        """Repair it; FaultError if it cannot be."""
        if self._mend is None:
            raise FaultError(f"fault {self.name} does not end")
        self._mend(outside)
        outside.tell("fault_over", self.name)


def _chip(probe, fault):
    def make(outside):
        if probe not in outside.probe_chips:
            raise FaultError(f"no {probe} probe is wired")
        outside.probe_chips[probe].set_fault(fault)

    return make


def _relay(zone, stuck):
    def make(outside):
        outside.relays[zone == "deck"].stuck = stuck

    return make


def _element(zone, is_whole):
    def make(outside):
        outside.relays[zone == "deck"].element_ok = is_whole

    return make


def _contactor(stuck):
    def make(outside):
        outside.contactor.stuck = stuck

    return make


def _plant(name, value):
    def make(outside):
        if not hasattr(outside.plant, name):
            raise FaultError(f"this oven has no {name}")
        setattr(outside.plant, name, value)

    return make


def _outside(name, value):
    def make(outside):
        setattr(outside, name, value)

    return make


def _order(*order):
    def make(outside):
        outside.orders.append(list(order))

    return make


def _reverse(outside):
    outside.tips["dome"].reversed_at = outside.probe_chips["dome"].junction_c


def _right_way(outside):
    outside.tips["dome"].reversed_at = None


def _trip_limiter(outside):
    if outside.limiter is None:
        raise FaultError("no independent limiter is wired")
    outside.limiter.has_tripped = True


def _cut_power(outside):
    outside.cut_power(20.0)


def _door_open(outside):
    outside.door(600.0)


def _library():
    faults = []

    def add(name, description, make, mend=None):
        faults.append(Fault(name, description, make, mend))

    for probe in ("dome", "stone"):
        fine = _chip(probe, None)
        add(f"{probe}_open", f"lead of the {probe} probe broken", _chip(probe, "open"), fine)
        add(f"{probe}_frozen", f"{probe} chip repeats one frame", _chip(probe, "frozen"), fine)
        add(f"{probe}_silent", f"{probe} chip's data line all ones", _chip(probe, "all_one"), fine)
        add(f"{probe}_zero", f"{probe} chip's data line all zeros", _chip(probe, "all_zero"), fine)
        add(f"{probe}_noise", f"bursts of noise on the {probe} probe", _chip(probe, "noise"), fine)
    add("dome_ground", "dome probe shorted to ground", _chip("dome", "short_ground"), _chip("dome", None))
    add("dome_supply", "dome probe shorted to the supply", _chip("dome", "short_supply"), _chip("dome", None))
    add("dome_reversed", "leads of the dome probe swapped", _reverse, _right_way)
    add("dome_out", "dome probe hangs in the room", _plant("dome_probe_out", True), _plant("dome_probe_out", False))
    add(
        "dome_half_out",
        "dome probe shows 0.8 of the rise",
        _plant("dome_probe_rise_share", 0.8),
        _plant("dome_probe_rise_share", 1.0),
    )
    for zone in ("top", "deck"):
        fine = _relay(zone, None)
        add(f"relay_welded_{zone}", f"relay of the {zone} element conducts always", _relay(zone, "welded"), fine)
        add(f"relay_open_{zone}", f"relay of the {zone} element never conducts", _relay(zone, "open"), fine)
        add(f"relay_leaks_half_{zone}", f"{zone} relay passes half waves while off", _relay(zone, "leaks_half"), fine)
        add(f"relay_half_{zone}", f"{zone} relay passes half waves while on", _relay(zone, "half"), fine)
        add(f"element_open_{zone}", f"{zone} element burnt through", _element(zone, False), _element(zone, True))
    add("contactor_welded", "contactor's main contacts welded", _contactor("welded"), _contactor(None))
    add("contactor_open", "contactor's coil broken", _contactor("open"), _contactor(None))
    add("limiter", "the independent limiter opens", _trip_limiter)
    add("enable_open", "the enable switch is opened", _outside("enable", False), _outside("enable", True))
    add("selector_original", "switch on ORIGINAL", _outside("position", "original"), _outside("position", "ours"))
    add("fan_stopped", "the cooling fan stands still", _outside("fan_works", False), _outside("fan_works", True))
    add("door_open", "the door stays open for 10 minutes", _door_open)
    add("power_cut", "mains off for everything, 20 s", _cut_power)
    add("hang", "the program hangs", _order("hang", 0))
    add("late_tick", "one wait takes 3 s longer", _order("late", 3_000_000))
    add("clock_stalls", "the tick counter stands still", _order("stall", 1), _order("stall", 0))
    add("bus_error", "one bus call fails with an exception", _order("fail", "spi", "OSError"))
    add("pc_not_reading", "the PC stops reading", _outside("host_reading", False), _outside("host_reading", True))
    return {fault.name: fault for fault in faults}


FAULTS = _library()


def parse(text):
    """(Fault, seconds) of "name@seconds"; FaultError with one line otherwise."""
    name, at, seconds = text.partition("@")
    if name not in FAULTS:
        raise FaultError(f"unknown fault {name!r} (known: {', '.join(sorted(FAULTS))})")
    try:
        at_s = float(seconds) if at else 0.0
    except ValueError:
        at_s = -1.0
    if not 0 <= at_s < 1e7:
        raise FaultError(f"fault {text!r}: say name@seconds, seconds from 0 up")
    return FAULTS[name], at_s
