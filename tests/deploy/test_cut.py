"""A load that is cut off anywhere leaves a board that starts with every output off and can be loaded again."""

import random

import pytest

from host.deploy import DeployError
from host.deploy.line import Timing

CUTS = 30
# An update of a few files over about so many bytes from the PC; the cuts fall anywhere within.
TOTAL = 52_000
QUICK = Timing(reply_s=0.25, quiet_s=0.4, boot_s=10.0, way_in_s=20.0, exec_s=10.0)


def older(files):
    """An earlier release: some files differ, one is gone by now."""
    for path in ("boot.py", "main.py", "tizzone/app.py", "tizzone/pid.py", "tizzone/link.py"):
        files[path] += b"\n# older\n"
    files["tizzone/old.py"] = b"# gone by now\n"
    files["loaded.txt"] = "\n".join([*sorted(files)]).encode() + b"\n"
    return files


@pytest.mark.parametrize("group", range(3))
def test_load_cut_at_random_points_is_always_recoverable_and_heat_never_on(boards, load, pico, loaded, group):
    chance = random.Random(600 + group)
    ours = {file.path: file.data for file in pico.files}
    old = older(dict(loaded))
    board = boards(files=old, speed=100.0)
    was_cut = 0
    for _ in range(CUTS // 3):
        point, with_power = chance.randrange(TOTAL), chance.random() < 0.5
        board.cut_link_after(point, and_power=with_power)
        try:
            load(board, pico, QUICK)
        except DeployError:
            was_cut += 1
        board.plug_in()
        # whichever files it has now: after a start nothing heats, and it can be loaded again
        board.power_cycle()
        assert load(board, pico, QUICK)["status"]["state"] == "idle", (point, with_power)
        files = {p.relative_to(board.folder).as_posix(): p.read_bytes() for p in board.folder.rglob("*") if p.is_file()}
        assert {path: files[path] for path in ours} == ours
        assert "tizzone/old.py" not in files
        for path, data in old.items():  # back to the earlier release, for the next cut
            (board.folder / path).write_bytes(data)
        board.power_cycle()
    assert was_cut >= CUTS // 3 - 3
    assert not board.heat_was_on()
