"""What only the real firmware shows: faults that the 64-bit port of MicroPython hid, each told from its cause."""

import pytest

from host.link.frames import with_checksum
from tests.pico.image import loaded
from tests.pico.records import released
from tests.pico.rig import FAST_FLASH, SLOW_FLASH, Rig

LATE_MS = 500  # device/tizzone/safety/limits.py
HEAT = "x.conducting"


def trip(rig):
    """The trip in force."""
    return rig.status().get("trip")


def longest_gap_ms(rig):
    """Between two ticks since the last call."""
    return max(gap for _, gap in rig.stats(reset=True)["gaps"])


@pytest.mark.parametrize("flash_ms", [FAST_FLASH, (100, 1.5), SLOW_FLASH], ids=["typical", "slow", "slowest"])
def test_evening_of_two_breads_is_not_ended_by_the_flash_however_slow(armed, flash_ms):
    """A start wrote three values in one tick (298-517 ms at 45 ms an erase); a record at an open door held the loop
    longer than the dead-man allows (bread 2 at 100 ms an erase, bread 1 at 400)."""
    rig = armed({**released(settings={"soak_min": 0, "bake_s": 10})}, oven={"o0": 100}, flash_ms=flash_ms)
    assert rig.ask("setpoint 100") == "ok setpoint_c=100"
    assert rig.ask("start", 8) == "ok"
    assert rig.until_python(lambda: rig.status().get("stage") == "load", 40, 2.0), rig.status()
    begun = rig.stats(reset=True)["flash"]["erases"]
    for number in (1, 2):
        rig.act("contact door 0")
        rig.run(3)
        assert rig.ask("loaded", 8) == "ok"
        rig.run(4)
        rig.act("contact door 1")
        assert rig.until_python(lambda n=number: rig.status().get("breads") == str(n), 40, 2.0), rig.status()
    rig.act("contact door 0")
    rig.run(6)
    rig.act("contact door 1")
    rig.run(2)
    assert trip(rig) == "none"
    assert rig.status()["state"] == "running"
    assert rig.stats()["flash"]["erases"] > begun  # the records of both went to the flash meanwhile
    stalls = int(rig.ask("counters").rpartition("stalls=")[2])
    assert stalls > 0 if flash_ms == SLOW_FLASH else stalls == 0


@pytest.fixture(scope="module")
def heating(compiled):
    """A rig whose evening has just begun; its gaps go back to before the start. Each test leaves it heating."""
    with Rig(loaded(compiled, released()), oven={"o0": 30}) as rig:
        assert rig.boots_and_arms() is not None
        rig.stats(reset=True)
        assert rig.ask("start") == "ok"
        assert rig.until(HEAT, 8)
        rig.start_gap_ms = longest_gap_ms(rig)
        yield rig


def still_heats(rig):
    """No trip, no reset, heat permitted."""
    now = rig.status()
    return (now["trip"], now["state"], now["permit"], rig.resets) == ("none", "running", "1", [])


def test_start_writes_one_value_a_tick_and_no_tick_is_late(heating):
    assert heating.start_gap_ms < 350


def test_collection_never_falls_into_the_middle_of_a_tick(heating):
    """main.py asks for a collection every 4 kB while it loads; it went on for ever, 21 ms in every second tick."""
    heating.stats(reset=True)
    heating.run(8.0)
    work = sorted(tick[2] for tick in heating.stats()["ticks"])
    # one tick in 16 collects after its pins are set; few others may stand out (the stone's model moves every 2 s)
    assert len([ms for ms in work if ms > work[len(work) // 4] + 10]) <= len(work) // 16 + 1


def test_host_that_asks_and_does_not_read_costs_no_heat(heating):
    """A port with one free byte can be written, it says; a whole reply then blocks for half a second."""
    heating.stats(reset=True)
    heating.act("host_reads 0")
    for _ in range(8):
        heating.send((with_checksum("status") + "\n") * 2)
        heating.run(1)
    assert longest_gap_ms(heating) < 350
    heating.act("host_reads 1")
    heating.run(1)
    assert still_heats(heating)


@pytest.mark.parametrize("byte", [0xC3, 0xFF])
def test_one_byte_that_is_no_text_ends_nothing(heating, byte):
    """A modem probe of a desktop sends such: as text it cannot be decoded."""
    heating.send(bytes([byte, 0x41]))
    heating.run(1.5)
    assert heating.ask("status").startswith("no ")  # its line begins with what was sent
    assert still_heats(heating)


def test_doubted_latch_trips_with_its_line_in_the_event_log(armed):
    rig = armed({"latch.a": None, "latch.b": None})  # gone: a board that was used before may have been tripped
    assert trip(rig) == "latch-doubt"
    rig.run(2)
    assert rig.ask("log 0").startswith("ok trip latch-doubt")
