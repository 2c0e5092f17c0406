"""Faults of probes, their cables and their chips."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from host.faults.around import AroundTheBoard
from host.faults.base import Fault, FaultError, Promise, Quiet

LATE_HEAT = "no heat is asked for: a wrong reading alone does nothing"
WARMER = "the probe shows more than there is: the oven stays colder than asked"
ONE_SIDED = "the stone's reading only guards; the dome's reading is right"


class Moved:
    """A temperature shown wrong: `share` of the rise above the room, then `rate_k_s` of drift up to `most_k`."""

    def __init__(
        self,
        source: Callable[[], float],
        outside: AroundTheBoard,
        share: float = 1.0,
        rate_k_s: float = 0.0,
        most_k: float = 0.0,
    ) -> None:
        self.source = source
        self.clock_us = outside.clock_us
        self.plant = outside.plant
        self.start_us = outside.now_us
        self.share = share
        self.rate_k_s = rate_k_s
        self.most_k = most_k

    def __call__(self):
        room_c = self.plant.temperature_c("ambient")
        drift_k = self.rate_k_s * (self.clock_us() - self.start_us) / 1e6
        drift_k = max(-self.most_k, min(self.most_k, drift_k))
        return room_c + self.share * (self.source() - room_c) + drift_k


class Loose:
    """A screw that opens and closes the probe's circuit several times a second."""

    def start(self, outside: AroundTheBoard) -> None:
        """Begin to shake."""
        chip(outside, "dome").is_loose = True
        self.shake(outside)

    def shake(self, outside: AroundTheBoard) -> None:
        """Open or close, then come again."""
        fake = chip(outside, "dome")
        if not getattr(fake, "is_loose", False):
            return
        fake.set_fault(None if fake.fault else "open")
        outside.at(outside.now_us + outside.random.choice((250, 500)) * 1000, self, "shake", outside)

    def end(self, outside: AroundTheBoard) -> None:
        """The screw is tight."""
        chip(outside, "dome").is_loose = False
        chip(outside, "dome").set_fault(None)

    def __deepcopy__(self, _memo):
        return self


def chip(outside: AroundTheBoard, probe: str) -> Any:
    """The fake chip of a probe; FaultError if it is not wired."""
    if probe not in outside.probe_chips:
        raise FaultError(f"no {probe} probe is wired")
    return outside.probe_chips[probe]


def _chip(probe, fault):
    return lambda outside: chip(outside, probe).set_fault(fault)


def _moved(probe, **values):
    def make(outside):
        chip(outside, probe).temperature_c = Moved(outside.tips[probe], outside, **values)

    return make


def _fixed(probe):
    def mend(outside):
        chip(outside, probe).temperature_c = outside.tips[probe]

    return mend


def _junction(rate_k_s, most_k):
    def make(outside):
        for fake in outside.probe_chips.values():
            fake.junction_c = Moved(fake.junction_c, outside, rate_k_s=rate_k_s, most_k=most_k)

    return make


def _junction_fixed(outside):
    for fake in outside.probe_chips.values():
        if isinstance(fake.junction_c, Moved):
            fake.junction_c = fake.junction_c.source


def _plant(name, value):
    def make(outside):
        if not hasattr(outside.plant, name):
            raise FaultError(f"this oven has no {name}")
        setattr(outside.plant, name, value)

    return make


def _reverse(outside):
    outside.tips["dome"].reversed_at = chip(outside, "dome").junction_c


def _right_way(outside):
    outside.tips["dome"].reversed_at = None


def _couple(kind):
    def make(outside):
        fake = chip(outside, "dome")
        fake.couple = kind or outside.pins.PROBES["dome"].get("type", "K")

    return make


def _exchange(outside):
    dome, stone = chip(outside, "dome"), chip(outside, "stone")
    dome.temperature_c, stone.temperature_c = outside.tips["stone"], outside.tips["dome"]


def _exchange_back(outside):
    _fixed("dome")(outside)
    _fixed("stone")(outside)


