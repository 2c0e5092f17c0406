"""Wrong ports, boards, firmware and files: one line that says what to do, and nothing touched."""

import json
import os
import threading

import pytest
import serial

from host.deploy import DeployError, plan
from host.deploy.check import wait_and_check
from host.deploy.entry import refuse_unless_cold
from host.deploy.line import Line, Timing
from host.deploy.load import Load
from host.link import PortError
from host.link.frames import unframed, with_checksum
from tools.__main__ import main

IDLE = "ok pv_mc=20000 top=0 deck=0 contactor=0 permit=0 state=idle trip=none missing=none"


class Answering:
    """A line whose board answers what it is told to."""

    timing = Timing(reply_s=0.0, boot_s=0.05)
    saw_prompt = False
    noise = b""

    def __init__(self, **answers):
        self.answers = answers

    def ask(self, text, timeout_s=None, wanted=None):
        return self.answers.get(text.split()[0])

    def run(self, code):
        return self.answers["run"]


def one_line(caught):
    """The text of an error, which must be one line."""
    text = str(caught.value)
    assert text and "\n" not in text
    return text


def test_port_that_is_not_there_or_no_port_says_so(tmp_path):
    with pytest.raises(PortError, match="no such port") as caught:
        Line(str(tmp_path / "nothing"))
    one_line(caught)
    plain = tmp_path / "plain"
    plain.write_text("x")
    with pytest.raises(PortError, match="not a serial port") as caught:
        Line(str(plain))
    one_line(caught)


@pytest.mark.skipif(os.name != "posix", reason="pseudo-terminals are for POSIX")
def test_busy_port_names_what_may_hold_it():
    master, slave = os.openpty()
    held = serial.Serial(os.ttyname(slave), exclusive=True)
    try:
        with pytest.raises(PortError, match="another program has it open"):
            Line(os.ttyname(slave))
    finally:
        held.close()
        os.close(slave)
        os.close(master)


@pytest.mark.skipif(os.name != "posix", reason="pseudo-terminals are for POSIX")
def test_port_that_is_let_go_within_a_moment_is_waited_for():
    main_fd, side_fd = os.openpty()
    device = os.ttyname(side_fd)
    holder = serial.Serial(device, exclusive=True)
    begin = threading.Timer(0.3, holder.close)
    begin.start()
    try:
        line = Line(device)  # busy at first
        assert not holder.is_open
        line.close()
    finally:
        begin.join()
        for fd in (main_fd, side_fd):
            os.close(fd)


@pytest.mark.slow
@pytest.mark.skipif(os.name != "posix", reason="pseudo-terminals are for POSIX")
def test_port_at_which_nobody_answers_is_given_up_with_advice():
    from host.deploy.entry import Entry

    master, slave = os.openpty()
    line = Line(os.ttyname(slave), Timing(reply_s=0.02, quiet_s=0.05, boot_s=0.2, way_in_s=0.3))
    try:
        with pytest.raises(DeployError, match="press the board's reset"):
            Entry(line, say=lambda text: None).go()
    finally:
        line.close()
        os.close(slave)
        os.close(master)


@pytest.mark.parametrize(("facts", "words"), [
    ("1 21 6 900000 rp2", "MicroPython 1.21 on the board is too old: install 1.22 or newer"),
    ("0 9 6 900000 rp2", "too old"),
])  # fmt: skip
def test_old_firmware_is_refused(facts, words):
    made = plan.LoadPlan(None, "pico", "0.1.0", [])
    with pytest.raises(DeployError, match=words) as caught:
        Load(Answering(run=facts), made)._check_firmware()
    one_line(caught)


def test_firmware_1_22_is_taken_and_a_foreign_mpy_version_is_not():
    source = plan.LoadPlan(None, "pico", "0.1.0", [plan.File("main.py", "device/main.py", b"")])
    Load(Answering(run="1 22 6 900000 rp2"), source)._check_firmware()
    made = plan.LoadPlan(None, "pico", "0.1.0", [plan.File("a/b.mpy", "device/a/b.py", b"M\x06\0\x1f")])
    Load(Answering(run="1 22 6 900000 rp2"), made)._check_firmware()
    with pytest.raises(DeployError, match="mpy version 5, this mpy-cross writes 6"):
        Load(Answering(run="1 22 5 900000 rp2"), made)._check_firmware()


@pytest.mark.parametrize(("status", "words"), [
    (IDLE.replace("top=0", "top=1"), "heat is on"),
    (IDLE.replace("contactor=0", "contactor=1"), "heat is on"),
    (IDLE.replace("state=idle", "state=held"), "an evening is on"),
    (IDLE.replace("20000", "80000"), "the dome has 80 °C"),
    (IDLE.replace("20000", "none"), "does not tell"),
    ("ok state=idle", "heat is on"),
])  # fmt: skip
def test_way_in_refuses_unless_heat_is_off_and_the_dome_known_to_be_cold(status, words):
    with pytest.raises(DeployError, match=words):
        refuse_unless_cold(status)


def test_way_in_takes_a_cold_idle_board():
    assert refuse_unless_cold(IDLE) is None
    assert refuse_unless_cold(IDLE.replace("20000", "79999")) is None


