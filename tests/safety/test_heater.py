"""The heater on simulated pins: permits, contactor order, dead-man, start test, and the two zones of a window."""

import pytest
from safety_bench import CAP_MS, TICK_MS, L, Pins, load

OFF, CONTACTOR_ONLY, ALL = (0, 0, 0), (0, 0, 1), (1, 1, 1)


def test_new_heater_has_every_output_at_its_safe_level():
    pins = Pins()
    assert pins.levels() == OFF
    assert pins.port.levels[13] == 0  # the fan's contact is normally closed: it runs
    heater = pins.heater
    assert (heater.top.on, heater.deck.on, heater.contactor_on, heater.fan_on) == (0, 0, 0, 1)
    assert (heater.deadman_fired, heater.missed, heater.proof_step, heater.contactor_ms) == (0, 0, 0, 0)
    assert (heater.window_ms, heater.min_ms, heater.exclusive, heater.pulse_drive) == (10_000, 500, 0, False)
    assert heater.top.from_start == 1 and heater.deck.from_start == 0
    for zone in (heater.top, heater.deck):
        assert (zone.debt, zone.want_pm, zone.switchings, zone.closed, zone.since_ms) == (0, 0, 0, 0, CAP_MS)


# --- permits -----------------------------------------------------------------------------------------


def test_contactor_closes_first_and_heat_follows_one_tick_later():
    pins = Pins()
    assert pins.drive() == CONTACTOR_ONLY
    assert pins.drive() == ALL
    assert (pins.heater.contactor_switchings, pins.heater.top.switchings) == (1, 1)


@pytest.mark.parametrize(("dt_ms", "levels"), [(249, CONTACTOR_ONLY), (250, ALL), (251, ALL)])
def test_contactor_needs_its_time_to_settle(dt_ms, levels):
    pins = Pins()
    pins.drive()
    assert pins.drive(dt_ms=dt_ms) == levels


def test_permit_seen_before_switches_everything_off():
    pins = Pins().settled()
    assert pins.drive() == ALL
    with pins:
        pins.heater.drive(1000, 1000, pins.permit, TICK_MS)
        assert pins.levels() == OFF


def test_permit_of_a_new_supervisor_without_a_judgement_drives_nothing():
    pins = Pins()
    with pins:
        for _ in range(3):
            pins.heater.drive(1000, 1000, pins.permit, TICK_MS)
            assert pins.levels() == OFF


def test_heat_not_granted_leaves_the_contactor_closed():
    pins = Pins().settled()
    pins.drive()
    for _ in range(2):
        assert pins.drive(granted=0) == CONTACTOR_ONLY
    assert pins.drive() == ALL  # the contactor never moved
    assert pins.heater.contactor_switchings == 1


def test_trip_opens_relays_and_contactor_at_once():
    pins = Pins().settled()
    assert pins.drive() == ALL
    assert pins.drive(granted=0, contactor=0, tripped=1) == OFF


def test_trip_drives_nothing_even_if_the_permit_contradicts_itself():
    pins = Pins().settled()
    assert pins.drive(granted=1, contactor=1, tripped=1) == OFF


def test_in_good_order_the_contactor_opens_one_tick_after_the_relays():
    for zone in ((1000, 0), (0, 1000), (1000, 1000)):
        pins = Pins().settled()
        pins.drive(*zone)
        assert pins.drive(granted=0, contactor=0) == CONTACTOR_ONLY
        assert pins.drive(granted=0, contactor=0) == OFF
    assert pins.drive(0, 0) == CONTACTOR_ONLY
    assert pins.drive(granted=0, contactor=0) == OFF  # no relay was on: nothing to wait for


def test_granted_heat_without_the_contactor_drives_no_relay():
    pins = Pins().settled()
    pins.drive()
    assert pins.drive(granted=1, contactor=0)[:2] == (0, 0)


def test_heat_off_is_at_once_and_leaves_the_contactor_to_the_next_tick():
    pins = Pins().settled()
    pins.drive()
    with pins:
        pins.heater.heat_off()
    assert pins.levels() == CONTACTOR_ONLY
    with pins:
        pins.heater.all_off()
    assert pins.levels() == OFF


