"""The command `boards`: what it lists, what it copies, and that nothing is written over by accident."""

import json

import pytest

from host.pins import pin_map
from tools.__main__ import main

PICO = pin_map.BOARDS / "pico.py"


def test_boards_lists_every_shipped_map(capsys):
    assert main(["boards", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert {entry["name"] for entry in told} == {path.stem for path in pin_map.BOARDS.glob("*.py")}
    assert all(entry["mcu"] != "?" and entry["about"] for entry in told)
    assert main(["boards"]) == 0
    assert "pico_panel" in capsys.readouterr().out


@pytest.mark.parametrize("name", ["pico", "boards/pico.py"])
def test_boards_copy_is_the_map_and_can_be_checked(name, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    assert main(["boards", "--copy", name, "mine.py"]) == 0
    assert (tmp_path / "mine.py").read_bytes() == PICO.read_bytes()
    assert main(["pins", "mine.py"]) == 0
    assert "mine.py" in capsys.readouterr().out


def test_boards_copy_over_a_file_needs_force(tmp_path, capsys):
    mine = tmp_path / "mine.py"
    mine.write_text("HEAT_TOP = 1\n", encoding="utf-8")
    assert main(["boards", "--copy", "pico", str(mine)]) == 2
    error = capsys.readouterr().err
    assert error.count("\n") == 1 and "--force" in error
    assert mine.read_text(encoding="utf-8") == "HEAT_TOP = 1\n"
    assert main(["boards", "--copy", "pico", str(mine), "--force"]) == 0
    assert mine.read_bytes() == PICO.read_bytes()


@pytest.mark.parametrize(("name", "target"), [("volcano", "mine.py"), ("pico", "."), ("pico", "no/such/folder.py")])
def test_boards_copy_that_cannot_be_is_one_line(name, target, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    assert main(["boards", "--copy", name, target]) == 2
    assert capsys.readouterr().err.count("\n") == 1
    assert list(tmp_path.iterdir()) == []


def test_boards_copy_onto_itself_is_refused_also_with_force(capsys):
    before = PICO.read_bytes()
    assert main(["boards", "--copy", "pico", str(PICO), "--force"]) == 2
    assert PICO.read_bytes() == before