@pytest.mark.parametrize(("answers", "words"), [
    ({}, "does not answer"),
    ({"version": "ok version=0.0.9 board=pico"}, "answers as version 0.0.9"),
    ({"version": "ok version=0.1.0 board=bench"}, "on bench"),
    ({"status": IDLE.replace("missing=none", "missing=armed")}, "not armed itself"),
    ({"status": IDLE.replace("trip=none", "trip=stuck"), "alarms": "ok Words. What to do."}, "Words. What to do."),
    ({"status": IDLE.replace("deck=0", "deck=1")}, "pull the plug"),
    ({"status": IDLE.replace("state=idle", "state=running")}, "running, not idle"),
])  # fmt: skip
def test_loaded_board_that_is_not_idle_and_off_fails_with_its_reason(answers, words):
    made = plan.LoadPlan(None, "pico", "0.1.0", [])
    good = {"version": "ok version=0.1.0 board=pico", "status": IDLE} if answers else {}
    with pytest.raises(DeployError, match=words) as caught:
        wait_and_check(Answering(**{**good, **answers}), made)
    one_line(caught)


@pytest.mark.parametrize("path", [
    "settings.a", "settings.b", "settings.tmp", "latch.a", "session.b", "counters.a", "commission.a", "log.a",
    "maintenance", "loaded.txt", "/boot.py", "../x", "a/../b", "a//b", "",
])  # fmt: skip
def test_boards_own_memory_is_never_ours_to_touch(path):
    assert not plan.is_ours_to_touch(path)


def test_every_file_of_the_plan_is_ours_to_touch_and_main_comes_last(pico):
    assert all(plan.is_ours_to_touch(path) for path in pico.paths)
    assert pico.paths[:2] == ["board.py", "boot.py"]
    assert pico.paths[-1] == "main.py"
    assert len(set(pico.paths)) == len(pico.paths)


def test_late_boot_noise_and_damaged_replies_are_no_replies():
    good = with_checksum("ok state=idle")
    assert unframed("~" + good + "\r") == "ok state=idle"
    assert unframed("rst:0x1 boot noise~" + good) == "ok state=idle"
    assert unframed(good) is None
    assert unframed("~" + good.replace("idle", "idlf")) is None
    assert unframed("~") is None
    assert unframed("\ufffd\ufffd") is None


@pytest.mark.slow
@pytest.mark.parametrize(("arguments", "words"), [
    (["--port", "no/such/port"], "no such port"),
    (["--board", "nowhere"], "no board 'nowhere'"),
])  # fmt: skip
def test_command_ends_with_2_and_one_line_for_what_cannot_be_used(arguments, words, capsys):
    assert main(["deploy", *arguments]) == 2
    error = capsys.readouterr().err
    assert words in error and error.count("\n") == 1


@pytest.mark.slow
def test_command_refuses_a_wrong_pin_map_before_any_board(tmp_path, capsys):
    pytest.importorskip("host.pins")
    text = (plan.ROOT / "boards/pico.py").read_text(encoding="utf-8")
    wrong = tmp_path / "wrong.py"
    wrong.write_text(text.replace("HEAT_DECK = 11", "HEAT_DECK = 10"), encoding="utf-8")
    assert main(["deploy", "--board", str(wrong), "--port", "no/such/port"]) == 1
    assert "pin map is wrong" in capsys.readouterr().err


@pytest.mark.slow
def test_dry_run_lists_files_and_the_lines_for_doing_it_by_hand(capsys):
    assert main(["deploy", "--dry-run", "--port", "PORT", "--json", "--sources"]) == 0
    shown = json.loads(capsys.readouterr().out)
    assert [file["path"] for file in shown["files"]] == plan.make("boards/pico.py").paths
    assert all(line.startswith("mpremote connect PORT ") for line in shown["by_hand"])
    assert main(["deploy", "--dry-run"]) == 0
    assert "mpremote connect auto cp device/main.py :" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("platform", "machine", "mcu", "refused"),
    [
        ("rp2", "Raspberry Pi Pico with RP2040", "rp2040", False),
        ("rp2", "Raspberry Pi Pico 2 with RP2350", "rp2040", True),
        ("rp2", "Raspberry Pi Pico with RP2040", "esp32", True),
        ("rp2", "", "rp2350", False),  # a release that tells its port alone
        ("rp2", "", "esp32c3", True),
        ("esp32", "Generic ESP32 module with ESP32", "esp32", False),
        ("esp32", "Generic ESP32S3 module with ESP32S3", "esp32", True),
        ("esp32", "ESP32C3 module with ESP32C3", "esp32s3", True),
        ("linux", "linux [GCC 12] version", "rp2040", False),
    ],
)
def test_deploy_map_for_another_chip_is_refused(platform, machine, mcu, refused):
    made = Load(None, plan.LoadPlan(None, "x", "0.1.0", [], mcu=mcu), say=lambda text: None)
    made.platform = platform
    if not refused:
        made._check_chip(machine)
        return
    with pytest.raises(DeployError, match=f"the pin map is for {mcu}"):
        made._check_chip(machine)


def test_port_that_goes_while_it_is_set_up_is_one_line(monkeypatch):
    """A board that restarts: its port can be opened, and is gone before it is set up."""

    class Gone:
        def __setattr__(self, name, value):
            raise OSError(5, "Input/output error")

        def close(self):
            raise OSError(5, "Input/output error")

    class Transport:
        in_raw_repl = False

        def __init__(self, device):
            self.serial = Gone()

        def close(self):
            self.serial.close()

    monkeypatch.setattr("host.deploy.line.SerialTransport", Transport)
    with pytest.raises(PortError, match="no such port") as caught:
        Line("/dev/no-such-port")
    assert "\n" not in str(caught.value)
