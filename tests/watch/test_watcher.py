"""The live view against a simulated board: what it shows, records and survives."""

import io
import json
import re

import numpy as np
import pytest
from watch_boards import Ticking, Unplugged, simulated

from host.faults import library
from host.files.writing import NotWritten
from host.link import LinkError, replies
from host.link.replies import in_unit
from host.runs.notes import notes_of
from host.runs.recording import read_run
from host.watch import screen
from host.watch.keys import Keys, celsius
from host.watch.plot import lines as plot_lines
from host.watch.record import Recorder, pull
from host.watch.stuck import Stuck, slope_k_s
from host.watch.watcher import Watcher
from tools.__main__ import main
from tools.watch import told_on_leaving


def watching(client=None, recorder=None):
    client = client or simulated()
    return Watcher(lambda: client, client, recorder, wall=Ticking(0.1)), client


def text_of(watcher):
    parts = [*screen.head(watcher.view, 0.0), *screen.side(watcher.view)]
    return "\n".join(text for text, _ in parts)


def test_view_shows_what_the_board_itself_reports():
    watcher, client = watching()
    client.ask("start")
    client.wait(60)
    assert watcher.poll()
    before_c = client.rehearsal.board.report[0] / 1000
    assert watcher.poll()
    after_c = client.rehearsal.board.report[0] / 1000  # each question took a tick, and the oven is heating
    now = watcher.view["status"]
    assert before_c - 0.5 <= now["pv_c"] <= after_c + 0.5 and after_c - before_c < 3.0
    assert (now["setpoint_c"], now["out_pct"], now["heat_top"], now["contactor"]) == (200.0, 100.0, 1, 1)
    text = text_of(watcher)
    assert "RUNNING / preheat" in text and "setpoint 200 °C" in text and "top ON" in text and "CLOSED" in text


@pytest.mark.parametrize(
    ("do", "name", "remedy"),
    [
        (lambda outside: setattr(outside, "enable", False), "enable", "close the ENABLE key"),
        (lambda outside: setattr(outside, "position", "original"), "selector-ours", "turn the transfer switch"),
        (lambda outside: setattr(outside.limiter, "has_tripped", True), "limiter", "reset it by hand"),
        (lambda outside: outside.door(600), "door-shut", "shut the door"),
    ],
)
def test_each_permissive_is_shown_by_itself_with_its_remedy(do, name, remedy):
    watcher, client = watching()
    watcher.poll()
    assert all(good for _, good, _ in watcher.view["permissives"])
    do(client.rehearsal.outside)
    client.wait(2)
    watcher.poll()
    bad = {entry: what for entry, good, what in watcher.view["permissives"] if not good}
    assert remedy in bad[name]
    assert replies.said(name, False) in text_of(watcher)


def test_remedies_speak_of_the_permissives_that_the_board_has():
    watcher, _ = watching()
    watcher.poll()
    assert [name for name, _, _ in watcher.view["permissives"]] == list(replies.REMEDIES)


def test_trip_is_shown_with_sentence_and_what_to_do():
    watcher, client = watching(simulated(faults=["dome_open@30"]))
    client.ask("start")
    client.wait(40)
    watcher.poll()
    watcher.poll()
    assert watcher.view["trip"] == "probe-open"
    assert watcher.view["trip_words"] == "Dome probe is open. Check the probe's screws and cable for a break."
    assert "TRIP probe-open: Dome probe is open." in text_of(watcher)
    assert "probe open (NEW) Dome probe is open." in text_of(watcher)
    assert "TRIP probe-open" in screen.plain(watcher.view)


