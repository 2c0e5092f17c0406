"""The command `rehearse`: a whole evening, its folder, and one clear line for what cannot be."""

import json

import pytest

from tools.__main__ import main


@pytest.mark.slow
def test_short_evening_ends_with_a_folder_a_page_and_figures(tmp_path, capsys):
    folder = tmp_path / "night"
    # the lamp bench is quick: 60 °C and no bread
    code = main(["rehearse", "--oven", "lamp", "--breads", "0", "--soak", "1", "--out", str(folder), "--json"])
    told = json.loads(capsys.readouterr().out)
    assert code == 0
    assert told["trips"] == 0
    assert told["highest_reading_c"] < 80
    assert {p.name for p in folder.iterdir()} == {"run.csv", "events.jsonl", "summary.json", "report.html"}
    page = (folder / "report.html").read_text(encoding="utf-8")
    assert "<svg" in page
    assert "http://" not in page.replace("http://www.w3.org", "").replace("http://purl.org", "").replace(
        "http://creativecommons.org", ""
    )


@pytest.mark.parametrize(
    ("arguments", "word"),
    [
        (["--oven", "volcano"], "volcano"),
        (["--oven", "random:x"], "random"),
        (["--board", "boards/none.py"], "none.py"),
        (["--fault", "no-such-fault@10"], "no-such-fault"),
        (["--fault", "dome_open@later"], "@"),
        (["--setting", "colour=1"], "colour"),
        (["--setting", "soak_min=long"], "soak_min"),
        (["--setpoint", "9999"], "setpoint_c"),
        (["--breads", "-1"], "breads"),
    ],
)
def test_wrong_option_gives_one_line_and_exit_code_two(arguments, word, tmp_path, capsys):
    folder = tmp_path / "night"
    assert main(["rehearse", *arguments, "--out", str(folder)]) == 2
    error = capsys.readouterr().err
    assert error.count("\n") == 1
    assert word in error
    assert not folder.exists()


def test_run_folder_that_holds_a_run_is_refused_and_kept(tmp_path, capsys):
    folder = tmp_path / "night"
    folder.mkdir()
    (folder / "run.csv").write_text("t_s\n1\n", encoding="utf-8")
    assert main(["rehearse", "--out", str(folder)]) == 2
    assert "holds a run already" in capsys.readouterr().err
    assert (folder / "run.csv").read_text(encoding="utf-8") == "t_s\n1\n"


@pytest.mark.slow
def test_fault_ends_in_a_trip_and_exit_code_one(tmp_path, capsys):
    folder = tmp_path / "night"
    code = main(["rehearse", "--fault", "dome_open@120", "--out", str(folder), "--json"])
    told = json.loads(capsys.readouterr().out)
    assert code == 1
    assert [trip["reason"] for trip in told["trip_list"]] == ["probe-open"]


def test_rehearse_on_micropython_without_one_is_one_line(tmp_path, monkeypatch, capsys):
    monkeypatch.setattr("host.shim.remote.shutil.which", lambda name: None)
    monkeypatch.setattr("host.shim.remote.sys.executable", str(tmp_path / "python"))
    assert main(["rehearse", "--runtime", "micropython", "--out", str(tmp_path / "run")]) == 2
    error = capsys.readouterr().err
    assert error.count("\n") == 1 and "extra 'micropython'" in error
    assert not (tmp_path / "run").exists()


@pytest.mark.slow
def test_fault_whose_time_never_came_is_told_and_ends_with_one(tmp_path, capsys):
    folder = tmp_path / "night"
    told = ["--oven", "lamp", "--breads", "0", "--soak", "1", "--fault", "dome_open@90000", "--out", str(folder)]
    assert main(["rehearse", *told]) == 1
    assert "dome_open@90000: the record ends before its time" in capsys.readouterr().out
    assert "Injected fault" not in (folder / "report.html").read_text(encoding="utf-8")
    assert main(["report", str(folder)]) == 0
    assert "FAULT NEVER CAME" in capsys.readouterr().out
