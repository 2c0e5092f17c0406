"""The ways by hand that README shows, with the real mpremote command."""

import shlex
import subprocess
import sys
from pathlib import Path

import pytest

from host.deploy import plan
from host.deploy.line import Line

ROOT = Path(__file__).parents[2]


def mpremote(line):
    """Run one `mpremote ...` line in this folder; what it printed."""
    words = shlex.split(line)
    assert words[0] == "mpremote"
    done = subprocess.run([sys.executable, "-m", "mpremote", *words[1:]], capture_output=True, text=True, timeout=60)
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


def is_idle(board):
    """Whether the board's program says that it is idle, armed and without a trip."""
    line = Line(board.link)
    found = board.wait_until(lambda: is_good(line.ask("status") or ""), 15.0)
    line.close()
    return found


def is_good(reply):
    """Whether a status reply says so."""
    return all(word in reply.split() for word in ("state=idle", "trip=none", "top=0", "deck=0", "missing=none"))


@pytest.mark.slow
@pytest.mark.parametrize("is_elsewhere", [False, True])
def test_printed_lines_load_a_running_board(boards, loaded, is_elsewhere, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path if is_elsewhere else ROOT)
    loaded["tizzone/control/pid.py"] += b"# older\n"
    board = boards(files=loaded, patience_s=15.0)  # on a board the first line has four seconds
    assert is_idle(board)
    for line in plan.by_hand(plan.make("boards/pico.py"), "PORT"):
        mpremote(line.replace("PORT", board.port))
    assert is_idle(board)
    for file in plan.make("boards/pico.py").files:
        assert (board.folder / file.path).read_bytes() == file.data
    assert not board.heat_was_on()


@pytest.mark.slow
def test_mip_installs_the_package_and_a_board_without_pin_map_stays_at_its_prompt(boards):
    board = boards()
    out = mpremote(f"mpremote connect {board.port} mip install --target / ./package.json + reset")
    assert "Done" in out
    line = Line(board.link)
    assert line.wait_prompt(10.0)
    line.close()
    assert board.heat_log == []
    mpremote(f"mpremote connect {board.port} cp boards/pico.py :board.py + reset")
    assert is_idle(board)


def test_package_lists_each_device_file():
    import json

    listed = json.loads((ROOT / "package.json").read_text(encoding="utf-8"))["urls"]
    missing = [path for path in plan.device_files() if [path, f"device/{path}"] not in listed]
    assert not missing, "run: python -m host.deploy.plan"


def test_package_is_what_the_plan_says():
    assert (ROOT / "package.json").read_text(encoding="utf-8") == plan.package(), "run: python -m host.deploy.plan"