def test_keys_send_their_lines_and_heat_is_asked_back():
    watcher, client = watching()
    watcher.poll()
    keys = Keys(watcher)
    keys.press("s")
    assert "y confirms" in keys.prompt and not watcher.waiting
    keys.press("n")
    watcher.poll()
    assert watcher.view["status"]["state"] == "idle"
    for key in "t18":
        keys.press(key)
    keys.press("0")
    keys.press("\r")
    keys.press("s")
    keys.press("y")
    watcher.poll()
    watcher.poll()
    assert (watcher.view["status"]["state"], watcher.view["status"]["setpoint_c"]) == ("running", 180.0)
    keys.press("+")
    watcher.poll()
    assert watcher.view["status"]["setpoint_c"] == 185.0
    keys.press("p")
    watcher.poll()
    assert watcher.view["said"] == "present: ok"
    keys.press("t")
    keys.press("x")  # stop works in the middle of typing
    watcher.poll()
    assert watcher.view["status"]["state"] == "stopping"
    keys.press("a")
    watcher.poll()
    assert watcher.view["said"].startswith("acknowledge: ")
    keys.press("q")
    assert keys.quit


def test_refused_setpoint_is_told_in_the_boards_words():
    watcher, _ = watching()
    watcher.order("setpoint 999")
    watcher.poll()
    assert watcher.view["said"].startswith("setpoint 999: no setpoint must lie within 30..480")


def test_lost_port_shows_old_values_as_old_and_comes_back():
    plug = Unplugged(simulated())
    watcher, _ = watching(plug)
    plug.ask("start")
    watcher.poll()
    plug.is_out = True
    assert not watcher.poll()
    assert watcher.view["status"] is not None and not watcher.view["connected"]
    assert "OLD VALUES" in text_of(watcher) and "LINK LOST" in watcher.view["word"]
    stop = watcher.order("stop")
    watcher.poll()
    watcher._tried_at = None
    watcher.poll()  # opened again, but the plug is still out
    assert stop.reply is not None and not stop.reply.startswith("ok")
    plug.client.wait(30)
    plug.is_out = False
    watcher._tried_at = None
    assert watcher.poll()
    assert watcher.view["connected"] and watcher.view["status"]["state"] == "running"  # the board went on by itself
    assert watcher.lost == 2


def test_order_without_a_link_is_refused_not_kept_for_later():
    plug = Unplugged(simulated())
    watcher, _ = watching(plug)
    plug.is_out = True
    watcher.poll()

    def nothing():
        raise LinkError("no such port")

    watcher.reopen = nothing
    watcher._tried_at = None
    order = watcher.order("start")
    watcher.poll()
    assert order.reply == "no link: nothing was sent" and not watcher.waiting


def test_recording_cut_at_any_byte_is_read_up_to_the_cut(tmp_path):
    watcher, client = watching(recorder=Recorder(tmp_path / "run"))
    client.ask("start")
    for _ in range(20):
        watcher.poll()
        client.wait(1)
    # no close(): the laptop's battery is empty; what was written must be there already
    whole = read_run(tmp_path / "run")
    assert len(whole.rows) == 20
    assert np.nanmax(whole.rows["out_pct"]) == 100 and whole.rows["state"][-1] == "running"
    assert {"state", "stage", "contactor"} <= {event["kind"] for event in whole.events}
    raw = (tmp_path / "run" / "run.csv").read_bytes()
    for cut in range(len(raw) - 200, len(raw), 7):
        (tmp_path / "run" / "run.csv").write_bytes(raw[:cut])
        rows = read_run(tmp_path / "run").rows
        assert 15 <= len(rows) <= 20 and np.array_equal(rows["pv_c"], whole.rows["pv_c"][: len(rows)])
    watcher.close()


def test_pull_fetches_the_log_whole(tmp_path):
    client = simulated(faults=["dome_open@30"])
    client.ask("start")
    client.wait(60)
    board = client.rehearsal.board
    assert pull(client, tmp_path / "board.log") == 1
    text = (tmp_path / "board.log").read_text(encoding="utf-8")
    first, _, told = text.partition("\n")
    assert first == "# Tizzone: event log"
    fetched, _, told = told.partition("\n")
    assert re.fullmatch(r"# fetched 20\d\d-\d\d-\d\dT\d\d:\d\d:\d\d", fetched)
    assert told.startswith("trip probe-open pv_mc=") and told.encode() in bytes(board.fs.files["log.a"])
    with pytest.raises(NotWritten, match="cannot be written"):
        pull(client, tmp_path / "board.log" / "under-a-file")
    with pytest.raises(NotWritten, match="is there already.*--force"):
        pull(client, tmp_path / "board.log")


