"""`tizzone drill`: exit codes, output, page, one-line errors."""

import json
import re
from datetime import datetime

import pytest

from host.drill import campaign
from host.drill import page as drillpage
from tools.__main__ import main

LAMP = ["drill", "--oven", "lamp", "--phase", "cold", "--jobs", "1"]


@pytest.mark.slow
def test_command_prints_a_table_and_writes_page_and_json(capsys, tmp_path):
    code = main([*LAMP, "--fault", "dome_open", "--fault", "relay_welded_top", "--out", str(tmp_path / "o")])
    out = capsys.readouterr().out
    assert code == 0
    assert "2 cases, 0 failed" in out
    assert re.search(r"dome_open +cold +lamp +full +0\.8 +0\.0 +20 +20 +probe-open", out)
    page = (tmp_path / "o" / "drill.html").read_text(encoding="utf-8")
    assert "<svg" in page and "probe-open" in page
    assert re.search(r"Drilled on \d{4}-\d\d-\d\d \d\d:\d\d with program \d", page)
    assert not re.search(r"(src|href)=\"(https?:)?//", page)
    told = json.loads((tmp_path / "o" / "drill.json").read_text(encoding="utf-8"))
    cases = told["cases"]
    assert datetime.fromisoformat(told["drilled"])
    assert [case["fault"] for case in cases] == ["dome_open", "relay_welded_top"]


@pytest.mark.slow
def test_command_gives_json_alone(capsys):
    assert main([*LAMP, "--fault", "dome_silent", "--json"]) == 0
    (case,) = json.loads(capsys.readouterr().out)
    assert case["reason"] == "probe-silent" and case["failed"] == "" and case["seen_s"] <= 1.0


@pytest.mark.slow
def test_command_takes_settings_from_json_and_toml(capsys, tmp_path):
    for name, text in (("s.json", '{"setpoint_c": 50}'), ("s.toml", "setpoint_c = 50\n")):
        (tmp_path / name).write_text(text, encoding="utf-8")
        code = main([*LAMP, "--fault", "dome_zero", "--settings", str(tmp_path / name)])
        assert code == 0
    assert "0 failed" in capsys.readouterr().out


@pytest.mark.parametrize(
    "arguments",
    [
        ["--fault", "nothing"],
        ["--oven", "cellar"],
        ["--board", "no_such_board"],
        ["--settings", "absent.json"],
        ["--jobs", "0"],
        ["--clean", "-1"],
        ["--wiring", "bare", "--fault", "stone_open"],
    ],
)
def test_wrong_use_is_one_line_and_code_two(capsys, arguments):
    assert main(["drill", *arguments]) == 2
    error = capsys.readouterr().err
    assert error.startswith("tizzone drill: ") and error.count("\n") == 1


def test_setting_out_of_bounds_is_refused(capsys, tmp_path):
    path = tmp_path / "wild.json"
    path.write_text('{"high_limit_c": 900}', encoding="utf-8")
    assert main(["drill", "--settings", str(path)]) == 2
    assert "high_limit_c must lie within" in capsys.readouterr().err


def test_command_says_no_with_code_one_when_a_promise_is_broken(capsys, monkeypatch):
    broken = campaign.Result(campaign.Case(("dome_open",), "cold", "lamp", "full"), failed="nothing shown")
    monkeypatch.setattr(campaign, "run", lambda *a, **k: iter([broken]))
    assert main([*LAMP, "--fault", "dome_open"]) == 1
    assert "FAILED dome_open cold lamp full: nothing shown" in capsys.readouterr().out


def test_table_shows_the_failed_case_before_the_hottest():
    case = campaign.Case(("dome_open",), "cold", "lamp", "full")
    cool = campaign.Result(case, "probe-open", 0.8, 0.3, 20.0, 20.0, 500.0, failed="late")
    hot = campaign.Result(case, "probe-open", 0.8, 0.3, 490.0, 499.0, 500.0)
    assert drillpage.worst([hot, cool]) == [cool]
    cool.failed = ""
    assert drillpage.worst([hot, cool]) == [hot]


def test_promises_are_printed_as_a_table(capsys):
    assert main(["drill", "--table"]) == 0
    assert "| lead of the dome probe broken | probe-open | 1 s |" in capsys.readouterr().out
