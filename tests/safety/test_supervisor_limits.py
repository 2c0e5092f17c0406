"""What others may ask of the supervisor: it takes a permit back, lowers a limit, or gives back what was earned."""

import pytest
from safety_bench import Bench, L, load

TWICE = ("_limit_mc", "_limit_inverted"), ("_ceiling_mc", "_ceiling_inverted")


def kept_twice(sup):
    return all(getattr(sup, one) == ~getattr(sup, other) for one, other in TWICE)


def test_permit_of_a_sequence_that_has_ended_is_taken_back_whole():
    bench = Bench()
    permit = bench.tick()
    assert (permit.granted, permit.contactor) == (1, 1)
    serial = permit.serial
    bench.sup.withdraw_unless(0)
    assert (permit.granted, permit.contactor, permit.serial) == (0, 0, serial)


@pytest.mark.parametrize("given", [0, 1])
def test_permit_of_an_active_sequence_stays_as_it_was_judged(given):
    bench = Bench()
    bench.seen.enable = given
    permit = bench.tick()
    bench.sup.withdraw_unless(1)
    assert (permit.granted, permit.contactor) == (given, given)


@pytest.mark.parametrize(
    ("asked_mc", "limit_mc", "ceiling_mc"),
    [
        (100_000, 100_000, 80_000),
        (499_999, 499_999, 479_999),
        (500_000, 500_000, 480_000),
        (500_001, 500_000, 480_000),
        (550_000, 500_000, 480_000),
        (29_999, 30_000, 10_000),
    ],
)
def test_limit_is_lowered_and_never_raised(asked_mc, limit_mc, ceiling_mc):
    sup = Bench().sup
    sup.lower_limit(asked_mc)
    assert (sup.limit_mc, sup.ceiling_mc, sup.release_mc) == (limit_mc, ceiling_mc, 480_000)
    assert kept_twice(sup)


def test_limit_lowered_twice_stays_at_the_lower_until_it_is_restored():
    sup = Bench().sup
    sup.lower_limit(100_000)
    sup.lower_limit(200_000)
    assert (sup.limit_mc, sup.ceiling_mc) == (100_000, 80_000)
    sup.restore_limit()
    assert (sup.limit_mc, sup.ceiling_mc) == (500_000, 480_000)
    assert kept_twice(sup)


@pytest.mark.parametrize(
    ("high_limit_mc", "release_mc", "limit_mc"),
    [(500_000, 60_000, 100_000), (90_000, 60_000, 90_000), (999_000, 480_000, 520_000)],
)
def test_limit_restored_is_the_setting_and_at_most_what_the_release_allows(high_limit_mc, release_mc, limit_mc):
    sup = Bench(high_limit_mc=high_limit_mc, release_mc=release_mc).sup
    sup.lower_limit(40_000)
    sup.restore_limit()
    assert (sup.limit_mc, sup.release_mc) == (limit_mc, release_mc)


def test_lowered_limit_trips_in_the_next_tick():
    bench = Bench()
    bench.dome.limit_mc = 100_000
    assert bench.tick().granted
    bench.sup.lower_limit(100_000)
    permit = bench.tick()
    assert (permit.granted, permit.contactor, bench.first) == (0, 0, "high-limit")


@pytest.mark.parametrize("release_c", L.RELEASES_C)
@pytest.mark.parametrize("reduced", [0, 1])
def test_release_that_was_earned_moves_limit_and_ceiling(release_c, reduced):
    sup = Bench(release_mc=60_000).sup
    sup.lower_limit(40_000)
    sup.take_release(release_c, reduced)
    assert (sup.release_mc, sup.release_reduced) == (release_c * 1000, reduced)
    assert sup.limit_mc == min(500_000, release_c * 1000 + 40_000)
    assert sup.ceiling_mc == min(release_c * 1000, sup.limit_mc - 20_000)
    assert kept_twice(sup)


@pytest.mark.parametrize("release_c", [0, 59, 61, 479, 481, 530, 10_000, -1])
def test_release_that_no_record_can_earn_counts_as_the_lowest(release_c):
    sup = Bench().sup
    sup.take_release(release_c, 0)
    assert (sup.release_mc, sup.limit_mc, sup.ceiling_mc) == (60_000, 100_000, 60_000)


def test_supervisor_is_not_armed_before_the_self_test_has_spoken():
    module = load("safety.supervisor")
    sup = module.Supervisor(high_limit_mc=500_000, release_mc=480_000)
    sup.arm()
    assert sup.armed == 0


@pytest.mark.parametrize("passed", [True, False])
def test_supervisor_is_armed_once_the_self_test_has_spoken(passed):
    module = load("safety.supervisor")
    sup = module.Supervisor(high_limit_mc=500_000, release_mc=480_000)
    sup.note_self_test(passed)
    sup.arm()
    assert (sup.self_test, sup.armed) == (module.PASSED if passed else module.FAILED, 1)


@pytest.mark.parametrize("reduced", [0, 1])
def test_supervisor_of_a_reduced_release_says_so(reduced):
    bench = Bench(release_reduced=reduced)
    bench.tick()
    assert bench.is_present("not-commissioned") == bool(reduced)


def test_latch_that_was_stored_is_changed_no_more():
    bench = Bench()
    bench.sup.raise_event(L.POWER_CUT)
    assert bench.sup.latch_changed == 1
    bench.sup.latch_kept()
    assert (bench.sup.latch_changed, bench.first) == (0, "power-cut")
