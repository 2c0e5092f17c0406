"""Run folders: what was written comes back; what was cut is said; what is foreign is refused."""

import json
import math

import numpy as np
import pytest

from host.runs.recording import (
    COLUMNS,
    DTYPE,
    RecordingError,
    RunWriter,
    read_run,
    write_run,
)


@pytest.fixture
def folder(tmp_path, night):
    """A whole run folder of a short evening."""
    rows, events = night
    write_run(tmp_path / "run", rows[:40], events, {"energy_kwh": 2.5, "odd": math.nan})
    return tmp_path / "run"


def test_recording_whole_run_comes_back_as_it_was(folder, night):
    rows, events = night
    run = read_run(folder)
    assert run.remarks == []
    assert run.events == events
    assert run.summary == {"energy_kwh": 2.5, "odd": None}
    for name in DTYPE.names:
        if DTYPE[name].kind == "f":
            np.testing.assert_allclose(run.rows[name], rows[name][:40], atol=0.0005)
        else:
            assert (run.rows[name] == rows[name][:40]).all()


def test_recording_header_names_the_units_of_every_column(folder):
    header = (folder / "run.csv").read_text(encoding="utf-8").splitlines()[0]
    assert header == ",".join(DTYPE.names)
    assert COLUMNS == (
        "t_s", "dome_c", "stone_c", "pv_c", "setpoint_c", "out_pct", "heat_top", "heat_deck", "permit",
        "state", "trip",
    )  # fmt: skip


def test_recording_row_is_on_disk_before_the_next_comes(tmp_path):
    writer = RunWriter(tmp_path / "run")
    for second in range(3):
        writer.row({"t_s": second, "pv_c": 20.0, "permit": 0})
        writer.event({"t_s": second, "kind": "start", "np": np.float32(1.5)})
        # read while the writer is still open, as after the laptop's battery ran out
        assert len(read_run(tmp_path / "run").rows) == second + 1
        assert len(read_run(tmp_path / "run").events) == second + 1
    writer.close()


@pytest.mark.slow
def test_recording_cut_at_every_byte_gives_the_whole_lines_and_a_word(folder):
    path = folder / "run.csv"
    data = path.read_bytes()
    head = data.index(b"\n") + 1
    for size in range(head, head + 400):
        path.write_bytes(data[:size])
        run = read_run(folder)
        assert len(run.rows) == data[:size].count(b"\n") - 1
        is_cut = not data[:size].endswith(b"\n")
        assert [("cut in line" in remark) for remark in run.remarks] == [True] * is_cut


def test_recording_events_cut_at_every_byte_keep_the_whole_lines(folder):
    path = folder / "events.jsonl"
    data = path.read_bytes()
    for size in range(len(data)):
        path.write_bytes(data[:size])
        run = read_run(folder)
        assert len(run.events) == data[:size].count(b"\n")


def test_recording_damaged_end_is_left_out_with_a_word(folder):
    path = folder / "run.csv"
    data = path.read_bytes()
    lines = data.count(b"\n")
    path.write_bytes(data[:-20] + b"\0" * 20 + b"\n")  # a last block that reads as zeros
    run = read_run(folder)
    assert len(run.rows) == lines - 2
    assert run.remarks == [f"run.csv: damaged from line {lines} on; read up to line {lines - 1}"]


@pytest.mark.parametrize(
    ("line", "said"),
    [
        ("5,x", "2 fields where the header has"),
        ("5,20,20,hot,0,0,0,0,0,idle,,31.5,0,0,,", "line 7: pv_c is 'hot', not a number"),
        ("5,20,20,inf,0,0,0,0,0,idle,,31.5,0,0,,", "pv_c is 'inf'"),
        ("5,20,20,20,0,0,0,0,2,idle,,31.5,0,0,,", "permit is '2'"),
        ("5,20,20,20,0,0,0,0,,idle,,31.5,0,0,,", "permit is '', not a number"),
        ("1,20,20,20,0,0,0,0,0,idle,,31.5,0,0,,", "t_s is missing or goes back"),
        (",20,20,20,0,0,0,0,0,idle,,31.5,0,0,,", "t_s is missing or goes back"),
    ],
)
def test_recording_damage_in_the_middle_is_one_clear_line(folder, line, said):
    path = folder / "run.csv"
    lines = path.read_text(encoding="utf-8").splitlines()
    lines[6] = line
    path.write_text("\n".join(lines) + "\n", encoding="utf-8")
    with pytest.raises(RecordingError) as caught:
        read_run(folder)
    assert "run.csv: line" in str(caught.value)
    assert said in str(caught.value)
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "empty, no header line"),
        (b"t_s,pv_c", "empty, no header line"),
        (b"\n", "not a run of ours"),
        (b"date;celsius\n1;2\n", "not a run of ours (no column t_s)"),
        (b"t_s,pv_c,setpoint_c\n1,2,3\n", "not a run of ours (no column out_pct)"),
        (bytes(range(256)) * 20, "not a run of ours"),
        (b'"' * 9 + b"\n", "not a run of ours"),
        (b"x" * 200_000 + b"\n", "not a run of ours"),
    ],
)
def test_recording_foreign_file_is_one_clear_line(folder, content, said):
    (folder / "run.csv").write_bytes(content)
    with pytest.raises(RecordingError) as caught:
        read_run(folder)
    assert said in str(caught.value)
    assert "\n" not in str(caught.value)


