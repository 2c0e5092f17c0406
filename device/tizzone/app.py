"""Builds everything from the pin map, owns the loop, the watchdog and the outermost `finally`.

One tick: chip bytes -> Reading -> conditioning -> supervisor.judge -> sequence -> pid -> heater.drive ->
link -> store -> watchdog.
The watchdog is fed in one place, after the supervisor has judged and the pins are set. Flash is written only
while no heat is permitted.
"""

import gc
import time
from array import array

import board as pin_map
import machine
from machine import Pin

from tizzone import VERSION
from tizzone.board_io.contacts import Sensed
from tizzone.board_io.heater import FULL, Heater
from tizzone.commissioning import release as C
from tizzone.commissioning.witness import Witness
from tizzone.control.pid import Pid
from tizzone.evening import sequence as S
from tizzone.evening.keeper import Night
from tizzone.integers import CAP_MS
from tizzone.learning.learning import Learning
from tizzone.link import commands
from tizzone.link.acts import Acts
from tizzone.link.frames import Link, UsbStreams
from tizzone.memory import settings as table
from tizzone.memory.memory import Memory
from tizzone.probes import chips
from tizzone.probes.conditioning import Conditioner
from tizzone.probes.reading import FAULT_NAMES, NO_VALUE_MC
from tizzone.safety import limits as L
from tizzone.safety.permissives import missing
from tizzone.safety.seen import Seen
from tizzone.safety.supervisor import FAILED, PASSED, Supervisor

SLICE_MS = 5  # of the wait between two ticks, where a panel is wired
ROOM_MS = 30  # nothing is drawn when less than this is left of the wait: a piece takes up to 12 ms
GRACE_MS = 3_000  # outputs off, no watchdog, Ctrl-C works: the way in after a crash loop
# Fields of App.report, integers: temperatures in 0.001 °C, outputs per mille, names by index.
REPORT = (
    "pv_mc", "stone_mc", "setpoint_mc", "out_pm", "heat_top", "heat_deck", "permit", "state", "stage",
    "trip", "hold", "warn",
    "contactor", "breads", "limit_mc", "release_mc", "locked_out", "ticks",
)  # fmt: skip


