"""The common promises, for every kind of wiring."""

import pytest
from safety_bench import Bench, load
from safety_promises import SafetyPromises


class TestFullWiring(SafetyPromises):
    def make(self, **more):
        return Bench(**more)


class TestOneProbe(SafetyPromises):
    def make(self, **more):
        return Bench(stone=False, **more)


class TestNothingSensed(SafetyPromises):
    def make(self, **more):
        return Bench(stone=False, sensed=False, **more)


class TestLowRelease(SafetyPromises):
    def make(self, **more):
        bench = Bench(high_limit_mc=500_000, release_mc=120_000, **more)
        if more.get("ready", True):
            bench.set_setpoint(100_000)
        return bench


@pytest.mark.parametrize("stone_fails", [True, False])
def test_supervisor_stone_reading_not_usable_denies_in_the_same_tick(stone_fails):
    bench = Bench()
    bench.tick()
    bench.stone.usable = not stone_fails
    permit = bench.tick()
    assert (permit.granted, permit.contactor) == (0 if stone_fails else 1, 1)


def test_permit_that_nobody_has_judged_gives_nothing():
    permit = load("safety.permit").Permit()
    assert (permit.granted, permit.contactor, permit.tripped, permit.serial) == (0, 0, 0, 0)
