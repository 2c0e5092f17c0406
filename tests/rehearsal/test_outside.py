"""Contactor, relays, senses, limiter and fan of the rehearsed wiring."""

import copy

import pytest


def running(wired, **changes):
    """Contactor closed and the top relay on."""
    oven = wired(**changes)
    oven.wait(0.5, CONTACTOR=1)
    oven.wait(0.5, HEAT_TOP=1)
    return oven


def test_outside_at_rest_senses_a_healthy_oven(wired):
    oven = wired()
    oven.wait(0.3)
    for name in ("ENABLE", "LIMIT_OK", "SELECTOR", "CONTACTOR_OPEN", "FAN_OK", "DOOR"):
        assert oven.reads(name) == 0, name
    for name in ("MAINS_SENSE_TOP", "MAINS_SENSE_DECK", "MAINTENANCE"):
        assert oven.reads(name) == 1, name


@pytest.mark.parametrize(("contactor", "relay", "flows"), [(0, 0, False), (1, 0, False), (0, 1, False), (1, 1, True)])
def test_heat_needs_contactor_and_relay(wired, contactor, relay, flows):
    oven = wired()
    oven.wait(0.5, CONTACTOR=contactor)
    oven.wait(1.0, HEAT_TOP=relay)
    assert (oven.lows("MAINS_SENSE_TOP") > 0) is flows
    assert (oven.heat_s("top") > 0.9) is flows
    assert oven.heat_s("deck") == 0


def test_undriven_outputs_mean_no_heat(wired):
    oven = running(wired)
    oven.levels.clear()  # as after a reset: every pin an input
    oven.wait(0.5)
    oven.heat_s()
    oven.wait(1.0)
    assert oven.heat_s() == 0
    assert oven.reads("CONTACTOR_OPEN") == 0


@pytest.mark.parametrize("broken", ["enable", "limiter", "selector", "mains"])
def test_hardware_chain_drops_the_contactor(wired, broken):
    oven = running(wired)
    outside = oven.outside
    if broken == "enable":
        outside.enable = False
    elif broken == "limiter":
        outside.limiter.has_tripped = True
    elif broken == "selector":
        outside.position = "off"
    else:
        outside.mains(0.0)
    oven.wait(0.5)
    oven.heat_s()
    oven.wait(1.0)
    assert oven.heat_s() == 0
    assert oven.reads("CONTACTOR_OPEN") == 0
    assert oven.lows("MAINS_SENSE_TOP") == 0
    names = {"enable": "ENABLE", "limiter": "LIMIT_OK", "selector": "SELECTOR"}
    if broken in names:
        assert oven.reads(names[broken]) == 1


def test_contactor_moves_twenty_ms_late_and_its_mirror_contact_with_it(wired):
    oven = wired()
    oven.wait(0.019, CONTACTOR=1)
    assert oven.reads("CONTACTOR_OPEN") == 0
    oven.wait(0.002)
    assert oven.reads("CONTACTOR_OPEN") == 1


def test_contactor_welded_keeps_its_mirror_contact_open(wired):
    oven = running(wired)
    oven.outside.contactor.stuck = "welded"
    oven.wait(1.0, CONTACTOR=0)
    assert oven.reads("CONTACTOR_OPEN") == 1
    assert oven.lows("MAINS_SENSE_TOP") > 0


def test_contactor_with_broken_coil_never_closes(wired):
    oven = wired()
    oven.outside.contactor.stuck = "open"
    oven.wait(1.0, CONTACTOR=1, HEAT_TOP=1)
    assert oven.reads("CONTACTOR_OPEN") == 0
    assert oven.heat_s() == 0


# The monostable lasts 600 ms and the contactor needs 20 ms more to fall.
@pytest.mark.parametrize(("gap_s", "closings"), [(0.25, 1), (0.6, 1), (0.615, 1), (0.625, 4), (1.0, 4)])
def test_pulse_drive_needs_an_edge_every_600_ms(wired, gap_s, closings):
    oven = wired(CONTACTOR_DRIVE="pulse")
    for _ in range(4):
        oven.wait(gap_s, rose=["CONTACTOR"], CONTACTOR=1)
    assert oven.outside.contactor.closings == closings


def test_pulse_drive_without_edges_lets_go_though_the_pin_stays_high(wired):
    oven = wired(CONTACTOR_DRIVE="pulse")
    oven.wait(0.25, rose=["CONTACTOR"], CONTACTOR=1)
    oven.wait(0.345)
    assert oven.reads("CONTACTOR_OPEN") == 1
    oven.wait(0.03)  # 600 ms and the 20 ms of the release are over
    assert oven.reads("CONTACTOR_OPEN") == 0


def test_pulse_drive_ignores_a_level(wired):
    oven = wired(CONTACTOR_DRIVE="pulse")
    oven.wait(2.0, CONTACTOR=1)
    assert oven.reads("CONTACTOR_OPEN") == 0


