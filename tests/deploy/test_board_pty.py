"""The board behind the pseudo-terminal starts, stops and resets as a board does.

Outside sources: MicroPython documentation, "Reset and boot sequence" (boot.py on every start; main.py not after a soft
reset out of the raw prompt; pins keep their state over a soft reset) and "class WDT" (once started it cannot be
stopped); ports/rp2/main.c: main.py only if boot.py ended well.
"""

import contextlib
import os
import types

import pytest

TRACE = b"""
with open("trace", "a") as f:
    f.write("%s")
"""


@contextlib.contextmanager
def at_prompt(board):
    """mpremote's own transport in raw mode, after its soft reset."""
    from mpremote.transport_serial import SerialTransport

    transport = SerialTransport(board.port)
    transport.serial.timeout = 5.0
    transport.enter_raw_repl()
    try:
        yield transport
    finally:
        transport.exit_raw_repl()
        transport.close()


def trace(board):
    """What boot.py and main.py have noted."""
    path = board.folder / "trace"
    return path.read_text() if path.exists() else ""


@pytest.fixture
def traced(boards):
    """A board whose boot.py notes b and whose main.py notes m."""

    def make(main=b"", boot=b"", **options):
        files = {"boot.py": TRACE % b"b" + boot, "main.py": TRACE % b"m" + main}
        board = boards(files=files, **options)
        assert board.wait_until(lambda: trace(board).startswith("b"))
        return board

    return make


def test_power_up_runs_boot_and_main(traced):
    board = traced()
    assert board.wait_until(lambda: trace(board) == "bm")


def test_soft_reset_of_a_connecting_tool_runs_boot_but_not_main(traced):
    board = traced()
    assert board.wait_until(lambda: trace(board) == "bm")
    with at_prompt(board) as transport:
        assert transport.exec("print(open('trace').read())").strip() == b"bmb"
    assert board.resets == ["power", "soft"]


@pytest.mark.slow
@pytest.mark.parametrize("way", ["machine.reset", "friendly Ctrl-D"])
def test_real_reset_runs_main_again(traced, way):
    board = traced()
    with at_prompt(board) as transport:
        before = trace(board)
        if way == "machine.reset":
            transport.exec_raw_no_follow("import machine; machine.reset()")
            transport.in_raw_repl = False
        else:
            transport.exit_raw_repl()
            transport.read_until(1, b">>> ", timeout=5)
            transport.serial.write(b"\x04")
        assert board.wait_until(lambda: trace(board) == before + "bm")
    assert board.resets[-1] == ("reset" if way == "machine.reset" else "soft")


def test_main_stays_out_when_boot_fails(traced):
    board = traced(boot=b"\nraise ValueError('no')\n")
    with at_prompt(board):
        assert trace(board) == "bb"


@pytest.mark.slow
def test_watchdog_bites_at_the_prompt_while_a_tool_is_connected(traced):
    board = traced(main=b"\nimport machine\nmachine.WDT(timeout=4000)\n")
    assert board.wait_until(lambda: trace(board) == "bm")
    with at_prompt(board) as transport:
        transport.exec("print(1)")
        assert board.wait_until(lambda: "watchdog" in board.resets)
        transport.in_raw_repl = False
    assert board.wait_until(lambda: trace(board).endswith("bm"))


@pytest.mark.slow
def test_watchdog_bites_a_hang_and_spares_a_program_that_feeds(traced):
    hang = traced(main=b"\nimport machine\nmachine.WDT(timeout=2000)\nwhile True:\n    pass\n")
    assert hang.wait_until(lambda: hang.resets == ["power", "watchdog"])
    fed = traced(
        main=b"""
import machine, time
dog = machine.WDT(timeout=2000)
for n in range(400):
    time.sleep_ms(250)
    dog.feed()
with open("done", "w") as f:
    f.write(str(machine.reset_cause()))
time.sleep(3)
"""
    )
    # the reset is noted before the clock is set: both are waited for
    assert fed.wait_until(lambda: "watchdog" in fed.resets and fed.outside.now_us > 100e6)
    assert (fed.folder / "done").read_text() == "1"  # power-up


def test_metered_board_lives_through_what_it_is_given_and_no_tick_more(boards, loaded):
    board = boards(files=loaded, metered=True)
    board.live(10.0)
    stood_us = board.outside.now_us
    assert 10_000_000 <= stood_us < 10_250_000  # to the end of the sleep that is under way
    board.fit_jumper(False)  # an order is taken while its time stands still
    assert board.outside.now_us == stood_us
    board.live(0.25)
    assert stood_us + 250_000 <= board.outside.now_us < stood_us + 500_000
    assert board.resets == ["power"]


