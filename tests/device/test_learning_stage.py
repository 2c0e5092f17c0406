"""Learning as a stage of the board: what refuses it, what ends it, and what is kept, told by a stand-in of the App."""

import types

import pytest

from host.shim.loader import world

learning = world().load("tizzone.learning.learning")
S = world().load("tizzone.evening.sequence")


class App:
    """A board on which learning may begin; `said`: what learning did to it, in order."""

    def __init__(self):
        self.said = []
        self.supervisor = types.SimpleNamespace(ceiling_mc=250_000, permit=types.SimpleNamespace(granted=0))
        self.sequence = types.SimpleNamespace(
            state=S.IDLE, stop=lambda: self.said.append("stop"), set_setpoint=lambda mc: self.said.append(mc)
        )
        self.dome = types.SimpleNamespace(usable=True, pv_mc=25_000)
        self.stone = None
        self.pid = types.SimpleNamespace(filter_s=7.0)
        self.heater = types.SimpleNamespace(window_ms=20_000, contactor_on=0)
        self.seen = types.SimpleNamespace(door_shut=1)
        self.settings = {"setpoint_c": 200}
        self.acts = types.SimpleNamespace(keep_tuning=self.keep)
        self.memory = types.SimpleNamespace(log=self.said.append)

    def keep(self, tuning):
        self.loaded = sorted(name for name in world().modules if name.startswith("tizzone.learning."))
        self.said.append(tuning)
        return "done: kept"


@pytest.fixture
def app():
    return App()


def begun(app):
    """Learning that runs, as the app has it."""
    made = learning.Learning()
    made.begin(app)
    app.sequence.state = S.RUNNING
    return made


def test_a_board_that_has_never_learned_says_so(app):
    made = learning.Learning()
    assert (made.experiment, made.text) == (None, "never")
    made.tick(app)
    assert app.said == []


def test_learning_may_begin_on_an_idle_cold_released_board(app):
    assert learning.Learning().refusal(app) == ""


@pytest.mark.parametrize(
    ("change", "word"),
    [
        (lambda app: setattr(app.supervisor, "ceiling_mc", 249_999), "release of 260"),
        (lambda app: setattr(app.sequence, "state", S.RUNNING), "from idle (running)"),
        (lambda app: setattr(app.sequence, "state", S.COMPLETE), "from idle (complete)"),
        (lambda app: setattr(app.dome, "pv_mc", 100_000), "below 100"),
    ],
)
def test_learning_is_refused_where_it_may_not_begin(app, change, word):
    change(app)
    assert word in learning.Learning().refusal(app)


def test_learning_may_begin_up_to_a_hundred_degrees_and_leaves_a_failed_probe_to_the_supervisor(app):
    app.dome.pv_mc = 99_999
    assert learning.Learning().refusal(app) == ""
    app.dome.pv_mc, app.dome.usable = 100_000, False  # no reading that means anything
    assert learning.Learning().refusal(app) == ""


@pytest.mark.parametrize(("pv_mc", "room_c"), [(25_000, 25.0), (34_999, 34.999), (35_000, 20.0), (90_000, 20.0)])
def test_experiment_knows_its_levels_the_room_and_the_loop_that_its_tuning_is_for(app, pv_mc, room_c):
    app.dome.pv_mc = pv_mc
    made = begun(app)
    trial = made.experiment
    assert made.text == "running"
    assert trial.levels_c == (150.0, 220.0)
    assert max(trial.levels_c) + 30 <= learning.CEILING_MC / 1000 == 250  # its stage's setpoint stays above it
    assert trial.ambient_c == pytest.approx(room_c)
    assert trial.pid_filter_s == 7.0
    assert trial.wait_s == 10.0  # half of a window of 20 s


def test_output_is_what_the_experiment_asks_for_at_this_reading_and_time(app):
    made = begun(app)
    assert made.output(25.0, 0.25) == 100.0
    assert made.output(25.0, 0.0) == 0.0  # a tick without time ends it
    assert made.experiment.reason == "a reading or a tick was missing"


