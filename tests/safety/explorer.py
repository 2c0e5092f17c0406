"""Explicit-state exploration of supervisor x sequence x heater: the real objects, driven by the real App._tick.

What is outside is abstract: one event a tick (everything good, one contact open, a bad reading, a tick that a flash
write of our own has made late, records that wait at an open door ...), or two of them at once ("fan+open"), and at most
one line of a person in it. Times are
shortened so that every age can pass its limit within a few ticks, and slow clocks (presence, session) are events; the
rules about the oven are silent, since what they do is what any trip does. A state is a projection of the objects:
everything that decides about heat or about the next state. Left out are what only tells people something (alarm states,
which condition it was, counters) and ages beyond the limit they are compared with.
"""

import itertools
import time
from collections import deque

from safety_bench import FULL_MAP, Condition

from host.shim.loader import World

TICK_MS = 250
SETPOINT_MC = 300_000
COLD_MC, HOT_MC = 20_000, 300_000
LINES = ("start", "stop", "hold", "resume", "reset", "acknowledge", "unlock", "present", "loaded")
GOOD = ("cold", "hot")
EVENTS = GOOD + (
    "over-limit", "open", "stale", "enable", "limiter", "selector", "fan", "door", "current", "mirror", "late",
    "nobody", "session-over", "stall", "records",
)  # fmt: skip
PAIRS = tuple("+".join(pair) for pair in itertools.combinations([name for name in EVENTS if name not in GOOD], 2))
# Shortened: condition -> debounce, so that two or three ticks pass each.
SHORT_MS = {"probe-open": 500, "reading-stale": 500, "fan-stopped": 250, "contactor-welded": 250, "contactor-open": 250}


class Level:
    """A pin that keeps a level."""

    def __init__(self):
        self.level = 0

    def value(self, level=None):
        if level is not None:
            self.level = level
        return self.level


class Quiet:
    """Answers every call with `answer` and does nothing: recorder, memory, link and slow rules."""

    def __init__(self, answer=True, **values):
        self.answer = answer
        self.__dict__.update(values)

    def __getattr__(self, name):
        if name.startswith("__"):
            raise AttributeError(name)
        return lambda *values, **named: self.answer

    def __bool__(self):
        return False


class QuietEvening(Quiet):
    """The records of an evening take no part; beginning one is passed on."""

    def start(self, app, sensed):
        app.sequence.start(sensed)