@pytest.mark.parametrize("reading", [True, False])
def test_open_port_that_nobody_reads_never_slows_the_tick(reading):
    """A PC that sends questions and does not take the replies: lines are dropped, every tick stays 250 ms."""
    client = simulated()
    rehearsal = client.rehearsal
    client.ask("start")
    rehearsal.outside.host_reading = reading
    before = rehearsal.board.report[-1]
    start_s = rehearsal.now_s
    for _ in range(200):
        rehearsal.say("status", "user")
        rehearsal.advance(0.25)
    ticks = rehearsal.board.report[-1] - before
    assert (rehearsal.now_s - start_s) / ticks == pytest.approx(0.25, abs=0.001)
    dropped = rehearsal.board.life.app.link.dropped
    assert dropped == 0 if reading else dropped >= 190
    assert rehearsal.trip == "none" and rehearsal.state == "running"


def test_slope_of_a_ramp_is_its_rate():
    assert slope_k_s([(t, 20 + 0.25 * t) for t in range(30)]) == pytest.approx(0.25)
    assert slope_k_s([(0, 1), (0, 2), (0, 3)]) is None


def test_stuck_says_what_it_does_not_know():
    stuck = Stuck()
    assert stuck.answer(None, 500)[0] is None
    assert stuck.answer(450, 500) == (None, "not known yet: no full output seen near this temperature")
    for t in range(40):
        stuck.add(t, 100 + 0.5 * t, 100)
    assert stuck.answer(110, 500)[0] == pytest.approx(390 / 0.5, rel=0.01)
    assert stuck.answer(300, 500)[0] is None  # measured too far below
    assert stuck.answer(510, 500)[0] == 0.0


@pytest.mark.slow
def test_stuck_speaks_the_cooks_degrees():
    stuck = Stuck()
    for t in range(40):
        stuck.add(t, 100 + 0.5 * t, 100)
    assert stuck.answer(110, 500)[1] == "limit in 13 min (rose 30 K a minute at 110 °C)"
    assert stuck.answer(110, 500, "F")[1] == "limit in 13 min (rose 54 °F a minute at 230 °F)"
    assert stuck.answer(110, 150)[1].startswith("limit in 80 s")


@pytest.mark.slow
def test_stuck_estimate_against_relays_that_do_stick():
    """Both relays welded at a steady 250 °C: the limit comes when the view said or somewhat later, hardly sooner."""
    client = simulated({"setpoint_c": 250, "high_limit_c": 330, "soak_min": 240})
    watcher, _ = watching(client)
    client.ask("start")
    while client.rehearsal.stage != "soak":
        watcher.poll()
        client.wait(4)
    client.wait(300)
    watcher.poll()
    said_s = watcher.view["stuck_s"]
    rehearsal = client.rehearsal
    assert abs(watcher.view["status"]["pv_c"] - 250) < 5
    start_s = rehearsal.now_s
    for name in ("relay_welded_top", "relay_welded_deck"):
        library.parse(f"{name}@0")[0].start(rehearsal.outside)
    # the contactor is welded too, so that nothing but the oven decides when 330 °C come
    library.parse("contactor_welded@0")[0].start(rehearsal.outside)
    while rehearsal.plant.temperature_c("dome") < 330 and rehearsal.now_s < start_s + 3600:
        rehearsal.advance(1)
    took_s = rehearsal.now_s - start_s
    assert 0.9 * said_s <= took_s <= 2.0 * said_s, (said_s, took_s)


def test_plot_shows_where_the_newest_value_lies():
    history = [(t, 20 + t / 4, 450.0, 100.0, 20.0) for t in range(1200)]
    drawn = plot_lines(history, 80, 12)
    assert len(drawn) == 12 and all(len(line) <= 80 for line in drawn)
    labels = [float(line[:4]) for line in drawn[:-1]]
    last = [n for n, line in enumerate(drawn[:-1]) if line[79:] not in ("", " ", "-")]
    assert abs(labels[last[0]] - 319.75) <= (labels[0] - labels[1])
    assert plot_lines([], 80, 12) == ["(no data yet)"]
    assert plot_lines(history, 12, 12) == ["(window too small for the plot)"]


