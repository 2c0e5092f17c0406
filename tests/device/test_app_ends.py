"""How the application begins and ends: nothing is armed before its turn, and however it ends the outputs are safe."""

import pytest
from app_bench import TIME, WORLD, A, Bench, L, some

from host.shim.dark import Dark
from host.shim.port import Port
from host.shim.simfs import SimFS


@pytest.fixture
def bench():
    """An App whose clock stands at the deadline of the tick before."""
    made = Bench()
    with made:
        made.app._last_ms = made.app._next_ms = TIME.ticks_ms()
    return made


# --- what is there before a start ---------------------------------------------------------------------


def test_app_has_its_outputs_safe_before_anything_else_and_nothing_is_permitted_or_due():
    port = Port(Dark(), "rp2040", some(HEAT_TOP=10, HEAT_DECK=11, CONTACTOR=12, PROBES={}), SimFS())
    poll = some(register=lambda stream, events: None, ipoll=lambda ms: [])
    console = some(stdin=some(buffer="in"), stdout=some(buffer="out"), poll=lambda: poll)
    with WORLD.running(port):
        app = A.App(console=console)
        assert app.board is A.pin_map and app.heater.follows()
        assert type(app.memory) is A.Memory and app.memory.faults == []
    assert [port.levels[pin] for pin in (10, 11, 12)] == [0, 0, 0]
    assert app.version == WORLD.load("tizzone").VERSION
    assert list(app.report) == [0] * len(A.REPORT) and app.report.typecode == "i"
    assert (app.out_pm, app.ticks, app._uncollected, app.reset_due) == (0, 0, 0, False)
    assert (app.supervisor, app.panel, app.watchdog) == (None, None, None)
    assert type(app.due) is A.Due and type(app.told) is A.Told and not app.link.is_sending()
    assert not any(app.link.next_line())


# --- a start -----------------------------------------------------------------------------------------


@pytest.fixture
def starting(bench, monkeypatch):
    """A bench that may start: `flag`, `jumper`, `damaged` and `sure` are what it finds."""
    app, note = bench.app, bench.noting
    bench.flag = bench.jumper = bench.damaged = False
    bench.sure = 1
    values = {"soak_min": 7}
    parts = some(
        build=note("build"), self_test=note("self-test", "passed"), START_ALONE=("one", "two"),
        controller=note("controller", "a controller"),
    )  # fmt: skip
    monkeypatch.setitem(WORLD.modules, "tizzone.parts", parts)
    monkeypatch.setattr(WORLD.load("tizzone"), "parts", parts, raising=False)
    monkeypatch.setattr(A, "jumper", lambda board: bench.jumper if board is app.board else None)
    monkeypatch.setattr(A, "let_go", note("let go"))
    monkeypatch.setattr(A.gc, "collect", note("collect"), raising=False)
    monkeypatch.setattr(A.gc, "threshold", note("threshold"), raising=False)
    monkeypatch.setattr(WORLD.load("machine"), "WDT", lambda timeout: note("watchdog", some(feed=None))(timeout))
    app.step = note("step")
    app._clock_ms = 777
    app.due = some(logged=None)
    app.heater.arm_deadman = note("dead man")
    app.supervisor.first_out = L.PROBE_OPEN
    app.supervisor.note_self_test, app.supervisor.arm = note("note"), note("arm")
    app.memory.maintenance = lambda: bench.flag
    app.memory.settings = lambda: (bench.done.append(("settings",)), (values, bench.damaged))[1]
    app.memory.restore_latch, app.memory.tell_last_end = note("latch"), note("last end")
    bench.values = values
    return bench


def started(bench):
    with bench as app:
        bench.port.sleep_us(5_000_000)
        app.memory.latch_sure = bench.sure
        return app.start()


def test_start_takes_the_grace_before_it_arms_and_arms_last(starting):
    assert started(starting) is True
    app, sup = starting.app, starting.app.supervisor
    assert starting.done == [
        ("settings",), ("build", app, starting.values), ("latch", sup), ("last end", sup), ("collect",),
        ("threshold", -1), *[("step",)] * 12, ("dead man",), ("self-test", app), ("note", "passed"),
        ("watchdog", 4000), ("arm",), ("let go", "one", "two"),
    ]  # fmt: skip
    assert app.settings is starting.values and app.watchdog is not None
    with starting:
        assert app._last_ms == app._next_ms == TIME.ticks_ms()
        assert (app._clock_s, app._clock_ms) == (TIME.time(), 0)