def test_zones_that_are_not_wired_stay_off():
    pins = Pins(without=("HEAT_DECK", "CONTACTOR", "COOLING_FAN")).settled()
    assert pins.drive() == (1, 0, 0)
    assert (pins.heater.deck.on, pins.heater.deck.switchings) == (0, 0)
    assert pins.heater.follows() == 1
    with pins:
        pins.heater.run_fan(0)
    assert pins.heater.fan_on == 1  # no fan output of ours: it may always be running


# --- pins read back ------------------------------------------------------------------------------------


@pytest.mark.parametrize("pin", [10, 11, 12])
@pytest.mark.parametrize("level", [0, 1])
def test_pin_that_does_not_follow_is_noticed(pin, level):
    pins = Pins().settled()
    with pins:
        if level == 0:
            pins.drive()
        else:
            pins.heater.all_off()
        assert pins.heater.follows() == 1
        pins.port.obey(["pad", pin, level])
        assert pins.heater.follows() == 0


def test_fan_pin_is_high_only_to_stop_the_fan():
    pins = Pins()
    with pins:
        pins.heater.run_fan(0)
        assert (pins.port.levels[13], pins.heater.fan_on) == (1, 0)
        pins.heater.run_fan(1)
        assert (pins.port.levels[13], pins.heater.fan_on) == (0, 1)


# --- order within a tick ---------------------------------------------------------------------------------

TOP, DECK, CONTACTOR = 10, 11, 12


def moves(pins, begun):
    """[(pin, level), ...] since the log counted `begun`."""
    return [(entry >> 1 & 63, entry & 1) for entry in pins.port.log[begun : pins.port.log_count]]


def test_relays_open_before_the_contactor():
    pins = Pins().settled()
    pins.drive()
    begun = pins.port.log_count
    pins.drive(tripped=1)
    assert moves(pins, begun)[-1] == (CONTACTOR, 0)
    assert sorted(moves(pins, begun)) == [(TOP, 0), (DECK, 0), (CONTACTOR, 0)]


def test_start_test_never_has_two_outputs_on_at_once():
    pins = Pins()
    proof(pins, 9)
    levels = {TOP: 0, DECK: 0, CONTACTOR: 0}
    for number, level in moves(pins, 0):
        levels[number] = level
        assert sum(levels.values()) <= 1


@pytest.mark.parametrize("proving", [False, True])
def test_what_the_dead_man_has_cut_does_not_rise_for_a_moment_before_it_was_told(proving):
    pins = Pins().settled()
    pins.drive()
    with pins:
        pins.heater.arm_deadman()
        pins.port.sleep_us(600_000)
    assert pins.levels() == OFF
    begun = pins.port.log_count
    for _ in range(3):
        if proving:
            proof(pins, 1)
        else:
            pins.drive()
    assert (moves(pins, begun), pins.heater.proof_step) == ([], 0)


# --- contactor drive -----------------------------------------------------------------------------------


def test_contactor_counts_its_closings_alone():
    pins = Pins()
    for _ in range(3):
        pins.drive()
        pins.drive(contactor=0)
    assert pins.heater.contactor_switchings == 3


def test_pulsed_contactor_is_high_between_its_edges_and_reads_back_as_told():
    pins = Pins(pulse=True)
    for _ in range(3):
        assert pins.drive()[2] == 1
        with pins:
            assert pins.heater.follows() == 1


def test_pulse_drive_without_a_contactor_drives_the_relays_alone():
    assert Pins(without=("CONTACTOR",), pulse=True).settled().drive() == (1, 1, 0)


def test_pulse_drive_makes_one_edge_a_tick_and_none_without_a_drive():
    pins = Pins(pulse=True)
    for _ in range(5):
        pins.wires.edges.clear()
        pins.drive()
        assert sum(rose >> 12 & 1 for rose in pins.wires.edges) == 1
    pins.wires.edges.clear()
    with pins:
        pins.port.sleep_us(5_000_000)
    assert not any(rose >> 12 & 1 for rose in pins.wires.edges)


