"""Power cuts at random moments of an evening, of learning and of commissioning; and the judge, which can say no."""

import os

import pytest

from host.drill import cut_page, cuts
from host.shim.simfs import MODELS
from host.simulator.outside import Outside
from tools.__main__ import main

pytestmark = [pytest.mark.slow, pytest.mark.skipif(not hasattr(os, "fork"), reason="the campaign forks the program")]


@pytest.mark.parametrize(("path", "count", "seed"), [("evening", 24, 3), ("commissioning", 12, 5), ("learning", 12, 2)])
def test_cuts_at_random_moments_leave_the_board_idle_or_tripped_and_lose_only_what_was_in_flight(path, count, seed):
    outcomes = list(cuts.campaign(count, seed, (path,)))
    assert len(outcomes) >= count
    assert [outcome for outcome in outcomes if outcome.failed] == []
    assert max(outcome.heat_s for outcome in outcomes) <= 0.62
    assert any(outcome.session and outcome.trip == "power-cut" for outcome in outcomes)
    if path != "learning":  # which writes little
        assert {outcome.kind for outcome in outcomes} >= {*MODELS}
        assert len({outcome.name for outcome in outcomes}) > 4
    told = cut_page.text(outcomes, 1.0)
    assert told.splitlines()[-1] == f"{len(outcomes)} cuts, 0 failed, 1 s"


def test_cuts_judge_finds_a_value_that_is_neither_old_nor_new(monkeypatch):
    real = cuts.in_flight

    def spoils(made, before, draw, model):
        name = real(made, before, draw, model)
        for path in [path for path in made.board.fs.files if path.startswith("commission.")]:
            del made.board.fs.files[path]
        return name

    monkeypatch.setattr(cuts, "in_flight", spoils)
    failed = [outcome for outcome in cuts.campaign(6, 3, ("evening",)) if outcome.failed]
    assert failed and all("commission is neither" in outcome.failed for outcome in failed)
    assert all(outcome.kind != "tick" for outcome in failed)
    assert "FAILED: evening" in cut_page.text(failed, 1.0)


def test_cuts_judge_bears_what_a_tick_before_the_cut_was_asked_to_keep():
    class Store:
        held: dict = {}

        def save(self, name, value):
            self.held[name] = value

    store, value = Store(), {"stages": (1, 2)}
    saved = cuts.noted(store)
    store.save("night", value)
    value["stages"] = ()  # what goes on changing is noted as it was
    assert saved == [("night", {"stages": [1, 2]})] and list(store.held) == ["night"]


def test_cuts_judge_finds_heat_that_goes_on(monkeypatch):
    monkeypatch.setattr(Outside, "cut_power", lambda outside, seconds: None)
    outcomes = list(cuts.campaign(6, 3, ("evening",)))
    assert any("heat for" in outcome.failed for outcome in outcomes)


@pytest.mark.parametrize("argv", [["drill", "--cuts", "-1"]])
def test_cuts_command_refuses_a_count_that_is_none(argv, capsys):
    assert main(argv) == 2
    assert "--cuts must be 1 or more" in capsys.readouterr().err
