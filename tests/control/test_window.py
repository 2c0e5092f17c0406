"""The record of an experiment that is made coarser: every two samples become one."""

import pytest

from host.shim.loader import world

module = world().load("tizzone.learning.model_fit")


@pytest.mark.parametrize("more", [0, 1, 150, 299])
def test_record_made_coarser_keeps_its_newest_samples_in_pairs(more):
    window = module.Window(150.0, 6.0)
    for i in range(300 + more):
        assert window.add(150.0 + 0.02 * i, (i % 7) * 10.0, 6.0)
    before = [window.at(i) for i in range(300)]
    window.coarsen()
    assert (window.count, window.sample_s) == (150, 12.0)
    for i in range(150):
        (one_k, one_pct), (two_k, two_pct) = before[2 * i : 2 * i + 2]
        assert window.at(i)[0] == pytest.approx((one_k + two_k) / 2, abs=0.0101)
        assert window.at(i)[1] == pytest.approx((one_pct + two_pct) / 2, abs=0.26)


def test_record_made_coarser_takes_as_many_again_of_twice_the_time():
    window = module.Window(150.0, 6.0)
    for _ in range(300):
        window.add(151.0, 40.0, 6.0)
    window.coarsen()
    assert not window.add(155.0, 100.0, 6.0)
    assert window.add(157.0, 50.0, 6.0)
    assert window.count == 151
    assert window.at(150) == pytest.approx((6.0, 75.0))
    assert window.at(149) == pytest.approx((1.0, 40.0))
    for _ in range(149):
        window.add(152.0, 30.0, 12.0)
    assert window.count == 300
    assert window.at(0) == pytest.approx((1.0, 40.0))
