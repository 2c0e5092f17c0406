"""Owns the loop, the watchdog and the outermost `finally`.

One tick: chip bytes -> Reading -> conditioning -> supervisor.judge -> sequence -> pid -> heater.drive -> link -> store.
The watchdog is fed in one place, after the supervisor has judged and the pins are set.
"""

import gc
import time
from array import array

import board as pin_map
import machine
from micropython import const

from tizzone import VERSION
from tizzone.board_io.buzzer import alarm
from tizzone.board_io.contacts import jumper
from tizzone.board_io.heater import FULL, Heater
from tizzone.evening import sequence as S
from tizzone.evening.due import Due
from tizzone.integers import CAP_MS
from tizzone.link import commands
from tizzone.link.frames import Link, UsbStreams
from tizzone.loading import let_go
from tizzone.memory.memory import Memory
from tizzone.probes.reading import NO_VALUE_MC
from tizzone.report import REPORT, fill_report
from tizzone.safety import limits as L
from tizzone.safety.permissives import missing
from tizzone.safety.told import Told

_SLICE_MS = const(5)  # of the wait between two ticks, where a panel is wired ...
_SENDING_MS = const(10)  # ... and where none is, while a reply goes out
_COLLECT_TICKS = const(16)  # between two collections; a tick that answers passes it on to the next
_ROOM_MS = const(30)  # nothing is drawn when less than this is left of the wait: a piece takes up to 12 ms
_GRACE_MS = const(3_000)  # outputs off, no watchdog, Ctrl-C works: the way in after a crash loop


