"""The record of an evening to keep: what it says comes from the run, and no file of a person's is lost."""

import json

import numpy as np
import pytest

from host.files import kinds
from host.runs import evening, notes
from host.runs.recording import DTYPE, Run, write_run
from tests.report.test_page import Tags
from tools.__main__ import main

LAID_S, OUT_S = (600.0, 900.0), (690.0, 1000.0)
STONE_C = {600: 431.0, 690: 401.0, 900: 425.0, 1000: 399.0}


def made():
    """(rows, events) of two breads, a stone that is known, the cook's word about the first."""
    rows = np.zeros(1200, DTYPE)
    rows["t_s"] = np.arange(1200)
    rows["pv_c"] = rows["dome_c"] = rows["setpoint_c"] = 450.0
    rows["stone_c"] = np.interp(rows["t_s"], list(STONE_C), list(STONE_C.values()))
    rows["state"], rows["stage"] = "running", "recover"
    for laid_s, out_s in zip(LAID_S, OUT_S, strict=True):
        rows["stage"][(rows["t_s"] >= laid_s) & (rows["t_s"] < out_s)] = "bake"
    events = [{"t_s": 600.0, "kind": "load", "text": "90 s"}, {"t_s": 900.0, "kind": "load", "text": "90 s"},
              {"t_s": 700.0, "kind": "person", "text": "verdict pale right: ok share=54"}]  # fmt: skip
    return rows, events


@pytest.fixture
def folder(tmp_path):
    """A run folder of a club night that began at half past seven."""
    write_run(tmp_path / "club-night", *made(), {"title": "Club night", "started": "2026-11-24T19:30:00"})
    return tmp_path / "club-night"


def test_each_bread_has_its_times_stone_and_word(folder):
    kept = evening.of_run(folder)
    assert kept.began == "2026-11-24 19:30"
    assert kept.rows == [
        ("1", "19:40", "19:41", "90 s", "431 °C", "401 °C", "top pale, base right", "-"),
        ("2", "19:45", "19:46", "100 s", "425 °C", "399 °C", "-", "-"),
    ]
    assert dict(kept.figures)["Breads laid"] == "2"


def test_without_a_clock_times_count_from_the_start(folder):
    (folder / "summary.json").write_text("{}", encoding="utf-8")
    kept = evening.of_run(folder)
    assert kept.began == "" and kept.rows[0][1:3] == ("10:00 min", "11:30 min")


def test_fahrenheit_is_shown_where_it_is_asked_for(folder):
    assert evening.of_run(folder, unit="F").rows[0][4:6] == ("808 °F", "754 °F")  # NIST SP 811, B.8


def test_boards_own_book_stands_before_what_the_laptop_saw(folder):
    line = "n={} at_s=600 stone_c={} sag_k=33 bake_s={} dome_c=449 dome_sag_k=60 share=54 top={} base={} notes=none"
    lines = [line.format(1, 428, 91, "dark", "right"), line.format(2, 420, 99, "none", "none")]
    (folder / evening.BOOK).write_text(json.dumps({"breads": lines}), encoding="utf-8")
    rows = evening.of_run(folder).rows
    assert rows[0][3:7] == ("91 s", "428 °C", "395 °C", "top dark, base right")
    assert rows[1][3:7] == ("99 s", "420 °C", "387 °C", "-")


@pytest.mark.parametrize("text", ["[]", "{", '{"breads": [1]}', '{"breads": ["n=1"]}', '{"breads": []}x',
                                  '{"breads": ["stone_c=1 sag_k=1 bake_s=1 top=none base=none"]}'])  # fmt: skip
def test_strange_book_is_not_used_and_said(folder, text):
    (folder / evening.BOOK).write_text(text, encoding="utf-8")
    kept = evening.of_run(folder)
    assert kept.rows[0][4] == "431 °C" and "is not used" in kept.remarks[0]


def test_record_without_stages_has_the_load_events():
    rows, events = made()
    rows["stage"] = ""
    found = evening.breads(Run(rows, events, None, []), [])
    assert [(one["laid_s"], one["out_s"], one["before_c"], one["after_c"]) for one in found] == [
        (600.0, None, 431.0, None), (900.0, None, 425.0, None),
    ]  # fmt: skip