@pytest.mark.parametrize("width", [60, 140])
def test_rich_screen_holds_everything_at_both_widths(width):
    console_module = pytest.importorskip("rich.console", reason="rich comes with the extra view")
    watcher, client = watching()
    client.ask("start")
    client.wait(30)
    watcher.poll()
    watcher.poll()
    console = console_module.Console(width=width, height=45, file=None, record=True, force_terminal=False)
    with console.capture() as capture:
        console.print(screen.rich_screen(watcher, Keys(watcher), width, 45))
    text = capture.get()
    for word in ("RUNNING", "dome", "output", "contactor", "Stands against heat", "Alarms", "quit"):
        assert word in text, word
    assert max(map(len, text.splitlines())) <= width


@pytest.mark.parametrize(
    ("arguments", "word"),
    [
        (["--simulated", "--port", "COM3"], "not both"),
        (["--simulated", "--oven", "bakery"], "no oven called"),
        (["--simulated", "--board", "nothing"], "nothing"),
        (["--simulated", "--speed", "0"], "--speed"),
        (["--simulated", "--allow-stop"], "--page"),
        (["--simulated", "--page", "--port-number", "70000"], "--port-number"),
        (["--port", "/dev/no-such-port"], "no such port"),
    ],
)
def test_wrong_use_is_one_line_and_code_2(arguments, word, capsys):
    assert main(["watch", *arguments]) == 2
    error = capsys.readouterr().err
    assert word in error and len(error.strip().splitlines()) == 1


@pytest.mark.slow
def test_command_prints_json_records_and_keeps_an_older_run(tmp_path, capsys):
    where = ["--record", str(tmp_path / "run")]
    assert main(["watch", "--simulated", "--speed", "100", "--samples", "2", "--json", *where]) == 0
    samples = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert len(samples) == 2 and samples[1]["status"]["state"] == "idle"
    assert len(read_run(tmp_path / "run").rows) == 2
    assert main(["watch", "--simulated", "--samples", "1", *where]) == 2
    assert "holds a run already" in capsys.readouterr().err


def test_narrow_terminal_shows_question_keys_and_alarms_before_the_plot():
    """80 columns, 24 lines: nothing that a person must see is pushed off by the plot."""
    console = pytest.importorskip("rich.console")
    watcher, client = watching()
    client.rehearsal.outside.enable = False
    client.wait(5)
    for _ in range(3):
        watcher.poll()
    keys = Keys(watcher)
    keys.press("s")
    made = console.Console(width=80, height=24, record=True, file=io.StringIO())
    made.print(screen.rich_screen(watcher, keys, 80, 24))
    lines = made.export_text().splitlines()
    assert len(lines) <= 24 and lines[0].startswith("start: heat follows")
    assert any("!  ENABLE is open: close" in line for line in lines) and not any(" yes  " in line for line in lines)


def test_alarm_that_has_returned_says_so():
    view = {"alarms": {"door-open": "returned"}, "alarm_words": {}, "permissives": []}
    assert "has returned to normal" in screen.side(view)[1][0]


@pytest.mark.parametrize(("state", "words"), [("running", "STILL RUNNING"), ("idle", "no heat was on")])
def test_leaving_a_heating_oven_says_so(capsys, state, words):
    status = {"state": state, "heat_top": 0, "heat_deck": 0, "contactor": 0, "pv_c": 300.0}
    told_on_leaving({"status": status})
    assert words in capsys.readouterr().err


@pytest.mark.parametrize(("typed", "line"), [
    ("o412\r", "spot 412"), ("w23\n", "verdict right dark"), ("w2\n", None), ("w94\n", None), ("z", "rest"),
    ("e", "reset"), ("u", "unlock"), ("Ly", "learn start"), ("Ln", None), ("t30\x7f1\r", "setpoint 31"),
    ("o41x", "stop"), ("w2 ", "stop"), ("nmix x", None), ("nmix\x18", "stop"), ("\x18", "stop"),
    ("nextra  ", "stop"), ("nexx", "stop"),
    ("n  ", "stop"), ("n\x1bx", "stop"), ("nsap\rp", "present"), ("X", "stop"),
])  # fmt: skip
def test_keyboard_does_all_and_stop_works_in_mid_typing(typed, line):
    sent = []
    board = {"order": lambda self, text: sent.append(text), "note": lambda self, text: None, "view": {"status": None}}
    keys = Keys(type("Sent", (), board)())
    for key in typed:
        keys.press(key)
    assert sent == ([line] if line else [])