class App:
    """One board: its parts (parts.py) and the loop. `console` stands in for the USB port (frames.UsbStreams)."""

    version = VERSION

    def __init__(self, console=None):
        self.board = pin_map
        self.heater = Heater(pin_map)  # first of all: every output at its safe level
        self.memory = Memory()
        self.link = Link(UsbStreams(console))
        self.report = array("i", [0] * len(REPORT))
        self.out_pm = self.ticks = self._uncollected = 0
        self.supervisor = self.panel = self.watchdog = None
        self.reset_due = False
        self.due, self.told = Due(), Told()

    # --- start ---------------------------------------------------------------------------------

    def start(self):
        """Settings, latch, grace window, self-test, arm. Heat is impossible until the end of this.

        Returns False when the board is to be loaded (flag file or MAINTENANCE jumper): nothing is armed, every
        output stays safe, and the prompt is free.
        """
        if self.memory.maintenance() or jumper(self.board):
            print("maintenance: outputs off, nothing armed; load the board, then remove the flag or jumper and reset")
            return False
        from tizzone import parts  # let go below, with what else only a start needs

        self.settings, damaged = self.memory.settings()
        parts.build(self, self.settings)
        sup = self.supervisor
        self.memory.restore_latch(sup)
        self.due.logged = sup.first_out if self.memory.latch_sure else L.NONE  # a trip that was stored has had its line
        self.memory.tell_last_end(sup)
        if damaged:
            sup.raise_event(L.SETTINGS_DAMAGED)
        self._clock_s = time.time()
        self._clock_ms = 0
        gc.collect()
        gc.threshold(-1)  # main.py's was for loading: from here on the loop collects, and no tick does so in its middle
        self._last_ms = self._next_ms = time.ticks_ms()
        for _ in range(_GRACE_MS // L.PERIOD_MS):
            self.step()
        self.heater.arm_deadman()
        sup.note_self_test(parts.self_test(self))
        self.watchdog = machine.WDT(timeout=getattr(self.board, "WATCHDOG_MS", 4_000))
        sup.arm()
        let_go(*parts.START_ALONE)
        return True

    def controller(self, values):
        """A controller with the tuning of these settings; MemoryError where there is no room to make one."""
        from tizzone import parts

        return parts.controller(values)

    # --- the loop ------------------------------------------------------------------------------

    def step(self):
        """Wait for the next deadline, then one tick."""
        self._next_ms = time.ticks_add(self._next_ms, L.PERIOD_MS)
        wait_ms = time.ticks_diff(self._next_ms, time.ticks_ms())
        if 0 < wait_ms <= L.PERIOD_MS:
            wait_ms -= self.contacts.sampling_ms  # the last part of the wait looks at the currents
            if wait_ms > 0:
                self._wait(wait_ms)
                self.contacts.sample(self.panel)
        else:  # late, or the clock misbehaves: the supervisor sees the tick's length
            time.sleep_ms(L.PERIOD_MS if wait_ms > 0 else 0)
            self._next_ms = time.ticks_ms()
            if self.link.is_sending():
                self.link.pause_over(self.link.send())
            if self.panel is not None:  # twice: stop is believed within this tick too
                self.panel.poll(0)
                self.panel.poll(0)
        now_ms = time.ticks_ms()
        dt_ms = time.ticks_diff(now_ms, self._last_ms)
        self._last_ms = now_ms
        self._tick(dt_ms)

    def _wait(self, wait_ms):
        """One sleep, up to the samples of the currents; while a reply goes out or a panel is wired in slices, each with
        one bounded piece of them."""
        panel, link = self.panel, self.link
        sending = link.is_sending()
        moved = False
        slice_ms = _SENDING_MS if panel is None else _SLICE_MS
        for _ in range(L.PERIOD_MS // _SLICE_MS):  # counted: a clock that stands still must not hold the loop
            if panel is None and not link.is_sending():
                time.sleep_ms(wait_ms)
                break
            time.sleep_ms(min(slice_ms, wait_ms))
            left_ms = time.ticks_diff(self._next_ms, time.ticks_ms()) - self.contacts.sampling_ms
            if panel is not None:
                panel.poll(max(0, wait_ms - left_ms))
            if not 0 < left_ms <= wait_ms:
                break
            wait_ms = left_ms
            if wait_ms > _ROOM_MS:
                moved = link.send() or moved
                if panel is not None:
                    panel.draw_piece()
        if sending:
            link.pause_over(moved)

    def _tick(self, dt_ms):
        self._sense(dt_ms)
        sup = self.supervisor
        permit = sup.judge(self.seen, dt_ms)
        seq = self.sequence
        tripped = sup.first_out != L.NONE
        seq.cooled = sup.warmth.below(seq.cool_mc)
        seq.step(self.dome.pv_mc, self.dome.usable, tripped, sup.holding, sup.stopping, dt_ms)
        # Records are written with the contactor open, since a write stalls the loop.
        evening = self.evening
        sup.withdraw_unless(seq.active and not evening.opening and (permit.granted or not evening.keeping))
        if seq.active and seq.stage == S.PROVE:
            self._prove(permit, dt_ms)
        else:
            self._drive(permit, dt_ms)
        self._fan()
        if self.reset_due and not self.link.is_sending():  # its reply has gone out, or nobody takes it
            self.make_safe()
            machine.reset()
        answered = self._talk()
        self.due.write(self)
        if self.witness is not None:
            self.witness.tick(self, dt_ms)
        self.evening.tick(self, dt_ms)
        if self.learning is not None:
            self.learning.tick(self)
        if self.panel is not None:
            self.panel.tick(dt_ms)
        if self.watchdog:
            self.watchdog.feed()
        fill_report(self)
        self.ticks = (self.ticks + 1) & 0xFFFFF
        self._uncollected += 1
        if self._uncollected >= _COLLECT_TICKS and not answered:
            self._uncollected = 0
            gc.collect()  # on a schedule, after the pins are set, so that no tick meets a long collection

    def _sense(self, dt_ms):
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
        seen.own_write = self.memory.wrote
        self.memory.wrote = 0
        seen.deadman_fired = heater.take_deadman()
        self.contacts.sense(seen)
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
            out_pct = self._asked_pct(self.dome.pv_mc * 0.001, dt_ms * 0.001, permit.granted)
        asked_pm = int(out_pct * 10.0 + 0.5) if permit.granted else 0
        top_pm = min(FULL, asked_pm * self.top_share_pct // 50)
        deck_pm = min(FULL, asked_pm * (100 - self.top_share_pct) // 50)
        self.heater.drive(top_pm, deck_pm, permit, dt_ms)
        self.out_pm = asked_pm

    def _asked_pct(self, pv_c, dt_s, granted):
        """Output that controller or experiment asks for, per cent."""
        if self.learning is not None and self.learning.experiment is not None:
            return self.learning.output(pv_c, dt_s)
        return self.pid.update(self.sequence.setpoint_mc * 0.001, pv_c, dt_s, heating=granted)

    def _fan(self):
        """The fan runs in a session and until every probe that is believed reads below 150 °C; in doubt it runs."""
        sup = self.supervisor
        self.heater.run_fan(self.sequence.session or not sup.warmth.below(L.FAN_RUN_ON_MC) or sup.armed == 0)

    def _talk(self):
        """At most one line; whether one came. It waits for a collection that is long overdue: both take too long."""
        text, fault = self.link.next_line() if self._uncollected < 2 * _COLLECT_TICKS else (None, None)
        if text is None and fault is None:
            return False
        self.link.reply("no " + fault if fault else commands.answer(self, text))
        return True

    def quiet(self):
        """Nothing is permitted and everything is off, so that a write may stall the loop; and none has in this tick."""
        heater = self.heater
        on = heater.top.on or heater.deck.on or heater.contactor_on
        return not (self.supervisor.permit.granted or on or self.memory.wrote)

    # --- ends ------------------------------------------------------------------------------------

    def missing_permissives(self):
        """Names of what stands against heat, in plain words."""
        return missing(self)

    def failed(self, error):
        """The program ends on an exception: pins off first, then the trip is stored for the next boot."""
        self.make_safe()
        if self.supervisor is not None:
            self.supervisor.raise_event(L.PROGRAM_FAULT)
            self.memory.keep_latch(self.supervisor)
        self.memory.log("program fault: " + repr(error))
        alarm(self.board)

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