def test_metered_board_that_hangs_is_told_and_not_waited_for_for_ever(boards):
    board = boards(files={"main.py": b"while True:\n    pass\n"}, metered=True)
    with pytest.raises(RuntimeError, match="hangs"):
        board.live(1.0, timeout_s=0.5)


def test_heat_pin_outlives_a_soft_reset_but_no_reset_and_is_recorded(boards):
    main = b"from machine import Pin\nPin(10, Pin.OUT, value=1)\n"
    board = boards(files={"main.py": main})
    assert board.wait_until(board.heat_was_on)
    with at_prompt(board):
        assert [entry[1:] for entry in board.heat_log] == [(10, 1)]
    (board.folder / "main.py").unlink()
    board.reset()
    assert [entry[1:] for entry in board.heat_log] == [(10, 1), (10, 0)]


@pytest.mark.slow
def test_interrupting_an_evening_drops_every_heat_pin(boards, loaded):
    from host.deploy.line import Line

    board = boards(files=loaded)
    line = Line(board.link)
    assert board.wait_until(lambda: "missing=none" in (line.ask("status") or ""))
    assert line.ask("start") == "ok"
    assert board.wait_until(board.heat_was_on)
    line.enter()
    line.close()
    levels = {}
    for _, pin, level in board.heat_log:
        levels[pin] = level
    assert set(levels.values()) == {0}


def test_second_interrupt_on_the_heels_of_the_first_does_not_end_the_board(traced):
    board = traced(main=b"\nimport time\nwhile True:\n    time.sleep_ms(10)\n")
    from mpremote.transport_serial import SerialTransport

    transport = SerialTransport(board.port)
    transport.serial.write(b"\r\x03\x03")
    transport.enter_raw_repl()
    assert transport.exec("print(2)").strip() == b"2"
    transport.close()
    assert [kind for _, kind, _ in board.events].count("crash") == 0


def test_littlefs_keeps_its_files_over_a_power_cut(boards):
    board = boards(flash_kb=128)
    with at_prompt(board) as transport:
        transport.fs_writefile("kept", b"x" * 3000)
    board.power_cycle()
    with at_prompt(board) as transport:
        assert transport.fs_readfile("kept") == b"x" * 3000


def test_link_that_is_cut_fails_for_the_tool_and_comes_back_after_plugging_in(boards):
    from host.deploy.line import Line
    from host.link import LinkLost, PortError

    board = boards()
    line = Line(board.link)
    board.cut_link_after(5)
    with pytest.raises(LinkLost):
        for _ in range(10):
            line.ask("status", 0.2)
    with pytest.raises(PortError):
        line.open()
    board.plug_in()
    line.open()
    assert line.wait_prompt(5.0)
    line.close()


@pytest.mark.slow
@pytest.mark.parametrize("ending", ["SIGINT", "SIGTERM", "SIGHUP"])
def test_command_prints_the_port_of_a_board_and_ends_without_leaving_its_folder(boards, ending):
    import signal
    import subprocess
    import sys
    from pathlib import Path

    boards()  # skips where there is no MicroPython
    process = subprocess.Popen(
        [sys.executable, "-m", "host.board_pty", "--loaded", "--speed", "40"],
        cwd=Path(__file__).parents[2],
        stdout=subprocess.PIPE,
        text=True,
    )
    try:
        word, port = process.stdout.readline().split()
        assert word == "port:"
        with at_prompt(types.SimpleNamespace(port=os.path.realpath(port))) as transport:
            assert "board.py" in [entry.name for entry in transport.fs_listdir()]
        process.send_signal(getattr(signal, ending))
        assert process.wait(90) == 0 and not os.path.lexists(port) and not Path(port).parent.exists()
    finally:
        process.kill()
        process.stdout.close()


def test_command_refuses_an_unknown_pin_map_in_one_line(capsys):
    pytest.importorskip("termios", reason="pseudo-terminals are for POSIX")
    from host.board_pty.__main__ import main
    from tools.__main__ import main as tizzone

    assert main(["--board", "nowhere"]) == 2
    assert capsys.readouterr().err.count("\n") == 1
    assert tizzone(["practise", "--serial", "--board", "nowhere"]) == 2
    error = capsys.readouterr().err
    assert error.count("\n") == 1 and error.startswith("tizzone practise: ")
