"""`tizzone report --history` as a person types it, and the page of an evening that looks back on the one before."""

import json
import re
import shutil

import pytest

from host.mains.example import EXAMPLE
from tools.__main__ import main

pytestmark = pytest.mark.slow


def refused(capsys, *arguments):
    """Run, expect refusal; -> the one line."""
    assert main(["report", *map(str, arguments)]) == 2
    out, err = capsys.readouterr()
    assert out == "" and err.count("\n") == 1 and err.startswith("tizzone report: ")
    return err


def test_history_with_a_weak_element_ends_with_1_and_says_so(folder, tmp_path, capsys):
    page = tmp_path / "page.html"
    assert main(["report", "--history", str(folder), "--out", str(page)]) == 1
    out = capsys.readouterr().out
    assert "CHANGE: The elements give less heat, by -" in out
    assert "Measure the mains voltage" in out and "since 20260312-190000-hall" in out
    assert "Top relay: 8,000 switchings, 500 an evening; solid state, no life by switching" in out
    assert "Contactor: 32 of 1,000,000 switchings, 2 an evening, more than 1,000 evenings left" in out
    text = page.read_text(encoding="utf-8")
    assert text.count("<svg") == 2 and "The elements give less heat" in text
    assert not re.search(r"(?:src|href)=\"(?!#)|<script|https?://(?!www\.w3\.org)", text)


def test_history_of_healthy_evenings_ends_with_0(folder, tmp_path, capsys):
    for path in sorted(folder.glob("202603*"))[:10]:
        shutil.copytree(path, tmp_path / path.name)
    shutil.copytree(tmp_path / "20260301-190000-hall", tmp_path / "20260320-190000-hall")
    assert main(["report", "--history", str(tmp_path)]) == 0
    assert "Nothing found" in capsys.readouterr().out
    assert (tmp_path / "history.html").is_file()


def test_history_json_is_for_machines(folder, tmp_path, capsys):
    assert main(["report", "--history", str(folder), "--json", "--out", str(tmp_path / "p.html")]) == 1
    told = json.loads(capsys.readouterr().out)
    assert told["findings"][0]["code"] == "element_weak" and told["findings"][0]["size_pct"] < -15
    assert len(told["evenings"]) == 16 and told["evenings"][0]["date"] == "2026-03-01T19:00:00"
    assert {one["zone"] for one in told["relays"]} == {"top", "deck", "contactor"}


def test_history_unusable_is_one_line(folder, tmp_path, capsys):
    assert "no such folder" in refused(capsys, "--history", tmp_path / "none")
    assert "no evening that can be used" in refused(capsys, "--history", tmp_path)
    assert "one of them" in refused(capsys)
    assert "one of them" in refused(capsys, folder, "--history", folder)
    assert "YYYY-MM-DD" in refused(capsys, "--history", folder, "--since", "spring")
    assert "no evening" in refused(capsys, "--history", folder, "--since", "2027-01-01")
    assert "--relay-life" in refused(capsys, "--history", folder, "--relay-life", "-1")
    assert "cannot be written" in refused(capsys, "--history", folder, "--out", tmp_path / "no" / "page.html")


@pytest.mark.parametrize(
    "evening,before", [("20260302-190000-hall", "20260301-190000-hall"), ("20260301-190000-hall", None)]
)
def test_page_of_an_evening_compares_with_the_run_before(folder, tmp_path, capsys, evening, before):
    out = tmp_path / "page.html"
    assert main(["report", str(folder / evening), "--json", "--out", str(out)]) == 0
    told = json.loads(capsys.readouterr().out)["since_last"]
    text = out.read_text(encoding="utf-8")
    if before is None:
        assert told is None and "What changed" not in text
    else:
        assert told["run"] == before and f"What changed since the last: {before}" in text
        assert "Preheat 100 to 200" in text


def test_page_of_the_first_weak_evening_says_that_the_change_is_more_than_scatter(folder, tmp_path, capsys):
    main(["report", str(folder / "20260312-190000-hall"), "--json", "--out", str(tmp_path / "p.html")])
    lines = json.loads(capsys.readouterr().out)["since_last"]["lines"]
    (rise,) = [line for line in lines if line[0].startswith("Preheat 100")]
    assert re.match(r"\+[3-5]\d %: more than one evening's scatter", rise[3])