def test_note_is_typed_into_the_record_at_its_time_with_every_letter(tmp_path):
    watcher, client = watching(recorder=Recorder(tmp_path / "run"))
    watcher.poll()
    client.wait(30)
    watcher.poll()
    keys = Keys(watcher)
    for key in "nextra mix, 62 %q\x7f\r":
        keys.press(key)
    assert not watcher.waiting and not keys.quit and keys.prompt == ""
    assert watcher.view["said"] == "noted: extra mix, 62 %"
    for key in "n\r":
        keys.press(key)
    assert "a note has words" in watcher.view["said"]
    watcher.close()
    found = notes_of(tmp_path / "run", read_run(tmp_path / "run").events, [])
    assert [one.text for one in found] == ["extra mix, 62 %"]
    assert found[0].t_s == pytest.approx(watcher.history[-1][0])


def test_note_without_a_record_says_that_it_is_not_kept():
    watcher, _ = watching()
    watcher.note("dough 62 %")
    assert "not kept" in watcher.view["said"]


@pytest.mark.parametrize(("key", "line"), [("x", "stop"), (" ", "stop"), ("l", None), ("s", None), ("\r", None)])
def test_note_that_was_left_alone_is_dropped_and_one_key_stops_again(key, line):
    sent, now_s = [], [0.0]
    board = {"order": lambda self, text: sent.append(text), "note": lambda self, text: sent.append("note " + text)}
    keys = Keys(type("Sent", (), {**board, "view": {"status": None}})(), clock=lambda: now_s[0])
    for typed in "ndough":
        keys.press(typed)
    now_s[0] = 31.0
    keys.press(key)
    assert sent == ([line] if line else []) and keys.prompt == ""
    keys.press("p")
    assert sent[-1] == "present"


def in_fahrenheit(watcher, client):
    """The watcher's board shows degrees Fahrenheit; idle, so that the setting is taken."""
    assert client.ask("setting fahrenheit 1").startswith("ok")
    watcher.poll()
    assert watcher.view["cue"]["unit"] == "F"


def test_terminal_speaks_fahrenheit_where_the_board_does_and_keeps_celsius(tmp_path):
    watcher, client = watching(recorder=Recorder(tmp_path / "run"))
    in_fahrenheit(watcher, client)
    shown = text_of(watcher)
    assert "setpoint 392 °F" in shown and "released to 896 °F" in shown and "°C" not in shown
    assert "392 °F" in screen.plain(watcher.view) and "°C" not in screen.plain(watcher.view)
    keys = Keys(watcher)
    for key in "t841":
        keys.press(key)
    assert "°F" in keys.prompt
    keys.press("\r")
    watcher.poll()
    watcher.poll()
    assert watcher.view["status"]["setpoint_c"] == pytest.approx((841 - 32) / 1.8, abs=0.002)
    keys.press("+")
    watcher.poll()
    watcher.poll()
    assert watcher.view["status"]["setpoint_c"] == pytest.approx((846 - 32) / 1.8, abs=0.002)
    watcher.close()
    record = read_run(tmp_path / "run")
    assert record.summary["unit"] == "F"
    assert record.rows["setpoint_c"][-1] == pytest.approx((846 - 32) / 1.8, abs=0.002)  # stored values stay °C


@pytest.mark.parametrize("degrees_f", [86, 212, 450, 841, 895, 896])
def test_typed_fahrenheit_is_shown_as_it_was_typed(degrees_f):
    kept_c = float(celsius(str(degrees_f), "F"))
    assert kept_c * 1.8 + 32 == pytest.approx(degrees_f, abs=0.002)
    assert in_unit(int(kept_c * 1000) / 1000, "F") == f"{degrees_f} °F"