def test_recording_header_alone_is_a_run_without_rows(folder):
    header = (folder / "run.csv").read_text(encoding="utf-8").splitlines()[0]
    (folder / "run.csv").write_text(header + "\n", encoding="utf-8")
    assert len(read_run(folder).rows) == 0


def test_recording_missing_folder_and_missing_run_are_told_apart(tmp_path):
    with pytest.raises(RecordingError, match="no such folder"):
        read_run(tmp_path / "absent")
    with pytest.raises(RecordingError, match=r"no run here \(run.csv is missing\)"):
        read_run(tmp_path)


def test_recording_missing_or_damaged_companions_are_said_and_the_rows_kept(folder):
    (folder / "summary.json").write_text("{", encoding="utf-8")
    (folder / "events.jsonl").unlink()
    run = read_run(folder)
    assert len(run.rows) == 40
    assert run.summary is None
    assert any("events.jsonl: missing" in remark for remark in run.remarks)
    assert any("summary.json: damaged" in remark for remark in run.remarks)
    (folder / "summary.json").unlink()
    assert len(read_run(folder).remarks) == 1


@pytest.mark.parametrize("line", ["nonsense", "[]", '{"kind": "x"}', '{"t_s": "late"}', '{"t_s": NaN}', "[" * 9000])
def test_recording_foreign_event_is_refused_in_the_middle_and_left_out_at_the_end(folder, line):
    path = folder / "events.jsonl"
    whole = path.read_text(encoding="utf-8")
    path.write_text(whole + line + "\n", encoding="utf-8")
    run = read_run(folder)
    assert len(run.events) == whole.count("\n")
    assert "damaged and left out" in run.remarks[0]
    path.write_text(line + "\n" + whole, encoding="utf-8")
    with pytest.raises(RecordingError, match="events.jsonl: line 1: not an event of ours"):
        read_run(folder)


def test_recording_columns_of_others_are_ignored_and_missing_ones_are_unknown(folder):
    path = folder / "run.csv"
    text = "\ufefft_s,pv_c,setpoint_c,out_pct,heat_top,heat_deck,moon\r\n"
    text += "0,20,450,100,1,1,full\r\n1,,450,100,1,1,new\r\n"
    path.write_bytes(text.encode("utf-8"))  # as a spreadsheet saves it
    rows = read_run(folder).rows
    assert "moon" not in rows.dtype.names
    assert rows["pv_c"][0] == 20 and math.isnan(rows["pv_c"][1])
    assert np.isnan(rows["stone_c"]).all() and (rows["trip"] == "").all()


def test_recording_second_run_into_the_same_folder_is_refused_and_loses_nothing(folder, night):
    before = (folder / "run.csv").read_bytes()
    with pytest.raises(RecordingError, match="holds a run already"):
        write_run(folder, *night)
    assert (folder / "run.csv").read_bytes() == before


def test_recording_place_that_cannot_be_written_is_one_line(tmp_path):
    (tmp_path / "file").write_text("", encoding="utf-8")
    with pytest.raises(RecordingError, match="cannot be written|holds a run already"):
        RunWriter(tmp_path / "file" / "run")
    with pytest.raises(RecordingError, match="needs the column t_s"):
        RunWriter(tmp_path / "run", ("pv_c",))


def test_recording_words_with_commas_quotes_and_accents_come_back(tmp_path):
    with RunWriter(tmp_path / "run") as writer:
        for second, word in enumerate(['high, "limit"', "é\n°", ""]):
            writer.row({**dict.fromkeys(COLUMNS, 0), "t_s": second, "trip": word, "permit": True})
        writer.finish({"about": ["é"]})
    run = read_run(tmp_path / "run")
    assert list(run.rows["trip"]) == ['high, "limit"', "é °", ""]
    assert (run.rows["permit"] == 1).all()
    written = json.loads((tmp_path / "run" / "summary.json").read_text(encoding="utf-8"))
    assert written == {"tizzone": "figures of a run", "about": ["é"]} and run.summary == {"about": ["é"]}
