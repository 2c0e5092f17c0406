"""Clock, timers and watchdog of the simulated board."""

import copy

import pytest

from host.shim.port import PERIOD, BoardHung, BoardReset


def test_ticks_start_thirty_seconds_before_their_wrap(board):
    time = board.time
    first = time.ticks_ms()
    assert first == 2**30 - 30_000
    time.sleep_ms(29_999)
    assert time.ticks_ms() == 2**30 - 1
    time.sleep_ms(1)
    assert time.ticks_ms() == 0
    time.sleep_ms(5)
    assert time.ticks_diff(time.ticks_ms(), first) == 30_005
    assert time.ticks_add(first, 30_005) == time.ticks_ms()


def test_ticks_us_wraps_at_the_same_moment(board):
    time = board.time
    start = time.ticks_us()
    time.sleep(30)
    assert time.ticks_us() == 0
    assert time.ticks_diff(time.ticks_us(), start) == 30_000_000


# MicroPython documentation of time.ticks_diff: right for distances below half a period, TICKS_PERIOD/2.
@pytest.mark.parametrize("distance", [0, 1, -1, 2**29 - 1, -(2**29)])
def test_ticks_diff_is_right_within_half_a_period(board, distance):
    for start in (0, 5, PERIOD - 1, PERIOD // 2):
        assert board.time.ticks_diff((start + distance) % PERIOD, start) == distance


def test_ticks_diff_fails_beyond_half_a_period_as_on_a_board(board):
    assert board.time.ticks_diff(2**29, 0) == -(2**29)


@pytest.mark.parametrize("wrong", [-1, 2**30])
def test_ticks_diff_refuses_what_is_no_tick(board, wrong):
    with pytest.raises(ValueError, match="not a tick"):
        board.time.ticks_diff(wrong, 0)


def test_ticks_add_refuses_half_a_period(board):
    assert board.time.ticks_add(0, 2**29 - 1) == 2**29 - 1
    with pytest.raises(OverflowError):
        board.time.ticks_add(0, 2**29)


@pytest.mark.parametrize("sleep", ["sleep_ms", "sleep_us"])
def test_sleep_refuses_fractions(board, sleep):
    with pytest.raises(TypeError, match="whole number"):
        getattr(board.time, sleep)(1.5)


def test_sleep_of_nothing_or_less_passes_no_time(board):
    board.time.sleep_ms(0)
    board.time.sleep_ms(-5)
    assert board.port.now_us == 0
    assert board.outside.told == []


def test_busy_waiting_moves_the_clock(board):
    time = board.time
    start = time.ticks_ms()
    reads = 0
    while time.ticks_diff(time.ticks_ms(), start) < 50 and reads < 10_000:
        reads += 1
    assert time.ticks_diff(time.ticks_ms(), start) >= 50


def test_timer_fires_in_a_sleep_at_its_exact_time(board):
    fired = []
    timer = board.machine.Timer(-1)
    timer.init(mode=timer.PERIODIC, period=70, callback=lambda t: fired.append(board.port.now_us))
    board.time.sleep_ms(350)
    assert fired == [70_000, 140_000, 210_000, 280_000, 350_000]
    assert [piece[0] for piece in board.outside.told] == [70_000] * 5
    timer.deinit()
    board.time.sleep_ms(100)
    assert len(fired) == 5


def test_timer_one_shot_fires_once(board):
    fired = []
    timer = board.machine.Timer(-1)
    timer.init(mode=timer.ONE_SHOT, period=10, callback=fired.append)
    board.time.sleep_ms(100)
    assert fired == [timer]


def test_timer_made_in_mid_sleep_quiet_time_still_fires(board):
    board.time.sleep_ms(500)  # the board has worked out that nothing is due
    fired = []
    board.machine.Timer(-1, period=10, callback=fired.append)
    board.time.sleep_ms(15)
    assert len(fired) == 1


def test_timer_whose_callback_raises_ends_and_is_told(board):
    def fail(timer):
        raise ValueError("in the callback")

    board.machine.Timer(-1, period=10, callback=fail)
    board.time.sleep_ms(100)
    assert board.port.timers == []
    assert board.port.printed == ["timer callback: ValueError('in the callback')"]


def test_outputs_reach_the_outside_with_the_piece_of_time_they_held(board):
    Pin = board.machine.Pin
    pin = Pin(10, Pin.OUT, value=0)
    board.machine.Timer(-1, period=30, callback=lambda t: pin.on())
    board.time.sleep_ms(50)
    assert board.outside.told == [(30_000, {10: 0}, 0), (20_000, {10: 1}, 1 << 10)]


def test_watchdog_bites_in_a_sleep_at_its_time_and_not_before(board):
    dog = board.machine.WDT(timeout=2000)
    board.time.sleep_ms(1999)
    dog.feed()
    board.time.sleep_ms(1999)
    with pytest.raises(BoardReset, match="watchdog"):
        board.time.sleep_ms(60_000)
    assert board.port.now_us == (1999 + 2000) * 1000


@pytest.mark.parametrize(
    ("mcu", "timeout", "good"),
    # MicroPython: ports/rp2/machine_wdt.c refuses more than 8388 ms; ports/esp32 has no such bound.
    [
        *(("rp2040", 8387, True), ("rp2040", 8388, True), ("rp2040", 8389, False)),
        *(("esp32", 8389, True), ("esp32", 0, False)),
    ],
)
def test_watchdog_timeout_bounds(make_board, mcu, timeout, good):
    board = make_board(mcu)
    if good:
        board.machine.WDT(timeout=timeout)
        assert board.port.watchdog_us == timeout * 1000
    else:
        with pytest.raises(ValueError, match="watchdog timeout"):
            board.machine.WDT(timeout=timeout)
        assert board.port.watchdog_us == 0


def test_watchdog_fed_before_it_is_armed_is_refused(board):
    dog = board.machine.WDT(timeout=2000)
    board.port.reset("watchdog")
    with pytest.raises(RuntimeError, match="before it was armed"):
        dog.feed()


def test_reset_makes_every_pin_an_input_and_tells_its_cause(board):
    Pin = board.machine.Pin
    Pin(10, Pin.OUT, value=1)
    assert board.machine.reset_cause() == board.machine.PWRON_RESET
    board.port.reset("watchdog")
    assert board.machine.reset_cause() == board.machine.WDT_RESET
    board.time.sleep_ms(1)
    assert board.outside.told[-1][1] == {}
    assert board.time.ticks_ms() == 2**30 - 30_000 + 1


def test_reset_by_the_program_looks_like_the_watchdog_on_rp2_only(make_board):
    for mcu, cause in (("rp2040", 3), ("esp32", 2)):
        board = make_board(mcu)
        with pytest.raises(BoardReset) as caught:
            board.machine.reset()
        board.port.reset(caught.value.cause)
        assert board.machine.reset_cause() == cause


def test_disturbances_of_the_board(board):
    time = board.time
    board.outside.orders.append(["late", 3_000_000])
    time.sleep_ms(250)
    time.sleep_ms(250)
    assert board.port.now_us == 3_500_000
    board.outside.orders.append(["stall", 1])
    time.sleep_ms(250)
    stood = time.ticks_ms()
    time.sleep_ms(1000)
    assert time.ticks_ms() == stood
    board.outside.orders.append(["stall", 0])
    time.sleep_ms(1)
    assert time.ticks_ms() != stood
    board.outside.orders.append(["fail", "sleep", "OSError"])
    time.sleep_ms(1)
    with pytest.raises(OSError, match="disturbed: sleep"):
        time.sleep_ms(1)
    time.sleep_ms(1)
    board.outside.orders.append(["power", 5])
    with pytest.raises(BoardReset, match="power"):
        time.sleep_ms(1)


@pytest.mark.parametrize(("mcu", "hard_fires"), [("rp2040", 1), ("esp32", 0)])
def test_hung_program_leaves_hard_timers_alone(make_board, mcu, hard_fires):
    board = make_board(mcu)
    fired = []
    Timer = board.machine.Timer
    Timer(-1, period=100, mode=Timer.ONE_SHOT, callback=lambda t: fired.append("hard"), hard=True)
    Timer(-1, period=100, mode=Timer.ONE_SHOT, callback=lambda t: fired.append("soft"))
    board.outside.orders.append(["hang", 0])
    with pytest.raises(BoardHung):
        board.time.sleep_ms(10)
    board.port.pass_us(500_000, is_hung=True)
    assert fired == ["hard"] * hard_fires


def test_copy_of_a_board_goes_its_own_way(board):
    Pin = board.machine.Pin
    pin = Pin(10, Pin.OUT, value=0)
    dog = board.machine.WDT(timeout=2000)
    port, twin_pin, twin_dog = copy.deepcopy((board.port, pin, dog))
    with board.world.running(port):
        board.time.sleep_ms(1500)
        twin_pin.on()
        twin_dog.feed()
    assert (port.now_us, board.port.now_us) == (1_500_000, 0)
    assert (port.levels, board.port.levels) == ({10: 1}, {10: 0})
    assert (port.watchdog_due_us, board.port.watchdog_due_us) == (3_500_000, 2_000_000)
    assert port.outside.told and not board.outside.told
