"""The command: its answers, records and refusals; and the bounds of what is entered."""

import json

import pytest
from commission_answers import ANSWERS, answers

from host.commissioning.entries import fault_of
from host.commissioning.steps import STEPS
from host.shim.loader import world
from tools.__main__ import main


def test_every_entry_has_answers_and_bounds_that_can_fail():
    for step in STEPS:
        for field in step.fields:
            assert fault_of(field, ANSWERS[step.name][field.name]) is None, field.name
            if field.kind == "number":
                span = field.high - field.low
                for value, good in ((field.low, True), (field.high, True), (field.low - span / 1e3, False),
                                    (field.high + span / 1e3, False)):  # fmt: skip
                    assert (fault_of(field, value) is None) == good, field.name
                assert fault_of(field, float("nan"))[0] == "unusable"
                assert fault_of(field, "lots")[0] == "unusable"
            else:
                assert fault_of(field, "")[0] == "unusable"
    assert [step.name for step in STEPS] == list(world().load("tizzone.commissioning.release").STEPS)


def write_answers(path, **changes):
    """The answers as a TOML file."""
    lines = []
    for table, values in answers(**changes).items():
        lines.append(f"[{table}]")
        lines += [f"{name} = {json.dumps(value)}" for name, value in values.items()]
    path.write_text("\n".join(lines), encoding="utf-8")
    return str(path)


def test_command_practises_up_to_a_step_and_writes_the_page(tmp_path, capsys):
    record = tmp_path / "hall.json"
    arguments = ["commission", "--simulated", "--answers", write_answers(tmp_path / "a.toml"), "--record", str(record)]
    assert main([*arguments, "--until", "dead", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert (told["done"], told["release_c"], told["failed"]) == (3, 60, "")
    assert (tmp_path / "hall.html").read_text(encoding="utf-8").count("PASSED") == 3
    failing = write_answers(tmp_path / "b.toml", electrical={"earth_ohm": 0.4})
    other = ["--answers", failing, "--record", str(tmp_path / "other.json")]
    assert main(["commission", "--simulated", *other]) == 1
    assert (
        "FAILED electrical: highest earth continuity reading: 0.4 ohm is outside 0 to 0.1 ohm"
        in capsys.readouterr().out
    )
    assert "FAILED" in (tmp_path / "other.html").read_text(encoding="utf-8")


@pytest.mark.parametrize(
    ("changes", "word"),
    [
        ({"electrical": {"earth_ohm": None}}, "'highest earth continuity reading, ohm' has no answer"),
        ({"electrical": {"earth_ohm": "low"}}, "a number in ohm is needed"),
        ({"papers": {"plate": " "}}, "'oven, as its rating plate says' has no answer"),
        ({"papers": {"plates": "x"}}, "'plates' is no question of 'papers'"),
        ({"by": {"initials": "M B!"}}, "one to eight letters"),
        ({"by": {"name": None}}, "name is missing"),
    ],
)
def test_unusable_answer_is_one_line_and_nothing_is_left_under_way(tmp_path, capsys, changes, word):
    path = write_answers(tmp_path / "a.toml", **changes)
    code = main(["commission", "--simulated", "--answers", path, "--record", str(tmp_path / "r.json"), "--json"])
    error = capsys.readouterr().err
    assert code == 2 and word in error and len(error.strip().splitlines()) == 1


@pytest.mark.parametrize(
    ("content", "word"),
    [
        ("{", "damaged; keep it aside"),
        ("[]", "not a commissioning record"),
        ('{"steps": [1]}', "not a commissioning record"),
        ('{"version": 9, "steps": []}', "another version"),
        ('{"version": 1, "mark": "00000000", "steps": [{"name": "papers"}]}', "belongs to another board"),
    ],
)
def test_unusable_record_is_one_line_and_stays_as_it_is(tmp_path, capsys, content, word):
    record = tmp_path / "r.json"
    record.write_text(content, encoding="utf-8")
    arguments = ["--answers", write_answers(tmp_path / "a.toml"), "--record", str(record)]
    assert main(["commission", "--simulated", *arguments]) == 2
    error = capsys.readouterr().err
    assert word in error and len(error.strip().splitlines()) == 1
    assert record.read_text(encoding="utf-8") == content


@pytest.mark.parametrize(
    ("arguments", "word"),
    [
        (["--simulated", "--port", "COM3"], "not both"),
        (["--simulated", "--answers", "no-such-file.toml"], "cannot be read"),
        (["--simulated", "--oven", "bakery"], "no oven called"),
        (["--port", "/dev/no-such-port"], "no such port"),
        (["--simulated", "--answers", "hall.toml"], "a file of the kind 'build sheet', not answers"),
    ],
)
def test_wrong_use_is_one_line(tmp_path, capsys, arguments, word, monkeypatch):
    monkeypatch.chdir(tmp_path)
    assert main(["plan", "--new", "hall.toml"]) == 0
    capsys.readouterr()
    assert main(["commission", *arguments]) == 2
    error = capsys.readouterr().err
    assert word in error and len(error.strip().splitlines()) == 1
