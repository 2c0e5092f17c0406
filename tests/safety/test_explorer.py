"""Every reachable state of supervisor x sequence x heater, to a fixed point; see explorer.py for what a state is."""

import pytest
from explorer import GOOD, Explorer

pytestmark = pytest.mark.slow

# events in which no heat pin may be on
COLD = ("enable", "limiter", "selector", "fan", "door", "open", "over-limit", "late", "stall", "records")


@pytest.fixture(scope="module")
def explored():
    """The graph, what went wrong on the way, and what was met."""
    explorer = Explorer()
    wrong = []
    met = {"stalled": [0, 0], "heat": 0, "tripped": 0, "states": set(), "stages": set()}

    def check(one, event, line):
        sup, sequence = one.app.supervisor, one.app.sequence
        top, deck, contactor = one.pins()
        met["states"].add(one.S.STATES[sequence.state])
        met["stages"].add(one.S.STAGES[sequence.stage])
        met["heat"] += top or deck
        tripped = sup.first_out != one.L.NONE
        met["tripped"] += tripped
        forbidden = (
            tripped
            or event in COLD
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
        cut = event in ("enable", "limiter", "selector", "records") and not one.was_on
        if (tripped or cut) and contactor and not line:
            wrong.append((event, line, "contactor", one.key()))

    explorer.was_on = explorer.was_closed = explorer.was_tripped = 0
    load = explorer.load

    def load_and_note(saved):
        load(saved)
        heater = explorer.app.heater
        explorer.was_on, explorer.was_closed = heater.top.on or heater.deck.on, heater.contactor_on
        explorer.was_tripped = explorer.app.supervisor.first_out != explorer.L.NONE

    explorer.load = load_and_note
    graph = explorer.explore(check, at_most=20_000)
    return explorer, graph, wrong, met


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
