"""What a hand at the panel can do, in closed loop."""

import copy
import random
from types import SimpleNamespace

import pytest
from panel_bench import BOARD, MODES, app_of, evening, heat, menu_of, words

from host.panel.hand import Hand


@pytest.fixture(scope="module")
def idle():
    return evening()


@pytest.fixture(scope="module")
def heating():
    rehearsal, hand = evening()
    hand.push()
    hand.push()
    hand.turn(1)
    hand.push()
    rehearsal.advance(4)
    return rehearsal, hand


def mode(rehearsal):
    """Name of what the panel is at."""
    menu = menu_of(rehearsal)
    return MODES[menu.mode]


def choose(rehearsal, hand, what):
    """Open the menu and take an entry by turning and pushing."""
    hand.push()
    menu = menu_of(rehearsal)
    labels = [label for label, _ in menu.items]
    hand.turn(labels.index(what))
    hand.push()


def shown(rehearsal):
    """All words of the screen."""
    app = app_of(rehearsal)
    return words(app.panel.menu.bands(app, 0))


def test_start_takes_two_different_movements(heating):
    rehearsal, _ = heating
    assert rehearsal.state == "running"
    assert any(heat(rehearsal))


@pytest.mark.parametrize("movement", ["pushes", "turns"])
def test_one_movement_alone_never_starts_heat(idle, movement):
    rehearsal, hand = copy.deepcopy(idle)
    for _ in range(12):
        hand.push() if movement == "pushes" else hand.turn(2)
        assert rehearsal.state == "idle"
    assert heat(rehearsal) == [0, 0]


def test_start_names_what_is_missing_instead_of_asking(idle):
    rehearsal, hand = copy.deepcopy(idle)
    rehearsal.outside.enable = False
    rehearsal.advance(1)
    hand.push()
    hand.push()
    assert "ENABLE is open" in shown(rehearsal)
    hand.turn(1)
    hand.push()
    hand.push()
    assert rehearsal.state == "idle"


def test_menu_left_alone_closes_and_has_changed_nothing(idle):
    rehearsal, hand = copy.deepcopy(idle)
    choose(rehearsal, hand, "setpoint")
    hand.turn(7)
    assert mode(rehearsal) == "setpoint"
    rehearsal.advance(21)
    assert mode(rehearsal) == "page"
    assert app_of(rehearsal).sequence.setpoint_mc == 100_000


def test_setpoint_is_taken_by_a_push(heating):
    rehearsal, hand = copy.deepcopy(heating)
    choose(rehearsal, hand, "setpoint")
    hand.turn(7)
    hand.push()
    assert app_of(rehearsal).sequence.setpoint_mc == 107_000
    assert rehearsal.state == "running"


def test_setpoint_in_fahrenheit_steps_by_one_degree_shown_and_is_kept_in_celsius(heating):
    rehearsal, hand = copy.deepcopy(heating)
    app = app_of(rehearsal)
    app.settings["fahrenheit"] = 1
    choose(rehearsal, hand, "setpoint")
    assert "212|now 212 F|max 896 F" in shown(rehearsal)  # 100 and 480 degrees Celsius
    hand.turn(7)
    assert "219|now 212 F" in shown(rehearsal)
    hand.push()
    assert app.sequence.setpoint_mc == pytest.approx((219 - 32) / 1.8 * 1000, abs=2)  # NIST SP 811, B.8
    assert "setpoint 219 F" in shown(rehearsal)


def test_every_degree_fahrenheit_is_shown_as_it_was_set():
    rehearsal, _ = evening()
    app = app_of(rehearsal)
    cue = rehearsal.world.load("tizzone.evening.cue")
    app.settings["fahrenheit"] = 1
    for degrees_f in range(86, 897):
        said = f"setpoint {cue.milli(app, degrees_f) / 1000:.3f}"
        assert rehearsal.world.load("tizzone.link.commands").answer(app, said).startswith("ok"), said
        kept_mc = app.sequence.setpoint_mc
        assert cue.shown(app, kept_mc) == cue.shown(app, kept_mc - 1) == degrees_f  # single floats may lose a 0.001


@pytest.mark.parametrize("fahrenheit", [0, 1])
def test_bounds_of_the_setpoint_lie_within_any_ceiling_and_reach_it(idle, fahrenheit):
    rehearsal, _ = idle
    menu, cue = (rehearsal.world.load(f"tizzone.{name}") for name in ("panel.menu", "evening.cue"))
    for ceiling_mc in (*range(60_000, 481_000, 1000), 449_400, 60_001):
        app = SimpleNamespace(settings={"fahrenheit": fahrenheit}, supervisor=SimpleNamespace(ceiling_mc=ceiling_mc))
        lowest, highest = menu._bounds(app)
        assert cue.milli(app, lowest) >= 30_000  # the least that the link takes
        assert cue.milli(app, highest) <= ceiling_mc < cue.milli(app, highest + 1)


@pytest.mark.parametrize(("entry", "state"), [("hold", "held"), ("stop", "stopping")])
def test_hold_and_stop_from_the_menu_take_the_heat_off(heating, entry, state):
    rehearsal, hand = copy.deepcopy(heating)
    choose(rehearsal, hand, entry)
    assert (rehearsal.state, heat(rehearsal)) == (state, [0, 0])


