"""The map of rooms: imports run one way, and the command that says so sees what does not."""

import json

import pytest

from tools import rooms


@pytest.mark.parametrize("side", sorted(rooms.PACKAGES))
def test_imports_run_downward_and_in_no_circle(side):
    found = rooms.read_side(rooms.ROOT, side)
    assert len(found.arrows) > len(found.lines)
    assert rooms.breaches(found) == []
    assert set(found.lines) == {room for row in rooms.ORDER[side] for room in row}, "a room without a place in ORDER"


def test_map_in_the_developers_page_has_every_room_in_its_row():
    text = (rooms.ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    for side, rows in rooms.ORDER.items():
        lines = text.partition(f"\n    {side}/    ")[2].partition("\n\n")[0].splitlines()[1:]
        told = [line.split()[0] for line in lines if not line.strip().startswith("--")]
        assert told == [room for row in rows for room in row if room not in ("boot", "main")], side


def test_command_prints_every_room_and_ends_with_0(capsys):
    assert rooms.main(["--json"]) == 0
    told = {side["side"]: side for side in json.loads(capsys.readouterr().out)["now"]}
    assert {"safety", "probes", "app"} <= set(told["device"]["rooms"])
    assert "safety -> probes" in told["device"]["arrows"]
    assert rooms.main([]) == 0
    assert "no circle" in capsys.readouterr().out


def house(folder, **sources):
    """A made-up device side: room -> source of its one file."""
    for room, source in sources.items():
        (folder / "device/tizzone" / room).mkdir(parents=True)
        (folder / "device/tizzone" / room / "one.py").write_text(source, encoding="utf-8")
    return rooms.read_side(folder, "device")


def test_arrow_upward_is_named_with_its_file(tmp_path):
    side = house(tmp_path, safety="from tizzone.app import run\n", app="", probes="")
    assert rooms.upward(side) == [("safety", "app")]
    assert any("safety -> app" in line and "one.py" in line for line in rooms.breaches(side))


def test_circle_is_named_also_inside_a_function_and_relative(tmp_path):
    side = house(
        tmp_path,
        evening="def go():\n    from tizzone import learning\n",
        learning="from ..evening import one\n",
        safety="",
    )
    assert rooms.circles(side) == [["evening", "learning"]]


def test_room_for_few_is_kept_from_others(tmp_path):
    side = house(tmp_path, evening="import tizzone.memory.one\n", link="from tizzone.memory import one\n", memory="")
    assert rooms.upward(side) == [("evening", "memory")]


def test_unknown_revision_gives_one_line(capsys):
    assert rooms.main(["--base", "no-such-revision"]) == 2
    assert capsys.readouterr().err.count("\n") == 1