def test_level_drive_makes_one_edge_in_all():
    pins = Pins()
    for _ in range(5):
        pins.drive()
    assert sum(rose >> 12 & 1 for rose in pins.wires.edges) == 1


@pytest.mark.parametrize("pulse", [False, True])
def test_contactor_pin_is_low_after_a_trip(pulse):
    pins = Pins(pulse=pulse).settled()
    assert pins.drive(tripped=1) == OFF


# --- dead-man --------------------------------------------------------------------------------------------


def off_after_ms(pins, phase_ms=0):
    """How long heat stays on after the last drive()."""
    with pins:
        pins.port.sleep_us(phase_ms * 1000)
        pins.heater.drive(1000, 1000, pins.allow(), TICK_MS)
        assert pins.levels() == ALL
        for ms in range(2_000):
            if pins.levels() == OFF:
                return ms
            pins.port.sleep_us(1000)
    return None


@pytest.mark.parametrize("mcu", ["rp2040", "esp32s3"])
@pytest.mark.parametrize("phase_ms", [0, 1, 60, 124])
def test_without_a_drive_everything_is_off_within_two_periods(mcu, phase_ms):
    pins = Pins(mcu=mcu).settled()
    with pins:
        pins.heater.arm_deadman()
    pins.drive()
    after_ms = off_after_ms(pins, phase_ms)
    assert 375 <= after_ms <= 2 * L.PERIOD_MS
    assert pins.heater.deadman_fired == 1
    assert len(pins.port.timers) == 1


def test_hard_timer_fires_while_the_interpreter_hangs():
    pins = Pins().settled()
    with pins:
        pins.heater.arm_deadman()
        pins.drive()
        pins.port.pass_us(2 * L.PERIOD_MS * 1000, is_hung=True)
    assert pins.levels() == OFF


def test_dead_man_holds_off_what_the_stalled_tick_still_wants_to_drive():
    pins = Pins().settled()
    with pins:
        pins.heater.arm_deadman()
        pins.drive()
        permit = pins.allow()  # judged, and then the loop stalls before it drives
        pins.port.sleep_us(600_000)
        pins.heater.drive(1000, 1000, permit, TICK_MS)
        assert pins.levels() == OFF
        pins.heater.prove(pins.allow(), TICK_MS)
        assert pins.levels() == OFF
        assert (pins.heater.take_deadman(), pins.heater.take_deadman()) == (1, 0)


def test_regular_ticks_with_jitter_never_fire_the_dead_man():
    pins = Pins().settled()
    assert pins.heater._timer is None
    pins.heater.missed = L.DEADMAN_MISSES
    with pins:
        pins.heater.arm_deadman()
        assert pins.heater.missed == 0
        for n in range(400):
            pins.heater.drive(1000, 1000, pins.allow(), TICK_MS)
            assert pins.levels()[2] == 1
            pins.port.sleep_us((250 + (n * 37 % 121)) * 1000)
    assert pins.heater.deadman_fired == 0


@pytest.mark.parametrize("what", ["nothing", "contactor", "top", "deck"])
def test_dead_man_tells_only_of_what_it_cut(what):
    pins = Pins()
    with pins:
        pins.heater.arm_deadman()
        if what == "contactor":
            pins.heater.drive(0, 0, pins.allow(), TICK_MS)
        elif what != "nothing":
            getattr(pins.heater, what).set(1)
        pins.port.sleep_us(5_000_000)
        assert pins.levels() == OFF
    assert pins.heater.deadman_fired == (0 if what == "nothing" else 1)
    assert pins.heater.missed == L.DEADMAN_MISSES  # the counter stops: a year at the prompt is no matter


def test_proving_feeds_the_dead_man_too():
    pins = Pins()
    with pins:
        pins.heater.arm_deadman()
        for _ in range(20):
            pins.heater.prove(pins.allow(), TICK_MS)
            pins.port.sleep_us(TICK_MS * 1000)
    assert pins.heater.deadman_fired == 0


