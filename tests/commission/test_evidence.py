"""What the board has to see itself: no message, no late program and no half wiring passes for it."""

import pytest
from commission_answers import pause

from host.commissioning.steps import STEPS

NAMES = [step.name for step in STEPS]


@pytest.mark.slow
def test_heat_that_stops_a_tick_late_fails_the_cutoff(practice):
    """A judge that does not see the lowered limit in its first tick: the witness must not call that a pass."""
    made = practice()
    made.run("transfer")
    pause(made)
    bench, app = made.made.bench, made.rehearsal.board.life.app
    bench.must("witness begin cutoff MB 20260105")
    bench.heat(60)
    bench.until(lambda: bench.status()["pv_c"] > 40, 900, "warm")
    sup, judge, blind = app.supervisor, app.supervisor.judge, []

    def late(seen, dt_ms):
        lowered_mc = sup.limit_mc
        if lowered_mc == 100_000 or blind:
            return judge(seen, dt_ms)
        blind.append(lowered_mc)
        sup.restore_limit()
        permit = judge(seen, dt_ms)
        sup.lower_limit(lowered_mc)
        return permit

    sup.judge = late
    bench.must("witness cut")
    made.client.wait(6)
    got = made.witness()
    assert blind and (got["active"], got["done"], got["release_c"]) == ("none", "5", "60")
    assert got["reason"] == "heat did not stop in one tick"


class OnlySensed:
    """ENABLE's sensing wire opens while its contact in the coil's circuit stays closed: a wiring mistake."""

    def __init__(self, outside):
        self.outside = outside

    def enable(self, is_closed):
        self.outside.at(self.outside.now_us + 1_100_000, self, "sense", is_closed)

    def sense(self, is_closed):
        wires = self.outside.contacts.cut_wires
        if is_closed:
            wires.discard("ENABLE")
        else:
            wires.add("ENABLE")


@pytest.mark.slow
def test_contact_that_only_the_program_obeys_is_not_taken_for_one_in_the_coils_circuit(practice):
    made = practice()
    made.run("lamp")
    pause(made)
    made.hands.enable = OnlySensed(made.rehearsal.outside).enable
    done, release_c, reason = made.made.run("transfer")
    assert (done, release_c) == (4, 60)
    assert reason == "transfer: enable-opens-contactor: never seen; does the contact break the coil itself?"


@pytest.mark.slow
@pytest.mark.parametrize("stuck", ["welded", None])
def test_contactor_that_does_not_fall_fails_the_cutoff_and_leaves_the_limit_low(practice, stuck):
    made = practice()
    made.run("transfer")
    pause(made)
    bench, rehearsal = made.made.bench, made.rehearsal
    bench.must("witness begin cutoff MB 20260105")
    bench.heat(60)
    bench.until(lambda: bench.status()["pv_c"] > 40 and bench.status()["heat_top"], 900, "warm")
    rehearsal.outside.contactor.stuck = stuck  # welds while it is closed
    bench.must("witness cut")
    made.client.wait(3)
    got = made.witness()
    limit_mc = rehearsal.board.life.app.supervisor.limit_mc
    if stuck:
        assert (got["active"], got["release_c"]) == ("none", "60") and "contactor did not fall" in got["reason"]
        assert limit_mc < 60_000
    else:
        assert (got["active"], got["todo"]) == ("cutoff", "none") and limit_mc == 100_000
        assert got["release_c"] == "60"  # seen, but nobody has agreed yet
        bench.acknowledge()
        bench.must("witness accept")
        made.client.wait(2)
        assert made.witness()["release_c"] == "120"
    assert not any(rehearsal.board.port.levels.get(relay.pin, 0) for relay in rehearsal.outside.relays)


def test_no_message_can_supply_what_the_board_has_not_seen(practice):
    """Every step begun and every act sent, with nobody at the oven: nothing passes and nothing rises."""
    made = practice()
    made.run("electrical")
    client = made.client
    for name in NAMES[2:]:
        assert client.ask(f"witness attest {name} XX 20260105").startswith("no "), name
        if name != "dead":
            assert client.ask(f"witness begin {name} XX 20260105").startswith("no the next step is"), name
    assert client.ask("witness begin dead XX 20260105") == "ok"
    for line in (
        *("witness accept", "witness cut", "witness pass dead", "witness dead-warmed", "witness step 2"),
        *("setting release_c 480", "setting commission 1", "witness begin lamp XX 1", "witness attest dead XX 1"),
    ):
        assert client.ask(line).startswith("no "), line
    client.wait(400)
    got = made.witness()
    assert (got["done"], got["release_c"], got["todo"]) == ("2", "60", "dome-warmed,stone-warmed")
    # heat started to fake the hand: the step ends
    client.ask("start")
    client.wait(5)
    assert made.witness()["reason"] == "heat was asked for during the dead test"
    client.ask("stop")
    client.wait(1)
    refused = client.ask("witness begin dead XX 20260105")
    assert refused.startswith("no the dead test wants a cold oven and a board that has not heated since its start")


def test_cutoff_is_real_heat_is_off_in_the_tick_after_the_limit_was_lowered(practice):
    made = practice()
    made.run("transfer")
    bench, client, rehearsal = made.made.bench, made.client, made.rehearsal
    bench.ready()
    bench.must("witness begin cutoff MB 20260105")
    assert client.ask("witness cut").startswith("no the reading must be above 35")
    bench.heat(60)
    bench.until(lambda: bench.status()["pv_c"] > 40, 900, "warm")
    bench.until(lambda: bench.status()["heat_top"], 60, "on")
    assert client.ask("witness accept").startswith("no still to be seen: heat-was-on")
    levels = rehearsal.board.port.levels
    pins = [relay.pin for relay in rehearsal.outside.relays]
    app = rehearsal.board.life.app
    rehearsal.say("witness cut", "user")
    seen = []
    for _ in range(12):
        rehearsal._turn()
        heats = any(levels.get(pin, 0) for pin in pins)
        seen.append((app.supervisor.limit_mc, heats, rehearsal.outside.contactor.is_closed))
    lowered = next(n for n, row in enumerate(seen) if row[0] < 60_000)
    assert seen[lowered][1] and not seen[lowered + 1][1]  # heat was on; one tick later it is off
    assert not any(row[1] for row in seen[lowered + 1 :])
    fallen = next(n for n, row in enumerate(seen) if n > lowered and not row[2])
    assert (fallen - lowered) * 0.25 <= 1.0
    assert app.supervisor.limit_mc == 100_000  # given back once the contactor was seen open, never above what it was