class App(Acts):
    """One board. `streams` replaces the USB serial port."""

    version = VERSION

    def __init__(self, streams=None):
        self.board = pin_map
        self.heater = Heater(pin_map)  # first of all: every output at its safe level
        self.memory = Memory()
        self.link = Link(streams or UsbStreams())
        self.report = array("i", [0] * len(REPORT))
        self.watchdog = None
        self.out_pm = 0
        self._ticks = 0
        self.supervisor = None
        self.panel = None
        self.reset_due = False
        self._logged = L.NONE  # the trip that the event log has

    # --- start ---------------------------------------------------------------------------------

    def start(self):
        """Settings, latch, grace window, self-test, arm. Heat is impossible until the end of this.

        Returns False when the board is to be loaded (flag file or MAINTENANCE jumper): nothing is armed, every
        output stays safe, and the prompt is free.
        """
        if self.memory.maintenance() or self._jumper():
            print("maintenance: outputs off, nothing armed; load the board, then remove the flag or jumper and reset")
            return False
        self.settings, damaged = self.memory.settings()
        values = self.settings
        self._build(values)
        sup = self.supervisor
        self.memory.restore_latch(sup)
        self.memory.look_back(sup)
        if damaged:
            sup.raise_event(L.SETTINGS_DAMAGED)
        self._clock_s = time.time()
        self._clock_ms = 0
        self._last_ms = time.ticks_ms()
        self._next_ms = self._last_ms
        for _ in range(GRACE_MS // L.PERIOD_MS):
            self.step()
        sup.self_test = PASSED if self._self_test() else FAILED
        self.heater.arm_deadman()
        self.watchdog = machine.WDT(timeout=getattr(self.board, "WATCHDOG_MS", 4_000))
        sup.armed = 1
        return True

    def _jumper(self):
        number = getattr(self.board, "MAINTENANCE", None)
        return number is not None and Pin(number, Pin.IN, Pin.PULL_UP).value() == 0

    def _build(self, values):
        self.release_c, self.release_reason = C.release(self.memory.commission(), self.board, values["high_limit_c"])
        heater = self.heater
        heater.window_ms = values["window_ms"]
        heater.min_ms = values["min_switch_ms"]
        heater.exclusive = values["exclusive"]
        buses = {}
        self.probes = {}
        self.dome = self.stone = None
        for name in self.board.PROBES:
            self.probes[name] = chips.make(name, self.board.PROBES[name], buses)
        self.dome = self._conditioner("dome")
        self.stone = self._conditioner("stone") if "stone" in self.probes else None
        self.seen = Seen(self.dome, self.stone)
        self.sensed = Sensed(self.board, values["mains_hz"])
        self.supervisor = Supervisor(
            values["high_limit_c"] * 1000,
            self.release_c * 1000,
            values["restart_c"] * 1000,
            values["attend_c"] * 1000,
            values["attend_min"],
            values["session_max_min"],
            values["learned_rise_s"] * 1000,
        )
        self.supervisor.release_reduced = 1 if self.release_reason else 0
        setpoint_mc = min(values["setpoint_c"] * 1000, self.supervisor.ceiling_mc)
        self.sequence = S.Sequence(
            setpoint_mc, values["soak_min"] * 60_000, values["bake_s"] * 1000, values["breads"], values["cool_c"] * 1000
        )
        self.learning = Learning()
        self.use_tuning()
        self.top_share_pct = values["top_share_pct"]
        self.witness = Witness(self)
        self.night = Night(self)
        if getattr(self.board, "PANEL", None):  # its modules cost memory only where it is wired
            gc.threshold(4096)  # loaded from sources it would leave its crumbs all over the heap
            from tizzone.panel.panel import Panel

            gc.threshold(-1)
            self.panel = Panel(self, self.board.PANEL, buses)

    def use_tuning(self):
        """A controller with the tuning that the settings hold."""
        values = self.settings
        self.pid = Pid(
            values["kc_pct_per_k"], values["ti_s"], values["td_s"], values["lead_s"], values["hold_pct"],
            values["rise_k_s_pct"], values["window_ms"] * 0.001, table.is_default(values, table.TUNED),
        )  # fmt: skip

    def _conditioner(self, name):
        made = Conditioner(self.settings["calibration"].get(name))
        if made.calibration_fault:
            self.memory.faults.append(name + ": " + made.calibration_fault)
        return made

    def _self_test(self):
        """Heat pins follow, probe alive, contactor released, right chips. Any no: no heat."""
        faults = self.memory.faults
        before = len(faults)
        if not self.heater.follows():
            faults.append("self-test: a heat pin does not follow")
        if self.seen.mirror_open == 0:
            faults.append("self-test: the contactor is not released")
        for name in self.probes:
            fault = self.probes[name].check()
            if fault:
                faults.append("self-test: " + name + " probe: " + FAULT_NAMES[fault])
        return len(faults) == before

    # --- the loop ------------------------------------------------------------------------------

    def step(self):
        """Wait for the next deadline, then one tick."""
        self._next_ms = time.ticks_add(self._next_ms, L.PERIOD_MS)
        wait_ms = time.ticks_diff(self._next_ms, time.ticks_ms())
        if 0 < wait_ms <= L.PERIOD_MS:
            self._wait(wait_ms)
        else:  # late, or the clock misbehaves: the supervisor sees the tick's length
            if wait_ms > 0:
                time.sleep_ms(L.PERIOD_MS)
            self._next_ms = time.ticks_ms()
            if self.panel is not None:  # two looks: stop is believed within this tick too
                self.panel.poll(0)
                self.panel.poll(0)
        now_ms = time.ticks_ms()
        dt_ms = time.ticks_diff(now_ms, self._last_ms)
        self._last_ms = now_ms
        self._tick(dt_ms)

    def _wait(self, wait_ms):
        """One sleep; with a panel in slices, each with a look at its contacts and one bounded piece of its picture."""
        panel = self.panel
        if panel is None:
            time.sleep_ms(wait_ms)
            return
        for _ in range(L.PERIOD_MS // SLICE_MS):  # counted: a clock that stands still must not hold the loop
            time.sleep_ms(min(SLICE_MS, wait_ms))
            left_ms = time.ticks_diff(self._next_ms, time.ticks_ms())
            panel.poll(max(0, wait_ms - left_ms))
            if not 0 < left_ms <= wait_ms:
                return
            wait_ms = left_ms
            if wait_ms > ROOM_MS:
                panel.work()

    def _tick(self, dt_ms):
        self._look(dt_ms)
        seen = self.seen
        sup = self.supervisor
        permit = sup.judge(seen, dt_ms)
        seq = self.sequence
        tripped = sup.first_out != L.NONE
        seq.step(self.dome.pv_mc, self.dome.usable, tripped, sup.holding, sup.stopping, dt_ms)
        if not seq.active:
            permit.granted = 0
            permit.contactor = 0
        if seq.active and seq.stage == S.PROVE:
            self._prove(permit, dt_ms)
        else:
            self._drive(permit, dt_ms)
        self._fan()
        if self.reset_due:  # asked for in the tick before: its reply has gone out since
            self.make_safe()
            machine.reset()
        self._talk()
        self._keep()
        self.witness.look(self, dt_ms)
        self.night.look(self, dt_ms)
        self.learning.look(self)
        if self.panel is not None:
            self.panel.look(dt_ms)
        if self.watchdog:
            self.watchdog.feed()
        self._fill_report()
        self._ticks = (self._ticks + 1) & 0xFFFFF
        if self._ticks & 15 == 0:
            gc.collect()  # on a schedule, after the pins are set, so that no tick meets a long collection

    def _look(self, dt_ms):
        """Read every probe and contact; note what the pins were."""
        seen = self.seen
        heater = self.heater
        hottest_mc = NO_VALUE_MC
        for name in self.probes:
            reading = self.probes[name].read()
            if reading.junction_mc > hottest_mc:
                hottest_mc = reading.junction_mc
            if name == "dome":
                self.dome.update(reading, dt_ms)
                seen.dome_serial = reading.serial
            else:
                self.stone.update(reading, dt_ms)
        if hottest_mc != NO_VALUE_MC:  # not every amplifier tells its own temperature
            seen.box_mc = hottest_mc
        seen.top_on = heater.top.on
        seen.deck_on = heater.deck.on
        seen.contactor_on = heater.contactor_on
        seen.fan_on = heater.fan_on
        seen.readback_ok = heater.follows()
        seen.deadman_fired = heater.take_deadman()
        self.sensed.look(seen)
        seen.out_pm = self.out_pm
        seen.setpoint_mc = self.sequence.setpoint_mc
        seen.setpoint_inverted = self.sequence.setpoint_inverted
        seen.active = self.sequence.active
        seen.session = self.sequence.session
        self._compare_clocks(dt_ms)

    def _compare_clocks(self, dt_ms):
        """Once a minute: the tick clock against the second clock."""
        self._clock_ms += dt_ms
        if self._clock_ms >= L.CLOCK_WINDOW_MS:
            now_s = time.time()
            gap_ms = (now_s - self._clock_s) * 1000 - self._clock_ms
            self.seen.clock_error_ms = max(-CAP_MS, min(CAP_MS, gap_ms)) if self.seen.session else 0
            self._clock_s = now_s
            self._clock_ms = 0

    def _prove(self, permit, dt_ms):
        """Start test: no current may flow while the heater tries each relay and the contactor by itself."""
        self.seen.proving = 1
        self.out_pm = 0
        if self.heater.prove(permit, dt_ms):
            self.sequence.proved()

    def _drive(self, permit, dt_ms):
        self.seen.proving = 0
        out_pct = 0.0
        if self.dome.usable and self.sequence.session:
            out_pct = self._asked(self.dome.pv_mc * 0.001, dt_ms * 0.001, permit.granted)
        asked_pm = int(out_pct * 10.0 + 0.5) if permit.granted else 0
        top_pm = min(FULL, asked_pm * self.top_share_pct // 50)
        deck_pm = min(FULL, asked_pm * (100 - self.top_share_pct) // 50)
        self.heater.drive(top_pm, deck_pm, permit, dt_ms)
        self.out_pm = asked_pm

    def _asked(self, pv_c, dt_s, granted):
        """Output that controller or experiment asks for, per cent."""
        if self.learning.experiment is not None:
            return self.learning.output(pv_c, dt_s)
        return self.pid.update(self.sequence.setpoint_mc * 0.001, pv_c, dt_s, granted)

    def _fan(self):
        """The fan runs in a session and down to 150 °C after it; unknown temperature means it runs."""
        dome = self.dome
        cold = dome.usable and dome.pv_mc < L.FAN_RUN_ON_MC
        self.heater.run_fan(self.sequence.session or not cold or self.supervisor.armed == 0)

    def _talk(self):
        text, fault = self.link.next_line()
        if fault:
            self.link.reply("no " + fault)
        elif text is not None:
            self.link.reply(commands.answer(self, text))

    def _keep(self):
        """Write what has changed, only while no heat is permitted and the pins are off."""
        sup = self.supervisor
        if sup.permit.granted or not sup.armed:
            return
        if sup.latch_changed:
            if sup.first_out != self._logged:  # once, although a medium that refuses the latch is asked again and again
                self._logged = sup.first_out
                what = "trip " + L.CONDITION_NAMES[sup.first_out] if sup.first_out else "latch cleared"
                self.memory.log(what + " pv_mc=" + str(self.dome.pv_mc))
            self.memory.keep_latch(sup)
        # Only once the latch is stored: an open mark is a second memory of a trip.
        if self.memory.session_open and not self.sequence.session and not sup.latch_changed:
            self.memory.mark_session(0)
            if self.sequence.state in (S.STOPPING, S.STOPPED, S.COMPLETE):
                sup.evening_done()

    def _fill_report(self):
        sup = self.supervisor
        seq = self.sequence
        heater = self.heater
        stone_mc = self.stone.pv_mc if self.stone else NO_VALUE_MC
        values = (
            self.dome.pv_mc, stone_mc, seq.setpoint_mc, self.out_pm, heater.top.on, heater.deck.on,
            sup.permit.granted,
            seq.state, seq.stage, sup.first_out, self._first_present(L.HOLD), self._first_present(L.WARN),
            heater.contactor_on, seq.breads_done, sup.limit_mc, sup.release_mc, sup.locked_out, self._ticks,
        )  # fmt: skip
        report = self.report
        for i in range(len(values)):
            report[i] = values[i]

    def _first_present(self, kind):
        sup = self.supervisor
        i = sup.present.find(b"\x01")
        while i >= 0:
            if sup.kinds[i] == kind or (kind == L.HOLD and sup.kinds[i] == L.STOP):
                return i
            i = sup.present.find(b"\x01", i + 1)
        return 0

    # --- ends ------------------------------------------------------------------------------------

    def missing_permissives(self):
        """Names of what stands against heat, in plain words."""
        return missing(self)

    def failed(self, error):
        """The program ends on an exception: pins off first, then the trip is stored for the next boot."""
        self.make_safe()
        self.memory.log("program fault: " + repr(error))
        if self.supervisor is not None:
            self.supervisor.raise_event(L.PROGRAM_FAULT)
            self.memory.keep_latch(self.supervisor)

    def make_safe(self):
        """Outermost end: everything off. Never raises."""
        self.heater.all_off()
        self.heater.run_fan(1)


def run():
    """The program: until it ends, however it ends, and then with every heat pin off."""
    app = App()
    try:
        if app.start():
            while True:
                app.step()
    except Exception as error:
        app.failed(error)
        raise
    finally:
        app.make_safe()
