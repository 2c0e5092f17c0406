"""Notes of a cook: typed afterwards or in the live view, in the report, in its picture and beside another run's."""

import json
import re

import pytest

from host.errors import HostError, InputError
from host.runs import notes, picture
from host.runs.recording import write_run
from host.runs.report import page, summarise
from tools.__main__ import main


@pytest.fixture
def folder(tmp_path, night):
    """A run folder that has ended."""
    rows, events = night
    write_run(tmp_path / "club-night", rows[::10], events, {"title": "Club night"})
    return tmp_path / "club-night"


@pytest.mark.parametrize(
    ("text", "s"),
    [("0:00", 0), ("47:57", 2877), ("1:03:10", 3790), ("90:00", 5400), (" 2:03:10 h ", 7390), ("5:07 min", 307)],
)
def test_time_is_read_as_the_report_says_it(text, s):
    assert notes.seconds_of(text) == s


@pytest.mark.parametrize("text", ["", "12", "1:60", "1:61:00", "-1:00", "a:10", "1:2", "1:02:3", "1:02:03:04"])
def test_what_is_no_time_is_refused_with_what_to_say(text):
    with pytest.raises(InputError, match="say 1:03:10"):
        notes.seconds_of(text)


def test_note_is_one_line_of_letters_that_can_be_read():
    assert notes.cleaned("  dough\t62 %\n\x1b[31m\x00 ") == "dough 62 % [31m"
    assert notes.cleaned("é" * 200) == "é" * 200
    for text in ("", " \n\t", "x" * 201):
        with pytest.raises(InputError):
            notes.cleaned(text)


def test_notes_come_back_in_the_order_of_time_with_their_letters(folder):
    notes.add(folder, "dough 62 %")
    notes.add(folder, "third one torn", 4200.0)
    notes.add(folder, "smoke", 100.5)
    events = [{"t_s": 3000.0, "kind": "note", "text": "typed while it was recorded"}, {"t_s": 1.0, "kind": "load"}]
    found = notes.notes_of(folder, events, [])
    assert [(one.letter, one.t_s, one.text) for one in found] == [
        ("a", 100.5, "smoke"), ("b", 3000.0, "typed while it was recorded"), ("c", 4200.0, "third one torn"),
        ("d", None, "dough 62 %"),
    ]  # fmt: skip
    assert [notes.letter_of(n) for n in (0, 25, 26, 51, 52)] == ["a", "z", "aa", "az", "ba"]


def test_cut_or_strange_line_is_left_out_with_a_word_and_stays_in_the_file(folder):
    notes.add(folder, "dough 62 %")
    path = folder / notes.FILE
    with path.open("ab") as file:
        file.write(b'{"t_s": 12, "text": "cut in the mi\xff')
    notes.add(folder, "after the cut")
    assert b"cut in the mi\xff\n" in path.read_bytes()
    path.write_bytes(path.read_bytes() + b'[1]\n{"t_s": "x", "text": "y"}\n{"t_s": NaN, "text": "y"}\n{"t_s": 1}\n\n')
    remarks = []
    assert [one.text for one in notes.notes_of(folder, [], remarks)] == ["dough 62 %", "after the cut"]
    assert len(remarks) == 5 and all("left out" in remark for remark in remarks)


def test_note_never_goes_into_a_file_of_another_kind(folder):
    (folder / notes.FILE).write_text("my own list\n", encoding="utf-8")
    with pytest.raises(HostError, match="did not write"):
        notes.add(folder, "dough 62 %")
    assert (folder / notes.FILE).read_text(encoding="utf-8") == "my own list\n"


def test_command_writes_lists_and_leaves_the_run_as_it_was(folder, capsys):
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    assert main(["note", str(folder), "dough 62 %"]) == 0
    assert main(["note", str(folder), "third one torn", "--at", "1:10:00"]) == 0
    assert main(["note", str(folder), "long after", "--at", "9:00:00"]) == 0
    out = capsys.readouterr().out
    assert "note a at 1:10:00 h: third one torn" in out and "note c: dough 62 %" in out
    assert "b is later than the record" in out
    assert {name: (folder / name).read_bytes() for name in before} == before
    assert main(["note", str(folder), "--json"]) == 0
    assert [one["t_s"] for one in json.loads(capsys.readouterr().out)["notes"]] == [4200.0, 32400.0, None]


def test_note_into_a_run_that_is_being_recorded_is_at_its_newest_row(folder, capsys):
    (folder / "summary.json").unlink()
    assert main(["note", str(folder), "just now"]) == 0
    assert "note a at 2:29:50 h: just now" in capsys.readouterr().out  # row 8990 of a record every ten seconds


@pytest.mark.parametrize("words", [["absent", "text"], [".", "text"], ["RUN", ""], ["RUN", "text", "--at", "noon"]])
def test_wrong_use_is_one_line_and_writes_nothing(folder, capsys, words, monkeypatch):
    monkeypatch.chdir(folder.parent)
    assert main(["note", *(word.replace("RUN", "club-night") for word in words)]) == 2
    assert capsys.readouterr().err.count("\n") == 1
    assert not (folder / notes.FILE).exists()


def test_report_shows_each_note_in_words_and_its_letter_in_the_picture(night):
    rows, events = night
    kept = [notes.Note(4000.0, "third <one> torn", "a"), notes.Note(None, "dough 62 %", "b"),
            notes.Note(99_999.0, "too late", "c")]  # fmt: skip
    text = page(rows, events, summarise(rows, events), notes=kept)
    assert "third &lt;one&gt; torn" in text and "dough 62 %" in text and "1:06:40 h" in text
    for shape in ("wide", "narrow"):
        svg = re.search(rf'<svg class="{shape}".*?</svg>', text, re.DOTALL).group()
        assert len(re.findall(r">\s*a\s*</text>", svg)) == 1
        assert not re.findall(r">\s*[bc]\s*</text>", svg)  # of no time, and beyond the record


def test_report_command_tells_the_notes(folder, capsys):
    notes.add(folder, "dough 62 %")
    assert main(["report", str(folder)]) == 0
    assert "note a: dough 62 %" in capsys.readouterr().out
    assert "dough 62 %" in (folder / "report.html").read_text(encoding="utf-8")


def test_report_in_fahrenheit_converts_temperatures_and_differences(folder, capsys):
    assert main(["report", str(folder), "--fahrenheit"]) == 0
    out = capsys.readouterr().out
    assert "Highest setpoint            842 °F" in out  # 450 °C: NIST SP 811, B.8
    assert re.search(r"Steady band, peak to peak +\d\.\d °F", out) and "°C" not in out and " K" not in out
    text = (folder / "report.html").read_text(encoding="utf-8")
    assert "temperature, °F" in text and "°C" not in text


def test_report_of_a_run_whose_board_showed_fahrenheit_does_so_unasked(folder, capsys):
    (folder / "summary.json").write_text('{"unit": "F"}', encoding="utf-8")
    assert main(["report", str(folder)]) == 0
    assert "842 °F" in capsys.readouterr().out


@pytest.mark.parametrize(("kelvin", "unit", "text"), [(5, "C", "5 K"), (5, "F", "9 °F"), (0.0, "F", "0 °F")])
def test_difference_has_no_offset(kelvin, unit, text):
    assert picture.difference(kelvin, unit) == text
