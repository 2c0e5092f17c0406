"""The record of an experiment: begun anew in the same memory, and made coarser: every two samples become one."""

import pytest

from host.shim.loader import world

module = world().load("tizzone.learning.model_fit")
judge = world().load("tizzone.learning.judgement")


def filled(count, sample_s=6.0):
    window = module.Window(150.0, sample_s)
    for i in range(count):
        assert window.add(150.0 + 0.02 * i, (i % 7) * 10.0, sample_s)
    return window


@pytest.mark.parametrize("more", [0, 1, 150, 299])
def test_record_made_coarser_keeps_its_newer_half_in_pairs(more):
    window = filled(300 + more)
    before = [window.at(i) for i in range(150, 300)]
    window.coarsen()
    assert (window.count, window.sample_s) == (75, 12.0)
    for i in range(75):
        (one_k, one_pct), (two_k, two_pct) = before[2 * i : 2 * i + 2]
        assert window.at(i)[0] == pytest.approx((one_k + two_k) / 2, abs=0.0101)
        assert window.at(i)[1] == pytest.approx((one_pct + two_pct) / 2, abs=0.26)


def test_record_made_coarser_takes_three_times_as_many_of_twice_the_time():
    window = module.Window(150.0, 6.0)
    for _ in range(300):
        window.add(151.0, 40.0, 6.0)
    window.coarsen()
    assert not window.add(155.0, 100.0, 6.0)
    assert window.add(157.0, 50.0, 6.0)
    assert window.count == 76
    assert window.at(75) == pytest.approx((6.0, 75.0))
    assert window.at(74) == pytest.approx((1.0, 40.0))
    for _ in range(224):
        window.add(152.0, 30.0, 12.0)
    assert window.count == 300
    assert window.at(0) == pytest.approx((1.0, 40.0))


def test_record_begun_anew_knows_nothing_of_the_one_before():
    window = filled(310)
    window.add(200.0, 100.0, 3.0)  # half a sample
    arrays = window.pv, window.out
    window.begin(220.0, 2.0)
    assert (window.count, window.base_c, window.sample_s) == (0, 220.0, 2.0)
    assert window.add(221.0, 30.0, 2.0)
    assert window.count == 1 and window.at(0) == pytest.approx((1.0, 30.0))
    assert (window.pv, window.out) == arrays and window.pv is arrays[0]


def test_oven_that_answers_later_than_the_longest_lead_gets_the_longest():
    assert judge.start_tune(2.0, 120.0, 1500.0, 76.0)["lead_s"] == 150.0
    assert judge.start_tune(2.0, 60.0, 1500.0, 75.0)["lead_s"] == 105.0


def test_integral_time_is_half_as_long_again_as_simcs_within_what_may_be_stored():
    # SIMC: ti = min(tau1, 4 (tauc + theta)) in series form, tauc = theta = 8 + 5 + 4: 136; ideal + td
    assert judge.start_tune(2.0, 8.0, 1500.0, 20.0)["ti_s"] == 1.5 * (136.0 + 20.0)
    assert judge.start_tune(2.0, 90.0, 3000.0, 20.0)["ti_s"] == 900.0
