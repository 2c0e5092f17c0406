"""The wait between two ticks: in slices, counted, and never longer than a tick."""

import pytest
from app_bench import TIME, Bench, some


@pytest.fixture
def bench():
    """A bench whose clock stands at the deadline of the tick before, and whose tick notes its length."""
    made = Bench()
    app = made.app
    app._tick = made.noting("tick")
    with made:
        app._last_ms = app._next_ms = TIME.ticks_ms()
    app.contacts.sample = lambda panel: (made.done.append(("sample", panel)), made.port.sleep_us(15_000))
    return made


def sleeps(bench, monkeypatch):
    """The sleeps of the loop, ms."""
    found = []
    real = TIME.sleep_ms
    monkeypatch.setattr(TIME, "sleep_ms", lambda ms: (found.append(ms), real(ms))[1])
    return found


# --- a step ----------------------------------------------------------------------------------------


@pytest.mark.parametrize("spent_ms", [0, 1, 100, 234])
def test_step_waits_for_its_deadline_and_looks_at_the_currents_in_the_last_part_of_it(bench, monkeypatch, spent_ms):
    slept = sleeps(bench, monkeypatch)
    with bench as app:
        app.panel = some()
        app._wait = lambda wait_ms: (bench.done.append(("wait", wait_ms)), TIME.sleep_ms(wait_ms))
        for _ in range(3):
            TIME.sleep_ms(spent_ms)
            app.step()
    assert bench.done == [("wait", 235 - spent_ms), ("sample", app.panel), ("tick", 250)] * 3
    assert slept == [spent_ms, 235 - spent_ms] * 3


@pytest.mark.parametrize("spent_ms", [235, 249])
def test_step_without_time_to_wait_does_not_look_at_the_currents_and_is_not_late(bench, spent_ms):
    with bench as app:
        begun = app._next_ms
        TIME.sleep_ms(spent_ms)
        app.step()
        assert bench.done == [("tick", spent_ms)]
        assert TIME.ticks_diff(app._next_ms, begun) == 250  # the deadline stays where it was


@pytest.mark.parametrize("spent_ms", [250, 251, 700])
@pytest.mark.parametrize("sending", [0, 1])
@pytest.mark.parametrize("panel", [False, True])
def test_late_step_goes_on_at_once_from_a_new_deadline_and_tells_its_length(
    bench, monkeypatch, spent_ms, sending, panel
):
    bench.sending = sending
    with bench as app:
        if panel:
            app.panel = some(poll=bench.noting("poll"))
        TIME.sleep_ms(spent_ms)
        slept = sleeps(bench, monkeypatch)
        app.step()
        assert slept == [0] and app._next_ms == app._last_ms == TIME.ticks_ms()
    expected = [("send",), ("pause over", 1)] * sending + [("poll", 0)] * (2 * panel) + [("tick", spent_ms)]
    assert bench.done == expected


@pytest.mark.parametrize("back_ms", [1, 1000])
def test_step_whose_clock_goes_backwards_sleeps_one_period_and_no_more(bench, monkeypatch, back_ms):
    with bench as app:
        app._next_ms = TIME.ticks_add(app._next_ms, back_ms)
        slept = sleeps(bench, monkeypatch)
        app.step()
        assert slept == [250] and app._next_ms == TIME.ticks_ms()
    assert bench.done == [("tick", 250)]


def test_step_counts_its_length_across_the_wrap_of_the_clock(bench):
    with bench as app:
        app._wait = TIME.sleep_ms
        for _ in range(200):  # the simulated clock wraps after 30 s
            app.step()
    assert {entry for entry in bench.done if entry[0] == "tick"} == {("tick", 250)}


# --- the wait ----------------------------------------------------------------------------------------


def waited(bench, wait_ms=235):
    """ms that a wait has taken; its deadline is `wait_ms` and the samples of the currents ahead."""
    with bench as app:
        begun = TIME.ticks_ms()
        app._next_ms = TIME.ticks_add(begun, wait_ms + 15)
        app._wait(wait_ms)
        return TIME.ticks_diff(TIME.ticks_ms(), begun)


def test_wait_without_panel_or_reply_is_one_sleep(bench, monkeypatch):
    slept = sleeps(bench, monkeypatch)
    assert waited(bench) == 235
    assert slept == [235] and bench.done == []


