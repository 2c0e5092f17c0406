"""An installation: one package, every command from another folder; what a fresh clone installs for which command."""

import importlib.util
import json
import sys
import tomllib
from pathlib import Path

import pytest

from tools import install_check, start

ROOT = Path(__file__).parents[2]


@pytest.mark.slow
@pytest.mark.skipif(importlib.util.find_spec("hatchling") is None, reason="hatchling comes with the extra test")
def test_wheel_in_a_fresh_environment_works_from_another_folder():
    told = []
    install_check.check(is_offline=True, say=told.append)
    assert len(told) == len(install_check.COMMANDS) + 1


def test_install_check_says_what_does_not_work(tmp_path):
    with pytest.raises(install_check.CheckFailed, match="ended with 3"):
        install_check.run([sys.executable, "-c", "raise SystemExit(3)"], tmp_path)


@pytest.mark.parametrize(
    ("line", "extras"),
    [
        ("rehearse", set()),
        ("rehearse --runtime micropython", {"micropython"}),
        ("deploy", {"micropython"}),
        ("rehearse --runtime=micropython", {"micropython"}),
        ("identify --twin runs/club", {"fit"}),
        ("practise", {"micropython"}),
        ("test -x", {"test"}),
    ],
)
def test_start_installs_what_the_command_needs(line, extras):
    assert start.extras_for(line.split()) == extras
    known = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]["optional-dependencies"]
    assert extras <= set(known)


@pytest.fixture
def installs(tmp_path, monkeypatch):
    """The pip lines that `make_environment` would run, in a folder of its own."""
    lines = []
    monkeypatch.setattr(start, "VENV", tmp_path)
    monkeypatch.setattr(start, "run", lines.append)
    start.venv_python().parent.mkdir(parents=True)
    start.venv_python().touch()
    return lines


def test_start_installs_once_and_again_only_for_more(installs):
    start.make_environment(set())
    start.make_environment(set())
    assert len(installs) == 1
    assert installs[0][-1] == str(start.ROOT)
    start.make_environment({"fit"})
    start.make_environment(set())
    start.make_environment({"fit"})
    assert len(installs) == 2
    start.make_environment({"test"})
    assert [line[-1] for line in installs[1:3]] == [f"{start.ROOT}[fit]", f"{start.ROOT}[fit,test]"]
    assert installs[3][-1] == str(start.WITHOUT_DEPENDENCIES)


@pytest.mark.parametrize("text", ["", "{}", "[]", "no json", json.dumps({"from": "older", "extras": ["test"]})])
def test_start_installs_anew_where_the_stamp_says_something_else(text, installs, tmp_path):
    (tmp_path / "installed-from.json").write_text(text, encoding="utf-8")
    start.make_environment(set())
    assert len(installs) == 1