def faults() -> list[Fault]:
    """Every fault of this group."""
    return [*_of_the_chips(), *_of_the_dome(), *_of_the_domes_reading(), *_of_the_stone()]


def _of_the_chips():
    bad = {"*": None}
    found = []
    for name, words, fault, reasons in (
        ("dome_open", "lead of the dome probe broken", "open", "probe-open"),
        ("dome_ground", "dome probe touches ground", "short_ground", "probe-short-ground"),
        ("dome_supply", "dome probe touches the supply", "short_supply", "probe-short-supply"),
        ("dome_silent", "dome chip's data line all ones", "all_one", "probe-silent"),
        ("dome_zero", "dome chip's data line all zeros", "all_zero", "probe-silent"),
        ("dome_half_zero", "second half of each frame zeros", "half_zero", "probe-silent reading-wrong"),
        ("dome_half_one", "second half of each frame ones", "half_one", "probe-silent reading-wrong probe-open"),
        ("dome_garbled", "frames of random bits", "garbled",
         "probe-silent reading-wrong probe-open probe-short-ground probe-short-supply high-limit box-hot"),
    ):  # fmt: skip
        bad = {"*": Promise(reasons, 1.0, inhibit_s=0.5)}
        found.append(Fault(name, words, _chip("dome", fault), _chip("dome", None), "sensor", bad))
    return found


FAR_LOW = "probe-fell no-rise probes-disagree stone-limit reading-wrong"


# the word about a fault of the dome probe where neither guard is wired
ALONE = "neither a second probe nor the independent limiter is wired: nothing else can see it"


def _dome(name, words, make, mend, promises, **more):
    return Fault(name, words, make, mend, "sensor", promises, **more)


def _of_the_dome():
    noisy = Promise("reading-wrong high-limit probe-silent over-setpoint", 10.0)
    fell = Promise(FAR_LOW + " limiter-open", 200.0, "heat", above_c=130, gentle_s=260.0)
    cooling = {"cooling": Quiet(LATE_HEAT, "reading-wrong")}
    loose = Loose()
    return [
        _dome("dome_noise", "bursts of 60 K on the dome probe", _chip("dome", "noise"), _chip("dome", None),
             {"*": noisy}),
        _dome("dome_loose", "loose screw: circuit opens and closes", loose.start, loose.end,
             {"*": Promise("probe-open reading-wrong", 10.0)}),
        _dome("dome_frozen", "dome chip repeats one frame", _chip("dome", "frozen"), _chip("dome", None),
             {"*": Promise("reading-frozen probe-fell", 95.0, "heat"), "cooling": Quiet(LATE_HEAT)}),
        _dome("dome_reversed", "leads of the dome probe swapped", _reverse, _right_way,
             {"*": Promise("reading-wrong probe-silent", 1.0, inhibit_s=0.5, above_c=130),
              "cold": Promise("probe-reversed no-rise", 190.0, "heat", above_c=130)}),
        _dome("dome_out", "dome probe hangs in the room", _plant("dome_probe_out", True),
             _plant("dome_probe_out", False), {"*": fell, **cooling}),
        _dome("dome_short_outside", "dome lead shorted outside the cavity", _moved("dome", share=0.05), _fixed("dome"),
             {"*": Promise("reading-wrong", 1.0, inhibit_s=0.5, above_c=130),
              "cold": Promise("no-rise", 190.0, "heat")},
             exception=ALONE),
    ]  # fmt: skip


