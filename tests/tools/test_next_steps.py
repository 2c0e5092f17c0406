"""Every command ends with the step that comes next; --help names each command by step of the job."""

import importlib
import json
import re

import pytest

from tools.__main__ import STEPS, available, main

EXAMPLES = {
    "boards": "next: edit the copy, then tizzone pins mine.py",
    "explain door-open": "next: tizzone next",
    "bake list": "next: tizzone bake outlook NAME, tizzone bake send NAME",
    "plan --new hall.toml": "next: fill it in, then tizzone plan hall.toml --page hall.plan.html",
    "plan --example hall.toml": "next: its readings are invented: put yours in their place, then tizzone plan",
    "commission --new-answers a.toml": "next: tizzone",
}


@pytest.mark.parametrize("name", available())
def test_every_command_knows_what_comes_after_it(name):
    module = importlib.import_module(f"tools.{name}")
    if name == "next":  # its answer is the next step
        return
    following = module.NEXT.values() if isinstance(module.NEXT, dict) else [module.NEXT]
    assert all(len(line) > 5 for line in following)
    if isinstance(module.NEXT, dict):
        assert set(module.NEXT) == set(module.ACTS)
    for command in re.findall(r"tizzone (\w+)", " ".join([*following, getattr(module, "NEXT_IF_NOT", "")])):
        assert command in available(), (name, command)


@pytest.mark.parametrize("line", EXAMPLES)
def test_last_line_is_the_next_step(line, tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    assert main(line.split()) == 0
    assert capsys.readouterr().out.splitlines()[-1].startswith(EXAMPLES[line])


def test_next_step_after_a_no_says_what_to_mend(tmp_path, monkeypatch, capsys):
    monkeypatch.chdir(tmp_path)
    main(["plan", "--new", "hall.toml"])
    assert main(["plan", "hall.toml", "--quick"]) == 1
    assert capsys.readouterr().out.splitlines()[-1] == "next: mend every stop, then the same line again"


def test_json_carries_no_line_for_people(capsys):
    assert main(["bake", "list", "--json"]) == 0
    assert json.loads(capsys.readouterr().out)


def test_help_names_every_command_once_under_its_step_of_the_job(capsys):
    with pytest.raises(SystemExit):
        main(["--help"])
    told = capsys.readouterr().out
    for step, names in STEPS:
        part = told.partition(f"\n  {step}\n")[2].partition("\n\n")[0]
        lines = [line.split()[0] for line in part.splitlines()]
        assert lines == list(names)
        assert all(len(line.split(maxsplit=1)[1]) > 20 for line in part.splitlines())
    assert sorted(name for _, names in STEPS for name in names) == sorted(available())
    assert max(map(len, told.splitlines())) <= 120


def test_leaving_while_a_command_is_loaded_is_one_word_and_no_traceback(monkeypatch, capsys):
    def interrupted(chosen):
        raise KeyboardInterrupt

    monkeypatch.setattr("tools.__main__.build_parser", interrupted)
    assert main(["watch"]) == 1
    assert capsys.readouterr().err == "stopped\n"
