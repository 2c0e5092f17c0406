"""What a kitchen does to a controlled oven by itself: slipping probes, wrong cables, foil, ajar doors, loose coils.

Where one probe cannot see a fault, the word of the Fault says which layer does. `--wiring` and `--fault` of the drill
show what each comes to.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from host.faults.around import AroundTheBoard
from host.faults.base import Fault, Promise, Quiet, board_of, send
from host.faults.sensor import chip

LAYER = "one probe cannot see it: the independent limiter does, or a second probe"
LOW = (
    "probe-slipped probes-disagree stone-limit no-rise probe-fell limiter-open reading-wrong undriven-rise "
    "over-setpoint"
)
COLDER = "the probe shows more than there is: the oven stays colder than asked"
SECOND_S = 1_000_000


class Wrong:
    """A reading that is not the tip's: `shown(tip_c, age_s)`; kept in place of the chip's source."""

    def __init__(self, outside: AroundTheBoard, probe: str = "dome") -> None:
        self.source = outside.tips[probe]
        self.clock_us = outside.clock_us
        self.plant = outside.plant
        self.start_us = outside.now_us

    def __call__(self):
        return self.shown(self.source(), (self.clock_us() - self.start_us) / 1e6)


class Slides(Wrong):
    """Slides out until `share` of the rise is left, within `over_s`."""

    def __init__(self, outside: AroundTheBoard, share: float, over_s: float) -> None:
        super().__init__(outside)
        self.share, self.over_s = share, over_s

    def shown(self, tip_c: float, age_s: float) -> float:
        """What the amplifier is given, °C."""
        room_c = self.plant.temperature_c("ambient")
        share = 1.0 - (1.0 - self.share) * min(1.0, age_s / self.over_s)
        return room_c + share * (tip_c - room_c)


class Lags(Wrong):
    """Foil or a pan over the tip: the reading follows late."""

    def __init__(self, outside: AroundTheBoard, lag_s: float) -> None:
        super().__init__(outside)
        self.lag_s = lag_s
        self.value_c = self.source()
        self.last_s = 0.0

    def shown(self, tip_c: float, age_s: float) -> float:
        """What the amplifier is given, °C."""
        step_s, self.last_s = age_s - self.last_s, age_s
        self.value_c += (tip_c - self.value_c) * min(1.0, step_s / self.lag_s)
        return self.value_c


class Spikes(Wrong):
    """Relay noise on the cable, within range: so many kelvin more while a relay conducts."""

    def __init__(self, outside: AroundTheBoard, spike_k: float) -> None:
        super().__init__(outside)
        self.relays = outside.relays
        self.spike_k = spike_k

    def shown(self, tip_c: float, age_s: float) -> float:
        """What the amplifier is given, °C."""
        return tip_c + (self.spike_k if any(relay.wave for relay in self.relays) else 0.0)


class Again:
    """Does something again and again: `act(outside)`, every `period_s`, so many times."""

    def __init__(self, act: Callable[[Any], object], period_s: float, times: int) -> None:
        self.act, self.period_s, self.times = act, period_s, times

    def __call__(self, outside):
        """Begin."""
        for number in range(self.times):
            outside.at(outside.now_us + round((number * self.period_s + 0.01) * SECOND_S), self, "once", outside)

    def once(self, outside: AroundTheBoard) -> None:
        """Once."""
        self.act(outside)
        outside.quiet_us = 0

    def __deepcopy__(self, _memo):
        return self


class Chatter:
    """A coil circuit with a loose wire: the contactor falls and closes again at half of each period."""

    def __init__(self, period_s: float, times: int = 4000) -> None:
        self.period_us = round(period_s * SECOND_S / 2)
        self.times = times

    def __call__(self, outside):
        """Begin."""
        outside.chatter_left = self.times
        self.turn(outside)

    def turn(self, outside: Any) -> None:
        """Fall or close, then come again."""
        contactor = outside.contactor
        if contactor.stuck == "welded" or not getattr(outside, "chatter_left", 0):
            return
        contactor.stuck = None if contactor.stuck else "open"
        outside.chatter_left -= 1
        outside.quiet_us = 0
        outside.at(outside.now_us + self.period_us, self, "turn", outside)

    def __deepcopy__(self, _memo):
        return self


def _reading(kind, *values):
    def make(outside):
        chip(outside, "dome").temperature_c = kind(outside, *values)

    return make


def _mended(outside):
    chip(outside, "dome").temperature_c = outside.tips["dome"]


def _dangerous_settings(outside):
    board = board_of(outside)
    with board.world.running(board.port):
        store = board.world.load("tizzone.memory.store").Store()
        curve = [[0, -15_000], [600_000, -15_000]]
        together = {"high_limit_c": 550, "setpoint_c": 530, "session_max_min": 480, "calibration": {"dome": curve}}
        store.save("settings", {**together, "exclusive": 0, "min_switch_ms": 250, "attend_min": 30})
    outside.cut_power(0.5)


def _wrong_correction(outside):
    send(outside, "stop")
    outside.at(outside.now_us + SECOND_S, _Line("correction dome 0:-15000 600000:-15000"), "say", outside)


class _Line:
    """Something typed later."""

    def __init__(self, text):
        self.text = text

    def say(self, outside):
        """Type it."""
        send(outside, self.text)

    def __deepcopy__(self, _memo):
        return self


def _wrong_contacts(outside):
    board = board_of(outside).port.board
    board.ENABLE, board.LIMIT_OK = board.LIMIT_OK, board.ENABLE
    outside.cut_power(0.5)


TYPED = ("setpoint 480", "hold", "resume", "start", "present", "stop", "setpoint 9999", "witness accept", "loaded",
         "setting high_limit_c 550", "acknowledge", "rest", "learn start", "reset")  # fmt: skip


def _second_person(outside):
    for number in range(60):
        text = outside.random.choice(TYPED)
        outside.at(outside.now_us + number * 7 * SECOND_S, _Line(text), "say", outside)


class _Clock:
    """The tick counter at so much of its rate."""

    def __init__(self, port, share):
        self.real, self.share = port.ticks_ms, share
        self.begun = self.real()

    def __call__(self):
        passed = (self.real() - self.begun) & (1 << 30) - 1  # the counter comes round, as on the boards
        return self.begun + int(passed * self.share) & (1 << 30) - 1


def _slow_clock(outside):
    port = board_of(outside).port
    port.ticks_ms = _Clock(port, 0.94)


def _ajar(outside):
    outside.plant.event("door", seconds=1.5)


def faults() -> list[Fault]:
    """Every fault of this group."""
    slow = {"*": Quiet(LAYER, LOW, 3000.0)}

    def sensor(name, words, make, promises=None, **more):
        return Fault(name, words, make, _mended, "sensor", promises or slow, **more)

    shorts = [
        sensor(f"cable_short_{round(share * 10)}", f"short midway: shows {share:g} of the rise",
               _reading(Slides, share, 0.5), exception=LAYER) for share in (0.7, 0.5, 0.3)
    ]  # fmt: skip
    foils = [
        sensor(f"foil_{lag_s}", f"foil or a pan over the tip: follows {lag_s} s late", _reading(Lags, float(lag_s)),
               {"*": Quiet("the air runs ahead for a while; the mean is right", LOW + " high-limit", 1800.0)})
        for lag_s in (60, 400)
    ]  # fmt: skip
    return [
        sensor("dome_slides_out", "dome probe slides out over 40 min, to 0.4 of the rise",
               _reading(Slides, 0.4, 2400.0), exception=LAYER),
        sensor("cable_reversed_twice", "extension cable reversed at both ends: shows 0.87 of the rise",
               _reading(Slides, 0.87, 0.5), exception=LAYER),
        *shorts,
        *foils,
        sensor("spikes_with_relay", "18 K more while a relay conducts", _reading(Spikes, 18.0),
               {"*": Quiet(COLDER, LOW + " high-limit probe-near-element", 600.0)}),
        *_of_the_rest(),
    ]  # fmt: skip


def _of_the_rest():
    chatter = Promise("contactor-chatter contactor-open no-current", 12.0, "heat")
    late = {"cooling": Quiet("no heat is asked for", "contactor-chatter contactor-open")}
    boots = Promise("power-cut watchdog-reset fan-stopped", 400.0, inhibit_s=0.5)
    lost = {
        "*": Promise("power-cut high-limit settings-damaged", 25.0, inhibit_s=0.5),
        "cold": Quiet("the record no longer holds: released to 60 °C", "not-commissioned settings-damaged", 300.0),
        "cooling": Quiet("the record no longer holds", "not-commissioned high-limit settings-damaged", 60.0),
    }
    return [
        Fault("door_ajar", "door ajar by a crack for an hour", Again(_ajar, 12.0, 300), None, "people",
              {"*": Quiet("the reading is right: the oven is as hot as asked", "door-open " + LOW, 1200.0)}),
        Fault("contactor_chatters", "coil wire loose: falls and closes every 0.4 s", Chatter(0.4), None, "actuator",
              {"*": chatter, **late}, needs=("CONTACTOR_OPEN",)),
        Fault("mains_boots", "mains away for 2 s every 5 s, for a minute", Again(_cut, 5.0, 12), None, "mains",
              {"*": boots, "cold": Quiet("idle: nothing is on", "power-cut watchdog-reset"),
               "cooling": Quiet("idle: nothing is on", "power-cut watchdog-reset")}),
        Fault("settings_dangerous", "settings whole by checksum, dangerous together, restart", _dangerous_settings,
              None, "board", lost, inside=True),
        Fault("contacts_exchanged", "pin map with ENABLE and LIMIT_OK exchanged, restart", _wrong_contacts, None,
              "board", lost, needs=("LIMIT_OK", "ENABLE"), inside=True),
        Fault("correction_wrong_sign", "a correction of -15 K instead of +15 K is stored", _wrong_correction, None,
              "people",
              {"*": Quiet("refused in an evening; the high limit takes the raw reading", "over-setpoint", 60.0)}),
        Fault("second_person", "a second person types whatever comes", _second_person, None, "people",
              {"*": Quiet("every line is checked; none raises a limit", LOW + " relay-welded attendance", 430.0)}),
        Fault("clock_slow", "the tick clock runs 6 % slow", _slow_clock, None, "board",
              {"*": Promise("clock-wrong", 140.0, "heat"), "cooling": Quiet("no evening is on")}, inside=True),
    ]  # fmt: skip


def _cut(outside):
    outside.cut_power(2.0)