def test_record_that_ends_in_a_bake_or_begins_in_one_is_told_as_far_as_it_goes():
    rows, events = made()
    cut = evening.bakes(Run(rows[620:950], events, None, []), rows["t_s"][620:950])
    assert cut == [(620.0, 690.0), (900.0, None)]


def test_photographs_stand_with_their_bread_or_with_the_evening(folder):
    kept = evening.of_run(folder, ["group.jpg", "2:torn.jpg", "2:torn again.jpg", "C:pic.jpg"])
    assert kept.rows[1][-1] == "torn.jpg, torn again.jpg" and kept.photos == ["group.jpg", "C:pic.jpg"]
    assert "| torn.jpg, torn again.jpg |" in evening.markdown(kept) and "- group.jpg" in evening.markdown(kept)
    assert "photographs" not in evening.markdown(evening.of_run(folder))  # no empty column


@pytest.mark.parametrize("photo", ["3:x.jpg", "0:x.jpg", "1:"])
def test_photograph_of_no_bread_is_one_line_and_nothing_is_written(folder, capsys, photo):
    assert main(["evening", str(folder), "--photo", photo]) == 2
    assert "breads 1 to 2 were laid" in capsys.readouterr().err
    assert not (folder / "evening.md").exists()


def test_page_is_one_whole_file_that_reaches_nowhere_and_escapes(folder):
    notes.add(folder, "dough <62> %", 650.0)
    kept = evening.of_run(folder, ["<b>.jpg"], title="Club & night")
    tags = Tags(evening.page(kept))
    assert tags.open == [] and not tags.links
    text = evening.page(kept)
    assert "dough &lt;62&gt; %" in text and "&lt;b&gt;.jpg" in text and "Club &amp; night" in text
    assert "licensed electrician" in text and "licensed electrician" in evening.markdown(kept)


def test_trip_of_the_evening_is_not_left_out(folder):
    with (folder / "events.jsonl").open("a", encoding="utf-8") as file:
        file.write('{"t_s": 1100.0, "kind": "trip", "value": "probe-open"}\n')
    kept = evening.of_run(folder)
    assert "**trip at 18:20 min: Dome probe is open." in evening.markdown(kept)
    assert "Dome probe is open." in evening.page(kept)


def test_command_writes_both_and_makes_its_own_again(folder, capsys, tmp_path):
    words = ["evening", str(folder), "--page", str(tmp_path / "night.html")]
    assert main(words) == 0
    first = (folder / "evening.md").read_text(encoding="utf-8")
    assert main([*words, "--photo", "1:one.jpg"]) == 0  # no hand has been in it
    assert (folder / "evening.md").read_text(encoding="utf-8") != first
    assert kinds.kind_of(folder / "evening.md") == kinds.EVENING
    assert kinds.kind_of(tmp_path / "night.html") == kinds.EVENING_PAGE
    assert "19:40" in capsys.readouterr().out
    assert main([*words, "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["breads"][0]["the cook's word"] == "top pale, base right"


@pytest.mark.parametrize("name", ["evening.md", "night.html"])
def test_file_of_another_kind_or_a_persons_own_words_are_kept(folder, capsys, tmp_path, name):
    words = ["evening", str(folder), "--out", str(tmp_path / "evening.md"), "--page", str(tmp_path / "night.html")]
    assert main(words) == 0
    path = tmp_path / name
    mine = (
        path.read_text(encoding="utf-8") + "More salt next time.\n" if name == "evening.md" else "<p>another page</p>"
    )
    path.write_text(mine, encoding="utf-8")
    other = tmp_path / ({"evening.md", "night.html"} - {name}).pop()
    before = other.read_bytes()
    assert main([*words, "--title", "Changed"]) == 2
    assert "--force" in capsys.readouterr().err
    assert path.read_text(encoding="utf-8") == mine and other.read_bytes() == before
    assert main([*words, "--title", "Changed", "--force"]) == 0
    assert "Changed" in path.read_text(encoding="utf-8")


def test_evening_without_breads_says_so(folder):
    rows, _ = made()
    rows["stage"] = "soak"
    (folder / "events.jsonl").write_text("", encoding="utf-8")
    (folder / "run.csv").unlink()
    for path in list(folder.iterdir()):
        path.unlink()
    write_run(folder, rows, [])
    kept = evening.of_run(folder)
    assert "None laid." in evening.markdown(kept) and "None laid." in evening.page(kept)
