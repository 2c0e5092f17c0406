"""`tizzone report` as a person types it: exit codes, one line for what cannot be used, nothing lost."""

import json

import pytest

from host.runs.recording import write_run
from tools.__main__ import main


@pytest.fixture
def folder(tmp_path, plain_night):
    """A run folder as the rehearsal leaves it: eleven columns, figures of its own in the summary."""
    rows, events = plain_night
    stored = {"energy_kwh": 2.75, "top_switchings": 500, "title": "Club night", "about": ["oven standard"]}
    write_run(tmp_path / "club-night", rows[::10], events, stored)  # one row in ten is enough here
    return tmp_path / "club-night"


def refused(capsys, *arguments):
    """Run, expect refusal; -> the one line."""
    assert main(["report", *map(str, arguments)]) == 2
    out, err = capsys.readouterr()
    assert out == ""
    assert err.count("\n") == 1 and err.startswith("tizzone report: ")
    return err


def test_report_of_a_run_prints_the_table_and_writes_the_page(folder, capsys):
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    assert main(["report", str(folder)]) == 0
    out, err = capsys.readouterr()
    assert err == ""
    assert "Time to setpoint            33:00 min" in out
    assert "Energy                      2.75 kWh" in out
    assert "Top relay switched on       500 ×" in out
    assert out.splitlines()[-2] == f"page: {folder / 'report.html'}" and out.splitlines()[-1].startswith("next: ")
    text = (folder / "report.html").read_text(encoding="utf-8")
    assert "Club night" in text and "oven standard" in text
    assert {name: (folder / name).read_bytes() for name in before} == before


def test_report_json_is_for_machines(folder, tmp_path, capsys):
    out_file = tmp_path / "page.html"
    assert main(["report", str(folder), "--json", "--out", str(out_file)]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["breads"] == 3 and told["to_setpoint_s"] == 1980.0
    assert told["page"] == str(out_file) and told["remarks"] == []
    assert out_file.is_file() and not (folder / "report.html").exists()


@pytest.mark.slow
def test_report_of_a_cut_run_says_so_and_goes_on(folder, capsys):
    path = folder / "run.csv"
    path.write_bytes(path.read_bytes()[:10_003])
    assert main(["report", str(folder)]) == 0
    out = capsys.readouterr().out
    assert out.startswith("note: run.csv: cut in line")
    assert "cut in line" in (folder / "report.html").read_text(encoding="utf-8")


def test_report_missing_folder_is_one_line(tmp_path, capsys):
    assert "no such folder" in refused(capsys, tmp_path / "absent")


def test_report_folder_without_run_is_one_line(tmp_path, capsys):
    assert "no run here" in refused(capsys, tmp_path)


def test_report_foreign_file_is_one_line(folder, capsys):
    (folder / "run.csv").write_text("date;celsius\n1;2\n", encoding="utf-8")
    assert "not a run of ours" in refused(capsys, folder)
    assert not (folder / "report.html").exists()


def test_report_empty_file_is_one_line(folder, capsys):
    (folder / "run.csv").write_bytes(b"")
    assert "empty" in refused(capsys, folder)


@pytest.mark.slow
def test_report_page_that_cannot_be_written_is_one_line(folder, tmp_path, capsys):
    assert "cannot be written" in refused(capsys, folder, "--out", tmp_path / "absent" / "page.html")


@pytest.mark.slow
def test_report_odd_stored_figures_are_not_believed(folder, capsys):
    (folder / "summary.json").write_text('{"energy_kwh": "much", "top_switchings": true, "about": 7}', encoding="utf-8")
    assert main(["report", str(folder)]) == 0
    assert "Energy                      no figure" in capsys.readouterr().out


def test_report_help_shows_an_example(capsys):
    with pytest.raises(SystemExit) as caught:
        main(["report", "--help"])
    assert caught.value.code == 0
    assert "tizzone report runs/club-night" in capsys.readouterr().out


def test_two_runs_stand_side_by_side(folder, capsys, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    out = tmp_path / "both.html"
    assert main(["report", str(folder), str(folder), "--out", str(out)]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert lines[0].split() == ["club-night", "club-night"]
    assert any(line.split("  ")[0] == "Energy" and line.count("2.75 kWh") == 2 for line in lines)
    assert out.read_text(encoding="utf-8").count('class="figure"') == 2 * (
        len(lines) - 3
    )  # but the heads, the page's name and the next step
    assert not (folder / "report.html").exists()
    assert main(["report", str(folder), str(folder), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["runs"] == ["club-night", "club-night"]


def test_two_runs_and_a_history_are_refused(folder, capsys):
    refused(capsys, folder, folder, "--history", folder)
    refused(capsys, folder, folder, "--relay-life", "0")
    refused(capsys, folder, folder / "nowhere")
