"""The board as it is: starts, loads, faults and ends on the real firmware; README.md beside this tells of what takes
longer."""

import os

import pytest

from host.deploy import DeployError, plan
from host.deploy.line import Timing
from host.deploy.run import deploy
from host.link import LinkError
from tests.pico.cable import Cable
from tests.pico.image import files_of, loaded
from tests.pico.records import released
from tests.pico.rig import Rig

pytestmark = pytest.mark.slow
PATIENT = Timing(reply_s=1.0, quiet_s=3.0, boot_s=20.0, way_in_s=60.0, exec_s=20.0)
OFF = {"top": "0", "deck": "0", "permit": "0", "contactor": "0"}


def load(rig, made, cut_at=None, **options):
    """Deploy over the rig's USB; what was done, and what was said."""
    said = []
    with Cable(rig, cut_at) as port:
        result = deploy(port, made, PATIENT, say=said.append, **options)
    result["said"] = said
    return result


def heats(rig):
    """Start, and see both elements conduct."""
    assert rig.ask("start") == "ok"
    assert rig.until("x.conducting == 3", 12), rig.status()


def never_heated(rig):
    """Nothing has conducted and no heat pin has been high since power-up."""
    return not rig.edges and not [text for _, text in rig.events if text in ("top 1", "deck 1", "contactor 1")]


@pytest.mark.parametrize("is_compiled", [False, True], ids=["sources", "compiled"])
def test_board_starts_arms_and_leaves_its_outputs_alone(rigs, sources, compiled, is_compiled):
    """The three seconds of grace besides: they are the way in after a crash loop. From sources 3 s more were asked for
    and are MISSED: 7.5 s measured, most of it compiling on the chip; what is loaded is compiled where that can be."""
    rig = rigs(compiled if is_compiled else sources, released())
    armed_s = rig.boots_and_arms()
    assert armed_s is not None
    assert armed_s - 3.0 < (2.2 if is_compiled else 7.8)
    assert {name: rig.status()[name] for name in OFF} == OFF
    assert never_heated(rig)


def test_board_with_a_panel_starts_and_draws(rigs):
    made = plan.make("boards/pico_panel.py", is_compiled=True)
    rig = rigs(made, released("boards/pico_panel.py"), display={"unit": 0, "addr": 0x3C}, wiring={"stop": 26})
    assert rig.boots_and_arms() is not None
    drawn = rig.stats()["i2c_bytes"]
    rig.run(3)
    assert rig.stats(reset=True)["i2c_bytes"] > drawn > 1_000
    heats(rig)
    rig.act("force 26 1")  # the stop button, closed at rest, is pressed
    pressed = rig.t
    rig.run(1)
    assert rig.heat_off_ms(pressed) < 60
    assert max(gap for _, gap in rig.stats()["gaps"]) < 350


@pytest.mark.skipif(not os.environ.get("TIZZONE_PICO_LONG"), reason="many minutes of emulation: TIZZONE_PICO_LONG=1")
def test_empty_board_is_loaded_cut_off_in_the_middle_and_loaded_again(rigs, compiled):
    """A small load, so that it takes seconds: the board's own files, and a module that has changed."""
    old = {file.path: file.data for file in compiled.files}
    old["tizzone/control/pid.mpy"] = old["tizzone/control/forecast.mpy"]
    rig = rigs(None, {**old, **released(), "loaded.txt": "".join(f"{p}\n" for p in compiled.paths).encode()})
    rig.until("x.usb", 5)
    with pytest.raises((DeployError, LinkError)):
        load(rig, compiled, cut_at=9_000, is_cold=True)
    rig.until("x.usb", 5)
    result = load(rig, compiled, is_cold=True)
    assert {path: data for path, data in files_of(rig.flash()).items() if path in old} == {
        file.path: file.data for file in compiled.files
    }
    assert result["status"]["state"] == "idle"
    assert never_heated(rig)


def test_jumper_holds_the_board_at_its_prompt_and_nothing_is_armed(rigs, compiled):
    rig = rigs(compiled, released())
    rig.act("force 22 0")
    rig.run(6)
    assert rig.raw.rstrip().endswith(b">>>")
    assert never_heated(rig)


HANG = b"""
import machine, time
from tizzone import app
a = app.App()
a.start()
while a.heater.top.on == 0 or a.heater.contactor_on == 0:
    a.step()
%s
while True:
    pass
"""