def test_start_with_damaged_settings_trips_after_the_latch_was_read_and_before_anything_is_armed(starting):
    starting.damaged = True
    started(starting)
    assert starting.done[3:6] == [
        ("last end", starting.app.supervisor), ("raise", L.SETTINGS_DAMAGED), ("collect",)
    ]  # fmt: skip


@pytest.mark.parametrize(("sure", "logged"), [(1, L.PROBE_OPEN), (0, L.NONE)])
def test_start_writes_no_second_line_about_a_trip_that_was_stored_whole(starting, sure, logged):
    starting.sure = sure
    started(starting)
    assert starting.app.due.logged == logged


@pytest.mark.parametrize(("flag", "jumper"), [(True, False), (False, True), (True, True)])
def test_start_for_loading_arms_nothing_and_says_what_to_do(starting, flag, jumper):
    starting.flag, starting.jumper = flag, jumper
    assert started(starting) is False
    assert starting.done == []
    assert "outputs off, nothing armed" in starting.port.printed[0] and len(starting.port.printed) == 1


@pytest.mark.parametrize("watchdog_ms", [8000, None])
def test_start_arms_the_watchdog_of_its_pin_map(starting, watchdog_ms):
    starting.app.board = some(WATCHDOG_MS=watchdog_ms) if watchdog_ms else some()
    started(starting)
    assert ("watchdog", watchdog_ms or 4000) in starting.done


def test_controller_is_made_of_the_values_that_are_asked_for(starting):
    with starting as app:
        assert app.controller({"ti_s": 1.0}) == "a controller"
    assert starting.done == [("controller", {"ti_s": 1.0})]


# --- ends --------------------------------------------------------------------------------------------------


def test_end_on_an_error_has_the_outputs_safe_before_it_stores_the_trip_and_sounds(bench, monkeypatch):
    monkeypatch.setattr(A, "alarm", bench.noting("alarm"))
    app = bench.app
    app.failed(ValueError("x"))
    assert bench.done == [
        ("all off",), ("fan", 1), ("raise", L.PROGRAM_FAULT), ("keep latch", app.supervisor),
        ("log", "program fault: ValueError('x')"), ("alarm", app.board),
    ]  # fmt: skip


def test_end_before_there_is_a_supervisor_is_safe_told_and_sounds(bench, monkeypatch):
    monkeypatch.setattr(A, "alarm", bench.noting("alarm"))
    bench.app.supervisor = None
    bench.app.failed(OSError(5))
    assert bench.names() == ["all off", "fan", "log", "alarm"]


class Program:
    """Stands for App in run(): starts or not, ends after a few steps."""

    def __init__(self, bench, starts=True, error=None):
        self.bench, self.starts, self.error, self.left = bench, starts, error, 3

    def __call__(self):
        return self

    def start(self):
        self.bench.done.append("start")
        return self.starts

    def step(self):
        self.bench.done.append("step")
        self.left -= 1
        if not self.left:
            raise self.error

    def failed(self, error):
        self.bench.done.append(("failed", error))

    def make_safe(self):
        self.bench.done.append("safe")


@pytest.mark.parametrize("error", [ValueError("x"), MemoryError("x"), KeyboardInterrupt(), SystemExit()])
def test_run_ends_safe_however_it_ends_and_an_error_is_stored_and_told(bench, monkeypatch, error):
    monkeypatch.setattr(A, "App", Program(bench, error=error))
    with pytest.raises(type(error)):
        A.run()
    stored = [("failed", error)] if isinstance(error, Exception) else []  # Ctrl-C is no fault of the program
    assert bench.done == ["start", "step", "step", "step", *stored, "safe"]


def test_run_for_maintenance_arms_nothing_and_gives_the_prompt_back(bench, monkeypatch):
    monkeypatch.setattr(A, "App", Program(bench, starts=False))
    A.run()
    assert bench.done == ["start", "safe"]