def test_wait_sends_a_reply_piece_by_piece_and_ends_on_its_deadline(bench, monkeypatch):
    slept = sleeps(bench, monkeypatch)
    bench.sending = 1
    assert waited(bench) == 235
    assert slept == [10] * 23 + [5]
    assert bench.done == [("send",)] * 20 + [("pause over", 1)]  # none in the last 30 ms


def test_wait_is_one_sleep_again_once_the_reply_has_gone_out(bench, monkeypatch):
    slept = sleeps(bench, monkeypatch)
    bench.sending = 1

    def send():
        bench.sending = 0
        return bench.done.append(("send",)) or 1

    bench.app.link.send = send
    assert waited(bench) == 235
    assert slept == [10, 225]
    assert bench.done == [("send",), ("pause over", 1)]


@pytest.mark.parametrize(("moved", "told"), [([1, 0, 0], 1), ([0, 0, 1], 1), ([0, 0, 0], 0)])
def test_wait_tells_whether_anybody_took_anything_of_the_reply(bench, moved, told):
    bench.sending, answers = 1, list(moved)
    bench.app.link.send = lambda: answers.pop(0) if answers else 0
    waited(bench)
    assert [bool(entry[1]) for entry in bench.done] == [bool(told)]


def with_panel(bench, draw_ms=0):
    """A panel whose pieces take so long to draw."""
    bench.app.panel = some(
        poll=bench.noting("poll"), draw_piece=lambda: (bench.done.append(("draw",)), TIME.sleep_ms(draw_ms))
    )


def test_wait_polls_the_panel_in_slices_and_draws_while_there_is_room(bench, monkeypatch):
    slept = sleeps(bench, monkeypatch)
    with_panel(bench)
    assert waited(bench) == 235
    assert [ms for ms in slept if ms] == [5] * 47
    polls = [entry[1] for entry in bench.done if entry[0] == "poll"]
    assert polls == [5] * 47
    assert bench.names().count("draw") == bench.names().count("send") == 40  # none with 30 ms left or less
    assert bench.names()[:3] == ["poll", "send", "draw"] and "pause over" not in bench.names()


@pytest.mark.parametrize("draw_ms", [1, 3, 12])
def test_wait_counts_the_time_that_a_piece_takes_and_tells_the_panel_of_it(bench, draw_ms):
    with_panel(bench, draw_ms)
    assert 235 <= waited(bench) < 240
    assert sum(entry[1] for entry in bench.done if entry[0] == "poll") >= 235


def test_wait_with_a_panel_sends_the_reply_too_and_accounts_for_it(bench):
    with_panel(bench)
    bench.sending = 1
    assert waited(bench) == 235
    assert bench.names().count("send") == 40 and bench.done[-1] == ("pause over", 1)


@pytest.mark.parametrize(("wait_ms", "slept_ms"), [(1, [1]), (4, [4]), (5, [5]), (6, [5, 1]), (31, [5] * 6 + [1])])
def test_wait_sleeps_no_longer_than_what_is_left(bench, monkeypatch, wait_ms, slept_ms):
    slept = sleeps(bench, monkeypatch)
    with_panel(bench)
    assert waited(bench, wait_ms) == wait_ms
    assert [ms for ms in slept if ms] == slept_ms
    assert "draw" not in bench.names()


@pytest.mark.parametrize(("wait_ms", "draws"), [(35, 0), (36, 1)])
def test_wait_draws_nothing_with_thirty_milliseconds_left(bench, wait_ms, draws):
    with_panel(bench)
    waited(bench, wait_ms)
    assert bench.names().count("draw") == draws


def test_wait_on_a_clock_that_stands_still_ends_after_a_period(bench, monkeypatch):
    slept = sleeps(bench, monkeypatch)
    with_panel(bench)
    with bench as app:
        app._next_ms = TIME.ticks_add(TIME.ticks_ms(), 250)
        bench.port.stalled_ms = TIME.ticks_ms()
        app._wait(235)
    assert [ms for ms in slept if ms] == [5] * 50
    assert {entry for entry in bench.done if entry[0] == "poll"} == {("poll", 0)}


def test_wait_on_a_clock_that_goes_backwards_ends_at_once(bench):
    with_panel(bench)
    with bench as app:
        app._next_ms = TIME.ticks_add(TIME.ticks_ms(), 1000)
        app._wait(235)
    assert bench.done == [("poll", 0)]