# Eight looks 2.5 ms apart cover one 50 Hz period: |sin| > 0.3 in at least five of them for both half waves,
# in one to four for one half wave (arithmetic).
@pytest.mark.parametrize("start_ms", [0, 1, 2.5, 5, 7.5, 11, 13, 17.3])
@pytest.mark.parametrize(("stuck", "commanded", "low", "high"), [
    (None, 1, 5, 8), ("half", 1, 1, 4), ("leaks_half", 0, 1, 4), ("leaks_half", 1, 5, 8), ("welded", 0, 5, 8),
    ("open", 1, 0, 0), (None, 0, 0, 0),
])  # fmt: skip
def test_half_waves_can_be_told_from_full_ones(wired, stuck, commanded, low, high, start_ms):
    oven = wired()
    oven.wait(0.5, CONTACTOR=1)
    oven.outside.relays[0].stuck = stuck
    oven.wait(0.5 + start_ms / 1000, HEAT_TOP=commanded)
    assert low <= oven.lows("MAINS_SENSE_TOP") <= high


@pytest.mark.parametrize(("stuck", "share"), [(None, 1.0), ("half", 0.5), ("open", 0.0), ("welded", 1.0)])
def test_heat_follows_the_half_waves(wired, stuck, share):
    oven = running(wired)
    oven.outside.relays[0].stuck = stuck
    oven.wait(0.25)
    oven.heat_s()
    oven.wait(10.0)
    assert oven.heat_s() == pytest.approx(10.25 * share, abs=1e-6)


def test_relay_switches_at_the_next_zero_crossing(wired):
    oven = wired()
    oven.wait(0.503, CONTACTOR=1)
    oven.wait(0.006, HEAT_TOP=1)
    assert oven.reads("MAINS_SENSE_TOP") == 1  # 9 ms into the half wave: not yet
    oven.wait(0.006)
    assert oven.reads("MAINS_SENSE_TOP") == 0
    assert oven.outside.relays[0].total_us == 5_000


def test_time_and_heat_are_booked_without_loss(wired):
    oven = wired()
    oven.wait(0.5, CONTACTOR=1)
    for piece in (0.0025, 0.25, 1.7, 0.0401, 3.0, 0.0999, 0.1):
        oven.wait(piece, HEAT_TOP=1)
        oven.wait(piece, HEAT_TOP=0)
    oven.wait(1.0)
    assert oven.plant.seconds == pytest.approx(oven.outside.now_us / 1e6, abs=0.1)
    assert oven.plant.heat_s["top"] * 1e6 == pytest.approx(oven.outside.relays[0].total_us, abs=1)
    assert oven.plant.longest_s <= 0.25


def test_element_open_carries_no_current(wired):
    oven = running(wired)
    oven.outside.relays[0].element_ok = False
    oven.wait(0.25)
    assert oven.lows("MAINS_SENSE_TOP") == 0


@pytest.mark.parametrize(("air_c", "trips"), [(519.9, False), (520.0, True)])
def test_limiter_opens_at_its_set_point_and_stays_open(wired, air_c, trips):
    oven = running(wired)
    oven.plant.air_c = air_c
    oven.wait(0.5)
    assert (oven.reads("LIMIT_OK") == 1) is trips
    oven.plant.air_c = 100.0
    oven.wait(0.5)
    assert (oven.reads("LIMIT_OK") == 1) is trips
    assert oven.outside.contactor.is_closed is not trips


def test_board_without_limiter_has_none(wired):
    oven = wired(LIMIT_OK=None)
    oven.plant.air_c = 900.0
    oven.wait(0.5, CONTACTOR=1)
    assert oven.outside.limiter is None
    assert oven.outside.contactor.is_closed


@pytest.mark.parametrize(("level", "fails", "turns"), [(0, False, True), (1, False, False), (0, True, False)])
def test_fan_turns_unless_the_board_stops_it(wired, level, fails, turns):
    oven = wired()
    oven.outside.fan_works = not fails
    oven.wait(0.3, COOLING_FAN=level)
    assert oven.reads("FAN_OK") == (0 if turns else 1)


def test_broken_wire_reads_not_good_and_a_short_reads_good(wired):
    oven = running(wired)
    for name in ("ENABLE", "LIMIT_OK", "SELECTOR", "FAN_OK", "DOOR", "MAINS_SENSE_TOP"):
        oven.outside.contacts.cut_wires = {name}
        oven.wait(0.25)
        assert oven.reads(name) == 1, name
        assert "SENSE" not in name or oven.lows(name) == 0
        oven.outside.contacts.cut_wires = set()
        oven.outside.contacts.shorted_wires = {name}
        oven.wait(0.25)
        assert oven.reads(name) == 0, name
        oven.outside.contacts.shorted_wires = set()
    oven.wait(0.25)
    assert oven.lows("MAINS_SENSE_TOP") > 0


def test_door_is_open_for_its_time(wired):
    oven = wired()
    oven.outside.door(5.0)
    oven.wait(4.9)
    assert oven.reads("DOOR") == 1
    oven.wait(0.3)
    assert oven.reads("DOOR") == 0
    assert oven.plant.events == [("door", {"seconds": 5.0})]


def test_copy_of_the_outside_goes_its_own_way(wired):
    oven = running(wired)
    twin = copy.deepcopy(oven)
    twin.wait(10.0)
    assert oven.outside.now_us == 1_000_000
    assert twin.plant.heat_s["top"] > 9.0 > 1.0 > oven.plant.heat_s["top"]


def test_serial_output_is_lost_while_nobody_reads(wired):
    outside = wired().outside
    outside.serial_out(b"one\n")
    outside.host_reading = False
    outside.serial_out(b"two\n")
    assert (bytes(outside.sent), outside.dropped_bytes) == (b"one\n", 4)