def _of_the_domes_reading():
    seen_as = "probes-disagree stone-limit no-rise probe-fell probe-slipped limiter-open reading-wrong"
    low = {
        "*": Promise(seen_as, 3000.0, "heat", above_c=220),
        "cold": Promise(seen_as, 6000.0, "heat", above_c=220),
        "cooling": Quiet(LATE_HEAT, "reading-wrong probes-disagree"),
    }
    return [
        _dome("dome_half_out", "dome probe drawn back: 12 mm are left in", _plant("dome_probe_immersion_mm", 12.0),
             _plant("dome_probe_immersion_mm", 100.0), low, exception=ALONE),
        _dome("dome_foil", "bright foil wrapped over the dome probe", _plant("dome_probe_foil", True),
             _plant("dome_probe_foil", False),
             {"*": Quiet("it reads the air instead of the walls, a few kelvin apart, and later",
                         "over-setpoint undriven-rise probe-fell", 180.0)}),
        _dome("dome_touches_element", "dome tip touches the top element", _plant("dome_probe_touch_w_m2k", 400.0),
             _plant("dome_probe_touch_w_m2k", 0.0),
             {"*": Quiet(WARMER, "over-setpoint high-limit undriven-rise heat-uncontrolled probe-near-element "
                                 "element-weak probes-disagree reading-wrong", 180.0)}),
        _dome("dome_drift_low", "dome reading drifts down 2 K a minute", _moved("dome", rate_k_s=-1 / 30, most_k=120.0),
             _fixed("dome"), low, exception=ALONE),
        _dome("dome_drift_high", "dome reading drifts up 2 K a minute", _moved("dome", rate_k_s=1 / 30, most_k=120.0),
             _fixed("dome"), {"*": Quiet(WARMER, "over-setpoint high-limit undriven-rise heat-uncontrolled", 300.0)}),
        _dome("dome_other_couple", "type N couple on a type K amplifier", _couple("N"), _couple(None),
             low, exception=ALONE),
        _dome("dome_near_element", "dome tip sees an element in front of it", _plant("dome_probe_near_element", 0.3),
             _plant("dome_probe_near_element", 0.0),
             {"*": Quiet(WARMER, "over-setpoint high-limit undriven-rise heat-uncontrolled probe-near-element "
                                 "element-weak", 180.0)}),
        _dome("probes_exchanged", "dome and stone probe exchanged", _exchange, _exchange_back,
             {"*": Quiet("a hot stone reads above the dome: the dome stays colder",
                         "probes-disagree reading-wrong stone-limit stone-probe over-setpoint high-limit", 300.0),
              "preheat": Quiet("the stone lags and is taken for the dome: the true dome runs ahead of it",
                               "probes-disagree reading-wrong stone-limit stone-probe", 300.0),
              "cold": Quiet("a lagging stone is taken for the dome, which runs ahead by up to 25 K at the setpoint",
                            "probes-disagree stone-limit probe-slipped no-rise", 4500.0)}, needs=("stone",)),
        _dome("box_heat", "box gets hot: 30 K a minute", _junction(0.5, 70.0), _junction_fixed,
             {"*": Promise("box-hot", 130.0)}),
    ]  # fmt: skip


def _of_the_stone():
    gone = {"*": Promise("stone-probe", 1.0)}

    def stone(name, words, make, mend, promises):
        return Fault(name, words, make, mend, "sensor", promises, needs=("stone",))

    return [
        stone("stone_open", "lead of the stone probe broken", _chip("stone", "open"), _chip("stone", None), gone),
        stone("stone_silent", "stone chip's data line all ones", _chip("stone", "all_one"), _chip("stone", None), gone),
        stone("stone_zero", "stone chip's data line all zeros", _chip("stone", "all_zero"), _chip("stone", None), gone),
        stone("stone_noise", "bursts of 60 K on the stone probe", _chip("stone", "noise"), _chip("stone", None),
              {"*": Quiet(ONE_SIDED, "stone-probe stone-limit probes-disagree", 60.0)}),
        stone("stone_frozen", "stone chip repeats one frame", _chip("stone", "frozen"), _chip("stone", None),
              {"*": Quiet(ONE_SIDED, "probes-disagree", 120.0)}),
        stone("stone_out", "stone probe hangs in the room", _plant("stone_probe_out", True),
              _plant("stone_probe_out", False), {"*": Quiet(ONE_SIDED, "stone-probe", 120.0)}),
    ]  # fmt: skip