def test_history_counts_the_life_of_the_parts_in_the_sheet(folder, tmp_path, capsys):
    sheet = tmp_path / "hall.toml"
    sheet.write_text(EXAMPLE.replace('kind = "ssr"', 'kind = "relay"\noperations = 9000'), encoding="utf-8")
    said = ["report", "--history", str(folder), "--out", str(tmp_path / "p.html"), "--sheet"]
    assert main([*said, str(sheet)]) == 1
    out = capsys.readouterr().out
    assert "Top relay: 8,000 of 9,000 switchings, 500 an evening, about 2 evenings left" in out
    assert "Top relay near the end of its life by count" in out
    assert main([*said, str(tmp_path / "none.toml")]) == 2
    assert "cannot be read" in capsys.readouterr().err


def marked(folder, root, name, **stored):
    """A copy of an evening under another name, with more in its summary."""
    shutil.copytree(folder / "20260301-190000-hall", root / name)
    path = root / name / "summary.json"
    path.write_text(json.dumps({**json.loads(path.read_text(encoding="utf-8")), **stored}), encoding="utf-8")


@pytest.fixture
def mixed(folder, tmp_path):
    """Nine real evenings of the hall's board, and what does not belong to them."""
    for path in sorted(folder.glob("202603*"))[:9]:
        marked(folder, tmp_path, path.name, board="hall")
    marked(folder, tmp_path, "20260320-190000-old")  # from before the board's name was kept
    marked(folder, tmp_path, "20260321-190000-spare", board="spare")
    marked(folder, tmp_path, "20260322-190000-practice", board="hall", simulated=True)
    for day in range(10):
        marked(folder, tmp_path, f"202604{day + 10}-120000-standard", runtime="cpython", oven="standard")
    marked(folder, tmp_path, "20260421-120000-fault", runtime="cpython", oven="standard", faults=["dome_open@60"])
    return tmp_path


def test_history_keeps_rehearsals_other_ovens_and_injected_faults_apart(mixed, capsys):
    assert main(["report", "--history", str(mixed), "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert {(one["kind"], one["oven"]) for one in told["evenings"]} == {("real evening", "hall")}
    remarks = "\n".join(told["remarks"])
    assert len(told["evenings"]) == 9 and "1 with an injected fault, left out" in remarks
    assert "10 rehearsals of 'standard', kept apart" in remarks and "1 real evening of 'spare', kept apart" in remarks
    assert "1 evening of a practice board of 'hall', kept apart" in remarks
    assert "1 real evening without a board's name, kept apart" in remarks  # of two boards it may be either's


def test_history_of_one_board_takes_in_its_nights_from_before_names_were_kept(mixed, capsys):
    shutil.rmtree(mixed / "20260321-190000-spare")
    main(["report", "--history", str(mixed), "--json"])
    evenings = json.loads(capsys.readouterr().out)["evenings"]
    assert len(evenings) == 10 and [one["date"] for one in evenings] == sorted(one["date"] for one in evenings)


def test_history_of_a_named_oven_and_of_one_that_is_not_there(mixed, capsys):
    assert main(["report", "--history", str(mixed), "--oven", "standard"]) == 0
    assert "no real evening here: 10 rehearsals of 'standard'" in capsys.readouterr().out
    assert main(["report", "--history", str(mixed), "--oven", "cellar"]) == 2
    assert "there are: " in capsys.readouterr().err


def test_page_of_a_real_night_is_not_compared_with_a_rehearsal_before_it(folder, tmp_path, capsys):
    marked(folder, tmp_path, "20260301-190000-hall", board="hall")
    marked(folder, tmp_path, "20260302-190000-standard", runtime="cpython", oven="standard")
    marked(folder, tmp_path, "first", board="hall", started="2026-03-03T19:00:00")
    main(["report", str(tmp_path / "first"), "--json"])
    assert json.loads(capsys.readouterr().out)["since_last"]["run"] == "20260301-190000-hall"
    main(["report", str(tmp_path / "20260302-190000-standard"), "--json"])
    assert json.loads(capsys.readouterr().out)["since_last"] is None


def test_history_of_few_evenings_does_not_say_that_nothing_has_changed(folder, tmp_path, capsys):
    marked(folder, tmp_path, "20260301-190000-hall")
    assert main(["report", "--history", str(tmp_path)]) == 0
    out = capsys.readouterr().out
    assert "Nothing can be said yet" in out and "Nothing found" not in out
    assert "Nothing can be said yet" in (tmp_path / "history.html").read_text(encoding="utf-8")