@pytest.mark.parametrize(
    ("how", "off_ms", "cause"),
    [(b"", 700, "watchdog"), (b"machine.disable_irq()", 4_300, "watchdog")],
    ids=["hung", "interrupts-off"],
)
def test_hung_program_loses_its_heat_to_the_dead_man_or_the_watchdog(rigs, compiled, how, off_ms, cause):
    """The dead-man is a hard interrupt: it cuts in on a loop that hangs (two periods, a half cycle of the mains). With
    interrupts off only the watchdog is left: WATCHDOG_MS, 4 s. Then the board is tripped."""
    rig = rigs(compiled, {**released(), "main.py": HANG % how}, oven={"o0": 30})
    assert rig.boots_and_arms() is not None
    assert rig.ask("start") == "ok"
    assert rig.until("x.conducting", 12)
    rig.until("!x.conducting", 6, 0.05)
    on = [t for t, mask in rig.edges if mask][0]
    assert (rig.edges[-1][0] - on) * 1000 < off_ms
    assert rig.until_python(lambda: rig.resets, 6)
    assert rig.resets[0][1] == cause
    assert rig.until_python(lambda: rig.status().get("trip") == "watchdog-reset", 20, 1.0)
    assert not rig.now["conducting"]


# act: (how long heat may go on, what the board says). The third trip in a row locks out, and the dome's probe has to be
# believed for the unlocking: so each third is another's.
FAULTS = {
    "open": (1_100, "probe-open"),
    "short_ground": (1_100, "probe-short-ground"),
    "contact limit 0": (300, "limiter-open"),
    "short_supply": (1_100, "probe-short-supply"),
    "zeros": (1_100, "probe-silent"),
    "fan_dead 1": (9_000, "fan-stopped"),
    "ones": (1_100, "probe-silent"),
    "dead_top 1": (3_000, "no-current"),
    "half_wave 1": (1_500, "half-wave"),
}


@pytest.fixture(scope="module")
def patient(compiled):
    """A board for one fault after the other, cold enough to be acknowledged and unlocked in between."""
    with Rig(loaded(compiled, released()), oven={"o0": 30}) as rig:
        assert rig.boots_and_arms() is not None
        yield rig


@pytest.mark.parametrize("act", FAULTS)
def test_fault_of_the_hardware_ends_the_heat_and_is_named(patient, act):
    most_ms, trip = FAULTS[act]
    heats(patient)
    patient.run(1)
    patient.act(act)
    since = patient.t
    patient.until_python(lambda: patient.heat_off_ms(since) is not None and not patient.now["closed"], 12, 0.25)
    assert patient.heat_off_ms(since) <= most_ms
    patient.run(1)
    assert patient.status()["trip"] == trip
    undo = {"contact limit 0": "contact limit 1"}.get(act, act.rpartition(" ")[0] + " 0" if act[-1] == "1" else "good")
    patient.act(undo)
    patient.run(6 if act == "fan_dead 1" else 2)
    patient.ask("unlock")  # the third in a row locks out
    assert patient.until_python(lambda: (patient.ask("acknowledge") or "").startswith("ok"), 12, 1.0)
    patient.run(1)


def test_ctrl_c_in_mid_evening_ends_the_heat_at_the_prompt_and_is_a_trip_afterwards(armed):
    rig = armed(oven={"o0": 30})
    heats(rig)
    since = rig.t
    rig.send(b"\x03")
    rig.run(0.5)
    assert rig.heat_off_ms(since) < 300
    assert rig.raw.rstrip().endswith(b">>>")
    assert rig.until_python(lambda: rig.resets, 6)  # by the watchdog, which nobody feeds
    assert rig.until_python(lambda: rig.status().get("trip") == "watchdog-reset", 20, 1.0)


def test_power_cut_in_mid_evening_is_a_trip_with_the_fan_on(armed):
    rig = armed(oven={"o0": 200})
    heats(rig)
    rig.act("power_cycle")
    assert rig.until_python(lambda: rig.status().get("trip") == "power-cut", 20, 1.0)
    assert rig.now["fan"] == 0  # the contact is closed: it runs
    assert not rig.now["conducting"]
    rig.run(2)
    assert rig.ask("log 0").startswith("ok trip power-cut")


def test_any_bytes_are_answered_or_passed_over_and_no_tick_is_late(armed):
    """Every byte value but 0x03 (Ctrl-C, which is meant to interrupt), random ones, a line of 10 kB, half a line."""
    import random

    rng = random.Random(16)
    rig = armed(oven={"o0": 30})
    heats(rig)
    rig.stats(reset=True)
    everything = bytes(value for value in range(256) if value != 3)
    noise = bytes(value for value in rng.randbytes(3_000) if value != 3)
    rig.send(everything + noise + b"\n" + b"x" * 10_000 + b"\nstat")
    rig.run(1)  # 160 bytes a tick: it takes half a minute
    assert rig.until_python(lambda: rig.now["unsent"] == 0, 60, 1.0)
    rig.run(4)
    assert max(gap for _, gap in rig.stats()["gaps"]) < 350
    rig.send(b"\n")
    rig.run(1)
    now = rig.status()
    assert (now["state"], now["trip"], now["permit"]) == ("running", "none", "1")