@pytest.mark.parametrize(
    ("stone", "seen_c"),
    [
        (None, None),
        (types.SimpleNamespace(usable=False, pv_mc=140_000), None),
        (types.SimpleNamespace(usable=True, pv_mc=140_000), 140.0),
    ],
)
def test_experiment_sees_the_stone_where_its_probe_is_believed(app, stone, seen_c):
    app.stone = stone
    made = begun(app)
    asked = []
    made.experiment = types.SimpleNamespace(step=lambda *told: asked.append(told) or 30.0)
    assert made.output(25.0, 0.25) == 30.0
    assert asked == [(25.0, 0.25, seen_c if seen_c is None else pytest.approx(seen_c))]


def test_experiment_goes_on_while_nothing_disturbs_it(app):
    made = begun(app)
    for _ in range(8):
        made.output(25.0, 0.25)
        made.tick(app)
    assert app.said == [] and made.text == "running" and not made.experiment.done


EARLY = "failed: ended before it was through"
DOOR = "failed: the door was opened: leave it shut, lay no bread"


@pytest.mark.parametrize(
    ("change", "text"),
    [
        (lambda app: setattr(app.sequence, "state", S.HELD), EARLY),
        (lambda app: setattr(app.sequence, "state", S.STOPPED), EARLY),
        (lambda app: setattr(app.dome, "usable", False), EARLY),
        (lambda app: setattr(app.seen, "door_shut", 0), DOOR),
    ],
)
def test_learning_that_is_disturbed_stops_the_stage_and_keeps_nothing(app, change, text):
    made = begun(app)
    change(app)
    made.tick(app)
    assert app.said == ["stop", 200_000, "learning " + text]
    assert made.text == text and made.experiment is None
    made.tick(app)
    assert len(app.said) == 3


def test_first_reason_is_the_one_that_is_told(app):
    made = begun(app)
    app.sequence.state, app.seen.door_shut = S.HELD, 0
    made.tick(app)
    assert made.text == EARLY


def through(made, tuning):
    """The experiment has come to its end; what it did not do itself is no longer looked at."""
    made.experiment.stop("too few swings")
    made.experiment.tuning = tuning


@pytest.mark.parametrize("heat", ["permit", "contactor"])
def test_flash_is_written_only_when_nothing_may_heat(app, heat):
    made = begun(app)
    through(made, {"kc_pct_per_k": 4.0})
    part, name = (app.supervisor.permit, "granted") if heat == "permit" else (app.heater, "contactor_on")
    setattr(part, name, 1)
    made.tick(app)
    made.tick(app)
    assert app.said == ["stop", "stop"] and made.text == "running"
    setattr(part, name, 0)
    made.tick(app)
    assert app.said[2:] == ["stop", 200_000, {"kc_pct_per_k": 4.0}, "learning done: kept"]
    assert made.text == "done: kept"


def test_good_end_is_not_spoiled_by_the_stage_that_ends_or_a_door_that_opens(app):
    made = begun(app)
    through(made, {"kc_pct_per_k": 4.0})
    app.sequence.state, app.seen.door_shut = S.STOPPING, 0
    made.tick(app)
    assert made.text == "done: kept"


def test_experiment_has_gone_with_all_its_modules_before_anything_is_stored(app):
    """Else a small heap has no room for what stores the tuning."""
    made = begun(app)
    names = sorted(name for name in world().modules if name.startswith("tizzone.learning."))
    assert len(names) == 7
    through(made, {"kc_pct_per_k": 4.0})
    made.tick(app)
    assert app.loaded == ["tizzone.learning.learning"]


def test_experiment_without_a_tuning_says_why(app):
    made = begun(app)
    through(made, None)
    made.tick(app)
    assert made.text == "failed: too few swings"


@pytest.mark.parametrize(("setpoint_c", "ceiling_mc", "given_mc"), [(200, 250_000, 200_000), (450, 260_000, 260_000)])
def test_setpoint_of_the_evening_comes_back_below_the_ceiling(app, setpoint_c, ceiling_mc, given_mc):
    made = begun(app)
    app.settings["setpoint_c"], app.supervisor.ceiling_mc = setpoint_c, ceiling_mc
    through(made, None)
    made.tick(app)
    assert app.said[1] == given_mc