class Explorer:
    """`successors(snapshot)` lets the objects act; `key()` is the projection."""

    def __init__(self, sensed=True, pulse=False):
        world = World()
        self.L = world.load("tizzone.safety.limits")
        self.S = world.load("tizzone.evening.sequence")
        self.S.COOLED_MS = 500
        self.L.UNSTEADY_WEIGHT, self.L.UNSTEADY_MS = 1, 500
        self.L.LOCKOUT_TRIPS = 2
        self.commands = world.load("tizzone.link.commands")
        self.is_sensed = sensed
        supervisor = world.load("tizzone.safety.supervisor")
        board = type("Board", (), dict(FULL_MAP, CONTACTOR_DRIVE="pulse" if pulse else "level"))
        self.dome = Condition(COLD_MC)
        heater_module = world.load("tizzone.board_io.heater")
        heater_module.output = lambda number: Level()
        heater_module._HALF_TICK_MS = 125
        module = world.load("tizzone.app")
        module.fill_report = lambda app: None
        real = module.App
        # What is not made below (recorder, witness ...) takes no part: it is there and does nothing.
        stand_in = type("StandIn", (real,), {"__getattr__": lambda self, name: Quiet(None)})
        app = self.app = stand_in.__new__(stand_in)
        app.board, app.dome, app.stone = board, self.dome, None
        app.heater = heater_module.Heater(board, 500, 250)
        app.supervisor = supervisor.Supervisor(high_limit_mc=500_000, release_mc=480_000)
        app.sequence = self.S.Sequence(setpoint_mc=SETPOINT_MC, soak_ms=500, bake_ms=500, breads=2)
        app.seen = world.load("tizzone.safety.seen").Seen(self.dome, None)
        app.pid = Quiet(100.0)
        app.memory = Quiet(True, session_open=0)
        app.evening = QuietEvening(None, plan=Quiet(None), opening=0, keeping=0)
        app.learning = Quiet(None, experiment=None)
        app.acts = world.load("tizzone.link.acts").Acts(app)
        app.watchdog = None
        app.out_pm = app.ticks = app._uncollected = 0
        app.top_share_pct = 50
        app.settings = {}
        app.release_reason = ""
        app._sense = self._sense
        app._talk = lambda: None
        app.due = Quiet(None)
        sup = app.supervisor
        for name, ms in SHORT_MS.items():
            sup._debounce_ms[self.L.CONDITION_NAMES.index(name)] = ms
        sup.no_rise = Quiet(None, no_rise=0, reversed=0)
        sup.fell = Quiet(None, fell=0, high_mc=COLD_MC, rest_ms=0)
        sup.runaway = Quiet(None, over=0, rising=0, undriven_ms=0, calm_ms=0)
        sup.weak = Quiet(None, weak=0)
        sup.ripple = Quiet(None, near=0)
        sup.armed = 1
        sup.self_test = supervisor.PASSED
        heater = app.heater
        self.parts = [
            app, sup, sup.permit, sup.unsteady, sup.attendance, sup.wiring_rules.top, sup.wiring_rules.deck,
            app.sequence, app.seen,
            heater, heater.top, heater.deck, heater.top.pin, heater.deck.pin, heater.contactor, heater.fan, self.dome,
        ]  # fmt: skip
        self.tick("cold")

    def save(self):
        """All of it, to come back to."""
        sup = self.app.supervisor
        return [dict(vars(part)) for part in self.parts], bytes(sup.present), bytes(sup.states), sup._ages_ms[:]

    def load(self, saved):
        """Come back."""
        states, present, alarm_states, ages = saved
        for part, values in zip(self.parts, states, strict=True):
            vars(part).update(values)
        sup = self.app.supervisor
        sup.no_rise, sup.fell = self.parts[1].no_rise, self.parts[1].fell
        sup.present[:], sup.states[:] = present, alarm_states
        sup._ages_ms[:] = ages

    def tick(self, event):
        """One tick in which `event`, one or two of EVENTS, is all that is not good."""
        self.event = event.split("+")
        self.app.evening.keeping = 1 if "records" in self.event else 0
        self.app._tick(501 if "late" in self.event or "stall" in self.event else TICK_MS)
        self._settle()

    def say(self, line):
        """What a person says at the end of that tick, in the place of App._talk."""
        self.commands.answer(self.app, line)
        # acknowledge makes new slow rules: here they stay events
        self.app.supervisor.no_rise = Quiet(None, no_rise=0, reversed=0)
        self.app.supervisor.fell = Quiet(None, fell=0, high_mc=COLD_MC, rest_ms=0)

    def _sense(self, dt_ms):
        """In the place of App._sense: what this tick knows."""
        app, event, dome, seen = self.app, self.event, self.dome, self.app.seen
        heater = app.heater
        if "open" in event:
            dome.fails(1)
        elif "over-limit" in event:
            dome.reads(500_000)
        elif "stale" not in event:
            dome.reads(HOT_MC if "hot" in event else COLD_MC if "cold" in event else dome.pv_mc)
        if dome.pv_mc >= 500_000 and "over-limit" not in event:
            dome.pv_mc = dome.limit_mc = HOT_MC
        if "stale" not in event:
            seen.dome_serial = 1 - (seen.dome_serial & 1)
        seen.box_mc = 30_000
        seen.top_on, seen.deck_on, seen.contactor_on = heater.top.on, heater.deck.on, heater.contactor_on
        seen.fan_on = heater.fan_on
        seen.readback_ok = heater.follows()
        seen.deadman_fired = heater.take_deadman()
        for name, field in (
            ("enable", "enable"), ("limiter", "limit_ok"), ("selector", "selector_ours"), ("fan", "fan_ok"),
            ("door", "door_shut"),
        ):  # fmt: skip
            setattr(seen, field, 0 if name in event else 1)
        if "records" in event:
            seen.door_shut = 0
        seen.own_write = 1 if "stall" in event else 0
        if self.is_sensed:
            closed = heater.contactor_on
            seen.mirror_open = closed if "mirror" in event else 1 - closed
            seen.top_sense = 2 if "current" in event or (closed and heater.top.on) else 0
            seen.deck_sense = 2 if closed and heater.deck.on else 0
        seen.out_pm = app.out_pm
        seen.setpoint_mc, seen.setpoint_inverted = app.sequence.setpoint_mc, app.sequence.setpoint_inverted
        seen.active, seen.session = app.sequence.active, app.sequence.session
        attendance = app.supervisor.attendance
        attendance.alone_ms = attendance.attend_ms if "nobody" in event else 0
        if "nobody" in event:
            app.sequence.setpoint_mc, app.sequence.setpoint_inverted = SETPOINT_MC, ~SETPOINT_MC
        attendance.session_ms = attendance.session_max_ms if "session-over" in event else 0

    def _settle(self):
        """Ages beyond the limit they are compared with are one state; so are counters that decide nothing."""
        app, sup = self.app, self.app.supervisor
        for i in range(1, self.L.COUNT):
            limit_ms = sup._debounce_ms[i]
            if sup._ages_ms[i] > limit_ms:
                sup._ages_ms[i] = limit_ms
        sup._stale_ms = min(sup._stale_ms, 500)
        sup._since_session_ms = 0
        sup.attendance.alone_ms = sup.attendance.session_ms = 0
        sequence, heater = app.sequence, app.heater
        is_timed = sequence.stage in (self.S.SOAK, self.S.BAKE)
        sequence.stage_ms = min(sequence.stage_ms, 500) if is_timed else 0
        sequence._below_ms = min(sequence._below_ms, 500) if sequence.stage == self.S.COOL else 0
        heater.contactor_ms = min(heater.contactor_ms, 250)
        for zone in (heater.top, heater.deck):
            zone.since_ms = min(zone.since_ms, 250)
            zone.switchings = 0
        heater.contactor_switchings = 0
        for zone in (sup.wiring_rules.top, sup.wiring_rules.deck):
            zone.stuck_ms, zone.missing_ms = min(zone.stuck_ms, 500), min(zone.missing_ms, 1_000)
        app.ticks = app._uncollected = 0

    def key(self):
        """What decides about heat and about the next state."""
        app, sup, seen = self.app, self.app.supervisor, self.app.seen
        sequence, heater = app.sequence, app.heater
        return (
            sequence.state, sequence.stage, sequence.stage_ms, sequence._below_ms, sequence.breads_done,
            sequence.leg_done,
            sup.first_out != 0, sup.locked_out, sup.trips_in_a_row, sup.holding, sup.stopping,
            sup.any_cause(), bytes(memoryview(sup._ages_ms).cast("B")), sup._stale_ms, sup.unsteady.level_ms,
            self.dome.usable, self.dome.pv_mc, self.dome.limit_mc,
            heater.contactor_on, heater.contactor_ms, heater.elapsed_ms, heater.proof_step, heater.fan_on,
            heater.top.on, heater.top.since_ms, heater.top.debt, heater.top.want_pm, heater.top.closed,
            heater.deck.on, heater.deck.since_ms, heater.deck.debt, heater.deck.want_pm, heater.deck.closed,
            sup.wiring_rules.top.stuck_ms, sup.wiring_rules.top.missing_ms, sup.wiring_rules.deck.missing_ms,
            app.out_pm, seen.proving,
        )  # fmt: skip

    def pins(self):
        """Levels of (top, deck, contactor)."""
        heater = self.app.heater
        return heater.top.pin.level, heater.deck.pin.level, heater.contactor.level

    def _touched(self):
        """What a line can change, in short."""
        app, sup = self.app, self.app.supervisor
        sequence, heater = app.sequence, app.heater
        return (
            sequence.state, sequence.stage, sequence.stage_ms, sup.first_out, sup.locked_out, sup.trips_in_a_row,
            heater.top.on, heater.deck.on, heater.contactor_on, app.out_pm,
        )  # fmt: skip

    def explore(self, check, at_most, events=EVENTS, until_s=None, until_states=None):
        """Every reachable state: {key: {(event, line): key}}; `check(explorer, event, line)` follows each act. Lines
        of a person come in ticks of one event alone. `until_s` (time.monotonic), `until_states` (tried): ends there,
        with `self.left` states whose acts were not tried."""
        start = self.key()
        graph = {start: {}}
        saved = {start: self.save()}
        waiting = deque([start])

        def arrive(act):
            after = self.key()
            graph[key][act] = after
            if after not in graph:
                if len(graph) >= at_most:
                    raise MemoryError(f"more than {at_most} states: the projection does not close")
                graph[after] = {}
                saved[after] = self.save()
                waiting.append(after)

        self.left = 0
        while waiting:
            tried = len(graph) - len(waiting)
            if (until_s is not None and time.monotonic() > until_s) or (until_states and tried >= until_states):
                self.left = len(waiting)
                break
            key = waiting.popleft()
            before = saved.pop(key)
            for event in events:
                self.load(before)
                self.tick(event)
                check(self, event, "")
                arrive((event, ""))
                ticked = self.save()
                touched = self._touched()
                for line in LINES if event in EVENTS else ():
                    self.say(line)
                    if self._touched() != touched:  # else refused, or about what is abstract here
                        check(self, event, line)
                        self._settle()
                        arrive((event, line))
                        self.load(ticked)
        return graph