def test_hold_and_resume_by_hand(heating):
    rehearsal, hand = copy.deepcopy(heating)
    choose(rehearsal, hand, "hold")
    rehearsal.advance(5)
    choose(rehearsal, hand, "resume")
    assert rehearsal.state == "running"


@pytest.mark.slow
def test_evening_by_hand_bakes_breads_and_takes_a_verdict(heating):
    rehearsal, hand = copy.deepcopy(heating)
    for _ in range(200):
        if rehearsal.stage == "load":
            break
        rehearsal.advance(1)
    hand.push()
    hand.push()  # the likeliest entry is first: bread is in
    assert rehearsal.stage == "bake"
    rehearsal.advance(31)
    before_pct = app_of(rehearsal).top_share_pct
    choose(rehearsal, hand, "verdict")
    hand.turn(-1)
    hand.push()  # top pale
    hand.push()  # base right
    assert "share" in shown(rehearsal)
    rehearsal.advance(7)
    assert mode(rehearsal) == "page"
    assert app_of(rehearsal).top_share_pct > before_pct  # a pale top wants more of the top zone


def test_presence_is_asked_for_and_confirmed_by_one_push(heating):
    rehearsal, hand = copy.deepcopy(heating)
    attend = app_of(rehearsal).supervisor.attendance
    attend.attend_mc = 30_000
    attend.alone_ms = attend.soon_ms
    choose_open = copy.deepcopy((rehearsal, hand))
    rehearsal.advance(1)
    assert "stay: confirm" in shown(rehearsal)
    hand.push()
    assert attend.alone_ms < 5_000
    rehearsal.advance(1)
    assert "stay: confirm" not in shown(rehearsal)
    rehearsal, hand = choose_open
    choose(rehearsal, hand, "setpoint")  # a question comes before whatever is open
    attend = app_of(rehearsal).supervisor.attendance
    attend.alone_ms = 0
    rehearsal.advance(1)
    attend.alone_ms = attend.soon_ms
    rehearsal.advance(1)
    assert "stay: confirm" in shown(rehearsal)


def test_acknowledge_clears_a_trip_and_never_brings_heat(heating):
    rehearsal, hand = copy.deepcopy(heating)
    rehearsal.outside.probe_chips["dome"].set_fault("open")
    rehearsal.advance(3)
    assert rehearsal.state == "aborted"
    assert "TRIP" in shown(rehearsal)
    hand.push()
    assert menu_of(rehearsal).items[0][1] == "back"  # two pushes do nothing after a trip
    hand.push()
    choose(rehearsal, hand, "acknowledge")
    assert "NOT DONE" in shown(rehearsal)  # the cause is still there
    rehearsal.outside.probe_chips["dome"].set_fault(None)
    rehearsal.advance(10)
    choose(rehearsal, hand, "acknowledge")
    assert rehearsal.state == "idle"
    rehearsal.advance(20)
    assert heat(rehearsal) == [0, 0]
    assert not rehearsal.outside.contactor.is_closed


@pytest.mark.slow
@pytest.mark.parametrize("seed", range(4))
def test_any_movements_after_a_trip_bring_no_heat_before_a_whole_start(heating, seed):
    rehearsal, hand = copy.deepcopy(heating)
    rehearsal.outside.probe_chips["dome"].set_fault("open")  # and stays so: nothing may start
    rehearsal.advance(3)
    dice = random.Random(seed)
    for _ in range(40):
        hand.push(0.2) if dice.random() < 0.5 else hand.turn(dice.randrange(-3, 4) or 1, seconds=0.2)
        assert heat(rehearsal) == [0, 0]
        assert app_of(rehearsal).sequence.setpoint_mc <= app_of(rehearsal).supervisor.ceiling_mc
    assert rehearsal.state == "aborted"
    assert not rehearsal.board.port.refusals


@pytest.mark.slow
def test_every_page_is_reached_by_turning_and_left_by_itself(idle):
    rehearsal, hand = copy.deepcopy(idle)
    pages = rehearsal.world.load("tizzone.panel.pages")
    seen = [shown(rehearsal)]
    for _ in range(pages.PAGES - 1):
        hand.turn(1)
        seen.append(shown(rehearsal))
    assert len(set(seen)) == pages.PAGES
    rehearsal.advance(61)
    assert menu_of(rehearsal).page == pages.MAIN
    hand.turn(-1)
    assert menu_of(rehearsal).page == pages.PAGES - 1


@pytest.mark.slow
def test_same_evening_by_hand_shows_the_same_picture_on_micropython():
    frames = {}
    for runtime in ("cpython", "micropython"):
        rehearsal, hand = evening(runtime=runtime, board=BOARD)
        with rehearsal:
            found = [hand.image()]
            for act in (hand.push, hand.push, lambda hand=hand: hand.turn(1), hand.push):
                act()
                found.append(hand.image())
            rehearsal.advance(6)
            found.append(hand.image())
            hand.press_stop()
            found.append(hand.image())
            assert rehearsal.state == "stopping"
            assert not rehearsal.outside.display.wrong
        frames[runtime] = found
    for one, other in zip(frames["cpython"], frames["micropython"], strict=True):
        assert one.any()
        assert (one == other).all()


def test_board_without_a_panel_has_no_hand():
    rehearsal, _ = evening()
    rehearsal.pins.PANEL = None
    with pytest.raises(ValueError, match="no PANEL"):
        Hand(rehearsal)
