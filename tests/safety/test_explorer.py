"""Every reachable state of supervisor x sequence x heater, to a fixed point; see explorer.py for what a state is."""

import pytest
from explorer import EVENTS, GOOD, PAIRS, Explorer

pytestmark = pytest.mark.slow

# events in which no heat pin may be on
COLD = ("enable", "limiter", "selector", "fan", "door", "open", "over-limit", "late", "stall", "records")


class Checked:
    """An exploration, what went wrong on the way, and what was met."""

    def __init__(self, **how):
        self.wrong = []
        self.met = {"stalled": [0, 0], "heat": 0, "tripped": 0, "states": set(), "stages": set()}
        explorer = self.explorer = Explorer()
        explorer.was_on = explorer.was_closed = explorer.was_tripped = 0
        load = explorer.load

        def load_and_note(saved):
            load(saved)
            heater = explorer.app.heater
            explorer.was_on, explorer.was_closed = heater.top.on or heater.deck.on, heater.contactor_on
            explorer.was_tripped = explorer.app.supervisor.first_out != explorer.L.NONE

        explorer.load = load_and_note
        self.graph = explorer.explore(self.check, **how)

    def check(self, one, event, line):
        met, wrong = self.met, self.wrong
        sup, sequence = one.app.supervisor, one.app.sequence
        top, deck, contactor = one.pins()
        met["states"].add(one.S.STATES[sequence.state])
        met["stages"].add(one.S.STAGES[sequence.stage])
        met["heat"] += top or deck
        tripped = sup.first_out != one.L.NONE
        met["tripped"] += tripped
        names = event.split("+")
        forbidden = (
            tripped
            or any(name in COLD for name in names)
            or sup._stale_ms > one.L.STALE_OK_MS
            or sequence.state != one.S.RUNNING
            or sup.locked_out
        )
        if forbidden and (top or deck):
            wrong.append((event, line, "heat", one.key()))
        # A stall by a write of our own accuses nobody, if everything was off; else it is a late tick like any other.
        if event == "stall" and not line and not one.was_tripped:
            met["stalled"][tripped] += 1
            if bool(sup.present[one.L.TICK_LATE]) != bool(one.was_closed or one.was_on):
                wrong.append((event, line, "stall", one.key()))
        # In good order the contactor opens one tick after the relays; on a trip with them.
        cut = any(name in ("enable", "limiter", "selector", "records") for name in names) and not one.was_on
        if (tripped or cut) and contactor and not line:
            wrong.append((event, line, "contactor", one.key()))


@pytest.fixture(scope="module")
def explored():
    """The graph of single events, what went wrong on the way, and what was met."""
    made = Checked(at_most=20_000)
    return made.explorer, made.graph, made.wrong, made.met


def test_no_heat_pin_is_on_in_any_state_with_a_trip_an_open_contact_or_a_stale_reading(explored):
    _, graph, wrong, met = explored
    assert wrong == []
    assert len(graph) > 1_000
    assert min(met["stalled"]) > 100
    assert met["heat"] > 1_000 and met["tripped"] > 1_000
    assert met["states"] == {"idle", "running", "held", "stopping", "stopped", "complete", "aborted"}
    assert met["stages"] == {"none", "prove", "preheat", "soak", "load", "bake", "recover", "cool"}


def test_every_state_can_reach_idle_by_allowed_acts_on_a_healthy_oven(explored):
    explorer, graph, _, _ = explored
    backwards = {}
    for key, acts in graph.items():
        for (event, _), after in acts.items():
            if event in GOOD:
                backwards.setdefault(after, []).append(key)
    # a key begins with state, stage; places 6 and 7 tell tripped and locked out
    waiting = [key for key in graph if key[0] == explorer.S.IDLE and not key[6] and not key[7]]
    reached = set(waiting)
    assert waiting
    while waiting:
        for before in backwards.get(waiting.pop(), ()):
            if before not in reached:
                reached.add(before)
                waiting.append(before)
    assert set(graph) - reached == set()


def test_heat_never_comes_back_after_a_trip_without_a_start(explored):
    explorer, graph, _, _ = explored
    running, held = explorer.S.RUNNING, explorer.S.HELD
    for key, acts in graph.items():
        for (_, line), after in acts.items():
            if key[0] not in (running, held) and after[0] == running:
                assert line == "start"
            if key[0] == held and after[0] == running:
                assert line == "resume"
            if key[6] and not after[6]:
                assert line == "acknowledge"


def test_exploration_that_is_too_large_says_so():
    with pytest.raises(MemoryError):
        Explorer().explore(lambda one, event, line: None, at_most=5)


def test_two_abnormal_inputs_at_once_heat_nothing_either():
    """A part of the campaign `python tests/safety/pairs.py`: the states that come first, and each pair in them."""
    made = Checked(at_most=1 << 30, events=(*EVENTS, *PAIRS), until_states=120)
    assert made.wrong == []
    assert len(PAIRS) == 105
    assert made.met["heat"] > 10 and made.met["tripped"] > 1_000


def test_exploration_notices_heat_in_a_pair_of_events():
    """The check itself: a supervisor that overlooks the fan is found, also beside another event."""
    explorer = Checked.__new__(Checked)
    explorer.wrong, explorer.met = [], {"stalled": [0, 0], "heat": 0, "tripped": 0, "states": set(), "stages": set()}
    one = Explorer()
    one.was_on = one.was_closed = one.was_tripped = 0
    one.app.heater.top.pin.level = 1
    explorer.check(one, "mirror+fan", "")
    assert [entry[2] for entry in explorer.wrong] == ["heat"]
