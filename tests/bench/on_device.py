"""Runs under MicroPython: heap after start, bytes and microseconds per tick of the application, and of an empty loop.

    micropython on_device.py SHIM_MODULES SHIM DEVICE BOARD_FOLDER [HOURS]

With HOURS it stays idle for so long instead, a question a minute, and tells what is live every two hours.

The board is simulated in the same process by the smallest possible outside: every contact good, both chips at 25 °C.
"""

import gc
import sys

sys.path[:] = [sys.argv[1], sys.argv[2], sys.argv[3], sys.argv[4], ".frozen"]

import json  # noqa: E402

import simboard  # noqa: E402
from console import Console  # noqa: E402
from port import Port  # noqa: E402

gc.threshold(4096)  # as device/main.py does
real_time = sys.modules.get("utime") or __import__("utime")
FRAME = bytes((0x01, 0x90, 0x19, 0x00))  # thermocouple 25.00 °C, junction 25.0 °C
TICKS = 400


class Outside:
    """Answers everything at once."""

    def __init__(self):
        self.rx = bytearray()
        self.orders = []
        self.host_reading = True

    def advance(self, dt_us, levels, rose):
        return False

    def level(self, pin):
        levels = simboard.port.levels
        if pin == 5:  # mirror contact: closed while the contactor is open
            return None if levels.get(12) else 0
        if pin == 22:  # no maintenance jumper
            return None
        if pin in (6, 7):  # current while relay and contactor are on
            return 0 if levels.get(12) and levels.get(pin + 4) else None
        return 0

    def selects(self, bus):
        return (17, 20)

    def transfer(self, bus, select, out, count):
        return FRAME

    def serial_out(self, data):
        pass


def measured(step, ticks):
    """(us per call, heap bytes per call) without collection in between."""
    gc.collect()
    collect = gc.collect
    before = gc.mem_alloc()
    start = real_time.ticks_us()
    for _ in range(ticks):
        step()
    took_us = real_time.ticks_diff(real_time.ticks_us(), start)
    used = gc.mem_alloc() - before
    collect()
    return took_us / ticks, used / ticks


def ticks_of(step, ticks):
    """Per tick: (median us, worst us, median bytes, worst bytes), nothing collected by itself within a tick.

    A tick in which the application collects on its schedule tells no bytes; its time counts among the worst.
    """
    times, sizes = [], []
    for _ in range(ticks):
        gc.collect()
        gc.disable()
        before = gc.mem_alloc()
        start = real_time.ticks_us()
        step()
        took_us = real_time.ticks_diff(real_time.ticks_us(), start)
        used = gc.mem_alloc() - before
        gc.enable()
        times.append(took_us)
        if used >= 0:
            sizes.append(used)
    times.sort()
    sizes.sort()
    return times[len(times) // 2], times[-1], sizes[len(sizes) // 2], sizes[-1]


def pauses(count=20):
    """(median, worst) time of a whole collection with what is live now, us."""
    found = []
    for _ in range(count):
        start = real_time.ticks_us()
        gc.collect()
        found.append(real_time.ticks_diff(real_time.ticks_us(), start))
    found.sort()
    return found[count // 2], found[-1]


QUESTIONS = (b"status\n", b"glance\n", b"alarms probe-open\n", b"counters\n", b"setting soak_min\n", b"stone\n")
ASK_TICKS = 240  # a minute
TELL_TICKS = 28_800  # two hours


def stays(app, port, hours):
    """Idle for so long: one JSON line [hours, live bytes, answers so far] every two hours."""
    answers = [0]

    def listen(data):
        answers[0] += data.count(b"~")

    port.outside.serial_out = listen
    for number in range(1, int(hours * 14_400) + 1):
        if number % ASK_TICKS == 0:
            port.rx = port.rx + QUESTIONS[number // ASK_TICKS % len(QUESTIONS)]
        app.step()
        if number % TELL_TICKS == 0:
            gc.collect()
            print(json.dumps([number / 14_400, gc.mem_alloc(), answers[0]]))


def main():
    """Print the figures as one JSON line."""
    port = simboard.port = Port(Outside(), "rp2040")
    wait_us, wait_bytes = measured(lambda: port.sleep_us(15_000), TICKS)  # before the watchdog runs
    gc.collect()
    bare = gc.mem_alloc()
    from tizzone import app as application

    gc.collect()
    loaded = gc.mem_alloc()
    app = application.App(Console(port))
    app.start()
    gc.collect()
    started = gc.mem_alloc()
    if len(sys.argv) > 5:
        print(json.dumps([0, gc.mem_alloc(), 0]))
        stays(app, port, float(sys.argv[5]))
        return
    empty_us, empty_bytes = measured(lambda: None, TICKS)
    idle_us, idle_most_us, idle_bytes, idle_most_bytes = ticks_of(app.step, 100)
    app.acts.start_evening()
    for _ in range(40):
        app.step()
    heat_us, heat_most_us, heat_bytes, heat_most_bytes = ticks_of(app.step, 200)
    pause_us, pause_most_us = pauses()
    print(
        json.dumps(
            {
                "heap_before_import_bytes": bare,
                "heap_modules_bytes": loaded - bare,
                "heap_after_start_bytes": started - bare,
                "empty_call_us": empty_us,
                "empty_call_bytes": empty_bytes,
                "simulated_wait_us": wait_us,
                "simulated_wait_bytes": wait_bytes,
                "idle_tick_us": idle_us,
                "idle_tick_worst_us": idle_most_us,
                "idle_tick_bytes": idle_bytes,
                "idle_tick_worst_bytes": idle_most_bytes,
                "heating_tick_us": heat_us,
                "heating_tick_worst_us": heat_most_us,
                "heating_tick_bytes": heat_bytes,
                "heating_tick_worst_bytes": heat_most_bytes,
                "collection_us": pause_us,
                "collection_worst_us": pause_most_us,
                "state": app.sequence.state,
            }
        )
    )


main()