def test_port_without_hard_timers_still_gets_its_dead_man():
    pins = Pins().settled()
    heater_module = load("board_io.heater")
    timer = heater_module.Timer

    class OldTimer(timer):
        def __init__(self, id=-1, *, mode, period, callback):
            timer.__init__(self, id, mode=mode, period=period, callback=callback)

    heater_module.Timer = OldTimer
    try:
        with pins:
            pins.heater.arm_deadman()
    finally:
        heater_module.Timer = timer
    pins.drive()
    assert 375 <= off_after_ms(pins) <= 500


# --- start test ------------------------------------------------------------------------------------------


def proof(pins, ticks, **permit):
    """Levels of so many ticks of the start test, and what the last answered."""
    seen = []
    done = 0
    with pins:
        for _ in range(ticks):
            done = pins.heater.prove(pins.allow(**permit), TICK_MS)
            seen.append(pins.levels())
    return seen, done


def test_start_test_tries_each_relay_alone_then_the_contactor_alone():
    pins = Pins()
    for _ in range(8):
        proof(pins, 1)
        with pins:
            assert pins.heater.follows() == 1
    pins = Pins()
    seen, done = proof(pins, 8)
    assert seen == [(1, 0, 0)] * 2 + [(0, 1, 0)] * 2 + [OFF] + [CONTACTOR_ONLY] * 3
    assert done == 0
    seen, done = proof(pins, 1)
    assert (seen, done) == ([CONTACTOR_ONLY], 1)
    assert proof(pins, 1) == ([CONTACTOR_ONLY], 1)
    assert pins.drive() == ALL  # the contactor has settled meanwhile
    assert pins.heater.proof_step == 0


def test_start_test_begins_anew_when_heat_is_not_permitted():
    for spoil in ({"granted": 0}, {"granted": 0, "contactor": 0}):
        pins = Pins()
        proof(pins, 7)
        assert proof(pins, 1, **spoil) == ([OFF], 0)
        assert proof(pins, 8)[0][0] == (1, 0, 0)
        pins = Pins()
        assert proof(pins, 30, **spoil) == ([OFF] * 30, 0)


def test_start_test_needs_a_fresh_permit():
    pins = Pins()
    proof(pins, 2)
    with pins:
        assert pins.heater.prove(pins.permit, TICK_MS) == 0
    assert (pins.levels(), pins.heater.proof_step) == (OFF, 0)


# --- the dead-man itself -----------------------------------------------------------------------------


@pytest.mark.parametrize(("mcu", "pulse", "survives"), [("rp2040", False, True), ("rp2350", False, True),
                                                        ("esp32", False, False), ("esp32s3", True, True)])  # fmt: skip
def test_deadman_tells_whether_heat_survives_a_hang(mcu, pulse, survives):
    pins = Pins(mcu, pulse=pulse)
    pins.board.MCU = mcu
    with pins:
        heater = load("board_io.heater").Heater(pins.board)
        assert not heater.deadman_hard
        heater.arm_deadman()
        assert bool(heater.survives_a_hang()) is survives


def test_deadman_on_firmware_without_hard_timers_is_soft_and_says_so():
    pins = Pins()
    module = load("board_io.heater")
    real = module.Timer

    def old(*values, **named):
        if "hard" in named:
            raise TypeError("unexpected keyword argument 'hard'")
        return real(*values, **named)

    old.PERIODIC = real.PERIODIC
    module.Timer = old
    try:
        with pins:
            pins.heater.arm_deadman()
    finally:
        module.Timer = real
    assert not pins.heater.survives_a_hang()


@pytest.mark.parametrize("without", [(), ("HEAT_TOP",), ("HEAT_DECK",), ("CONTACTOR",)])
def test_deadman_whose_callback_fails_cuts_every_pin_and_goes_on(without):
    pins = Pins(without=without).settled()
    heater = pins.heater
    with pins:
        heater.arm_deadman()
    pins.drive()
    assert pins.levels() == tuple(int(name not in without) for name in ("HEAT_TOP", "HEAT_DECK", "CONTACTOR"))
    with pins:
        heater.missed = None  # the callback raises
        pins.port.sleep_us(L.DEADMAN_MS * 1000)
        assert pins.levels() == (0, 0, 0)
        assert heater.take_deadman() == 1
        assert len(pins.port.timers) == 1 and pins.port.printed == []


