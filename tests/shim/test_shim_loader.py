"""Device modules on CPython: loaded apart, supplied with MicroPython's modules, never entering ours."""

import sys
import time as host_time

import pytest

from host.shim.loader import World, world
from host.shim.port import Port
from host.shim.simfs import SimFS


def device(tmp_path, **files):
    """A World over a folder with these files; `__` in a name stands for a folder."""
    for name, text in files.items():
        path = tmp_path / (name.replace("__", "/", 1) + ".py")
        path.parent.mkdir(exist_ok=True)
        path.write_text(text, encoding="utf-8")
    return World(tmp_path)


def test_loader_supplies_its_own_time_and_leaves_ours_alone(tmp_path):
    made = device(tmp_path, one="import time, machine\nhas_ticks = hasattr(time, 'ticks_ms')\n")
    assert made.load("one").has_ticks
    assert sys.modules["time"] is host_time
    assert "machine" not in sys.modules and "one" not in sys.modules


def test_loader_knows_packages_and_relative_imports(tmp_path):
    made = device(
        tmp_path,
        part____init__="NAME = 'part'\n",
        part__two="from .three import VALUE\n",
        part__three="VALUE = 3\n",
        main="import part.three\nfrom part import two\nRESULT = (part.NAME, part.three.VALUE, two.VALUE)\n",
    )
    assert made.load("main").RESULT == ("part", 3, 3)


@pytest.mark.parametrize("name", ["threading", "subprocess", "pathlib", "dataclasses", "typing", "nothing_of_the_kind"])
def test_loader_refuses_what_micropython_lacks(tmp_path, name):
    made = device(tmp_path, one=f"import {name}\n")
    with pytest.raises(ImportError, match=f"no module named '{name}' on the board"):
        made.load("one")
    assert "one" not in made.modules


def test_loader_compiles_from_the_real_path(tmp_path):
    made = device(tmp_path, one="def fail():\n    raise ValueError('here')\n")
    assert made.load("one").fail.__code__.co_filename == str(tmp_path / "one.py")


def test_loader_runs_a_file_afresh_each_time(tmp_path):
    made = device(tmp_path, boot="count = 1\n")
    first = made.run_file("boot")
    first.count = 5
    assert made.run_file("boot").count == 1


def test_board_and_files_are_those_of_the_running_board(tmp_path):
    made = device(
        tmp_path,
        one="import io, os\nimport board\ndef look():\n    return board.NAME, os.listdir()\n"
        "def keep():\n    with io.open('a.txt', 'w') as file:\n        file.write('x')\n"
        "def optional():\n    return getattr(board, 'DOOR', None)\n",
    )
    module = made.load("one")

    class Pins:
        def __init__(self, name):
            self.NAME = name

    ports = [Port(None, board=Pins(name), fs=SimFS()) for name in ("a", "b")]
    with made.running(ports[0]):
        module.keep()
        assert module.look() == ("a", ["a.txt"])
        with made.running(ports[1]):
            assert module.look() == ("b", [])
            assert module.optional() is None
        assert module.look() == ("a", ["a.txt"])
    assert made.modules["simboard"].port is None


def test_world_of_a_folder_is_loaded_once(tmp_path):
    (tmp_path / "one.py").write_text("")
    assert world(tmp_path) is world(str(tmp_path))
    assert world(tmp_path) is not world(tmp_path / "..")


def test_print_of_the_device_is_kept_with_its_board(tmp_path, capsys):
    made = device(tmp_path, one="def say():\n    print('pins', 3)\n")
    port = Port(None, fs=SimFS())
    with made.running(port):
        made.load("one").say()
    assert port.printed == ["pins 3"]
    assert capsys.readouterr().out == ""