def test_deadman_that_has_stopped_gets_no_heat_beside_it_and_is_seen_within_three_drives():
    pins = Pins().settled()
    with pins:
        pins.heater.arm_deadman()
    pins.drive()
    pins.port.timers.clear()
    levels = [pins.drive() for _ in range(L.DEADMAN_SILENT + 1)]
    assert levels == [(1, 1, 1), (0, 0, 1), (0, 0, 0)]
    assert pins.heater.take_deadman() == 1
    for _ in range(3):
        assert pins.drive() == (0, 0, 0)
        assert pins.heater.take_deadman() == 1  # again each time: it does not come back by itself
        assert pins.heater._silent == L.DEADMAN_SILENT  # the counter stops


def test_deadman_that_never_ticks_after_its_start_gets_no_heat_beside_it_either():
    pins = Pins().settled()
    pins.heater._silent = L.DEADMAN_SILENT  # it has been armed before
    with pins:
        pins.heater.arm_deadman()
    pins.port.timers.clear()
    assert [pins.drive() for _ in range(L.DEADMAN_SILENT + 1)] == [(1, 1, 1), (0, 0, 1), (0, 0, 0)]


def test_deadman_says_itself_that_it_ticks_for_ever_and_hard():
    pins = Pins()
    module = load("board_io.heater")
    real = module.Timer
    asked = []

    def timer(number, **named):
        asked.append({"number": number, **named})
        return real(number, **named)

    timer.PERIODIC = real.PERIODIC
    module.Timer = timer
    try:
        with pins:
            pins.heater.arm_deadman()
    finally:
        module.Timer = real
    callback = asked[0].pop("callback")
    assert callback == pins.heater._timer_ticked
    assert asked == [{"number": -1, "mode": real.PERIODIC, "period": L.DEADMAN_MS, "hard": True}]


def test_deadman_two_drives_close_together_after_a_stall_cost_a_moment_of_heat_and_no_trip():
    pins = Pins().settled()
    with pins:
        pins.heater.arm_deadman()
    pins.drive()
    levels = []
    for wait_ms in (0, 250, 250, 250):  # the second drive comes at once: the timer had no time to tick between
        with pins:
            pins.heater.drive(1000, 1000, pins.allow(), TICK_MS)
            levels.append(pins.levels())
            pins.port.sleep_us(wait_ms * 1000)
    assert levels == [(1, 1, 1), (0, 0, 1), (0, 0, 1), (1, 1, 1)]  # and the shortest time off of a relay
    assert pins.heater.take_deadman() == 0


@pytest.mark.parametrize("at", range(12))
@pytest.mark.parametrize("doing", ["heat", "close", "prove", "prove contactor"])
def test_stall_within_one_call_leaves_no_pin_high(at, doing):
    """The dead-man fires while the heater sets its pins: what it has cut stays low to the end of that call."""
    pins = Pins().settled() if doing == "heat" else Pins()
    if doing == "prove contactor":
        proof(pins, 5)
    with pins:
        pins.heater.arm_deadman()
        calls = [0]
        real = pins.port.write

        def slow(state, level):
            calls[0] += 1
            if calls[0] == at + 1:
                pins.port.pass_us(700_000, True)
            real(state, level)

        pins.port.write = slow
        if doing.startswith("prove"):
            pins.heater.prove(pins.allow(), TICK_MS)
        else:
            pins.heater.drive(1000, 1000, pins.allow(), TICK_MS)
        stalled = calls[0] > at
        assert pins.levels() == (0, 0, 0) or not stalled


@pytest.mark.parametrize("name", ["HEAT_TOP", "HEAT_DECK", "CONTACTOR", "COOLING_FAN"])
def test_output_left_high_by_a_soft_reset_is_low_once_the_heater_is_made(name):
    pins = Pins()
    number = getattr(pins.board, name)
    with pins:
        pins.port.write(pins.port.claim(number, "out"), 1)
        assert pins.port.levels[number] == 1
        load("board_io.heater").Heater(pins.board)
    assert pins.port.levels[number] == 0
