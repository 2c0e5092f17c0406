"""Contacts and currents read from simulated pins: every contact alone, broken wires, all phases of the mains."""

import types

import pytest
from safety_bench import FULL_MAP, Pins, load

from host.shim import mainsphase

CONTACTS = {
    "ENABLE": "enable", "LIMIT_OK": "limit_ok", "SELECTOR": "selector_ours", "FAN_OK": "fan_ok", "DOOR": "door_shut",
}  # fmt: skip


class Looking:
    """Contacts on a board of its own."""

    def __init__(self, names=tuple(FULL_MAP), **more):
        self.pins = Pins()
        board = types.SimpleNamespace(**{name: FULL_MAP[name] for name in names})
        self.seen = load("safety.seen").Seen(None, None)
        with self.pins:
            self.contacts = load("board_io.contacts").Contacts(board, **more)

    def look(self):
        with self.pins:
            before_us = self.pins.port.now_us
            self.contacts.sense(self.seen)
            return self.pins.port.now_us - before_us

    def close(self, *names):
        self.pins.wires.closed = {FULL_MAP[name] for name in names}


@pytest.mark.parametrize("name", CONTACTS)
def test_contact_closed_to_ground_is_good_and_a_broken_wire_is_not(name):
    looking = Looking()
    looking.look()
    assert [getattr(looking.seen, field) for field in CONTACTS.values()] == [0] * 5
    looking.close(name)
    looking.look()
    assert {field for field in CONTACTS.values() if getattr(looking.seen, field)} == {CONTACTS[name]}
    looking.close()
    looking.look()
    assert getattr(looking.seen, CONTACTS[name]) == 0


def test_inputs_that_are_not_wired_stay_good_or_unknown_and_take_no_time():
    looking = Looking(names=())
    assert looking.look() == 0
    assert [getattr(looking.seen, field) for field in CONTACTS.values()] == [1] * 5
    assert (looking.seen.mirror_open, looking.seen.top_sense, looking.seen.deck_sense) == (-1, -1, -1)


def test_pins_that_the_map_names_none_are_not_wired():
    pins = Pins()
    with pins:
        contacts = load("board_io.contacts").Contacts(types.SimpleNamespace(ENABLE=None, MAINS_SENSE_TOP=None))
    assert contacts.enable is None and contacts.top is None


def test_mirror_contact_closed_means_contactor_open():
    looking = Looking()
    looking.close("CONTACTOR_OPEN")
    looking.look()
    assert looking.seen.mirror_open == 1
    looking.close()
    looking.look()
    assert looking.seen.mirror_open == 0


@pytest.mark.parametrize("closed_now", [True, False])
@pytest.mark.parametrize("samples", range(16))
def test_mirror_contact_that_was_both_within_a_look_has_bounced(samples, closed_now):
    looking = Looking()
    began_us = looking.pins.wires.now_us
    flows = looking.pins.wires.flows
    flows[FULL_MAP["CONTACTOR_OPEN"]] = lambda now_us: samples >> (now_us - began_us) // 5_000 & 1
    with looking.pins:
        looking.contacts.sample()
    flows[FULL_MAP["CONTACTOR_OPEN"]] = lambda now_us: closed_now
    looking.look()
    steady = samples == (0b1111 if closed_now else 0)
    assert (looking.seen.mirror_open, looking.seen.mirror_bounced) == (int(closed_now), 0 if steady else 1)
    looking.look()  # that was then
    assert (looking.seen.mirror_open, looking.seen.mirror_bounced) == (int(closed_now), 0)


@pytest.mark.parametrize("names", [["CONTACTOR_OPEN"], ["MAINS_SENSE_TOP"]])
def test_bounce_is_told_only_where_both_mirror_and_a_current_are_sensed(names):
    looking = Looking(names=names)
    for closed in ([], names, []):
        looking.close(*closed)
        looking.look()
        assert looking.seen.mirror_bounced == 0


@pytest.mark.parametrize("mains_hz", [50, 60])
@pytest.mark.parametrize("wave", [mainsphase.NONE, mainsphase.HALF, mainsphase.FULL])
def test_current_is_told_right_at_every_phase_of_the_mains(mains_hz, wave):
    for phase_us in range(0, 20_000, 125):
        looking = Looking(mains_hz=mains_hz)

        def flows(us, phase_us=phase_us):
            return mainsphase.flows(wave, us * mains_hz // 50 + phase_us)  # the model of the sensor runs at 50 Hz

        for name in ("MAINS_SENSE_TOP", "MAINS_SENSE_DECK"):
            looking.pins.wires.flows[FULL_MAP[name]] = flows
        took_us = looking.look()
        assert (looking.seen.top_sense, looking.seen.deck_sense) == (wave, wave), phase_us
        assert took_us == 3 * (1_000_000 // mains_hz // 4)


def test_looks_are_a_quarter_of_a_period_apart():
    assert [Looking().contacts.quarter_us, Looking(mains_hz=60).contacts.quarter_us] == [5_000, 4_166]
    # the quarter is made of one number for every frequency
    assert load("board_io.contacts")._QUARTERS * 4 == 1_000_000


@pytest.mark.parametrize(("wired", "other"), [("TOP", "deck"), ("DECK", "top")])
def test_one_sensed_zone_leaves_the_other_unknown(wired, other):
    looking = Looking(names=("MAINS_SENSE_" + wired,))
    looking.close("MAINS_SENSE_" + wired)
    looking.look()
    assert getattr(looking.seen, wired.lower() + "_sense") == 2
    assert getattr(looking.seen, other + "_sense") == -1


def test_zones_are_told_apart():
    looking = Looking()
    looking.close("MAINS_SENSE_DECK")
    looking.look()
    assert (looking.seen.top_sense, looking.seen.deck_sense) == (0, 2)
    looking.close("MAINS_SENSE_TOP")
    looking.look()
    assert (looking.seen.top_sense, looking.seen.deck_sense) == (2, 0)


@pytest.mark.parametrize(
    ("looks", "current"),
    [(0b0000, 0), (0b1111, 2), (0b0101, 2), (0b1010, 2), (0b0011, 1), (0b0110, 1), (0b1100, 1), (0b1001, 1),
     (0b0001, 1), (0b0010, 1), (0b0100, 1), (0b1000, 1), (0b0111, 2), (0b1110, 2), (0b1011, 2), (0b1101, 2)],
)  # fmt: skip
def test_full_waves_show_in_two_opposite_looks(looks, current):
    assert Looking().contacts._current(looks) == current


# --- samples before the tick -------------------------------------------------------------------------------


class Polled:
    """A panel whose poll takes some time."""

    def __init__(self, pins, takes_us):
        self.pins, self.takes_us, self.told = pins, takes_us, []

    def poll(self, since_ms):
        self.told.append(since_ms)
        self.pins.port.sleep_us(self.takes_us)


@pytest.mark.parametrize(
    ("hz", "names", "ms"), [(50, ["MAINS_SENSE_TOP"], 15), (60, ["MAINS_SENSE_DECK"], 12), (50, [], 0)]
)
def test_samples_take_three_quarters_of_a_period_where_a_current_is_sensed(hz, names, ms):
    looking = Looking(names=names, mains_hz=hz)
    assert looking.contacts.sampling_ms == ms
    before_us = looking.pins.port.now_us
    with looking.pins:
        looking.contacts.sample()
    assert (looking.pins.port.now_us - before_us) // 1000 == ms


def test_samples_taken_before_the_tick_serve_it_once_and_cost_it_no_time():
    looking = Looking()
    wires = looking.pins.wires
    wires.flows = {FULL_MAP["MAINS_SENSE_TOP"]: lambda now_us: True}
    with looking.pins:
        looking.contacts.sample()
    wires.flows = {}
    assert looking.look() == 0
    assert (looking.seen.top_sense, looking.seen.deck_sense) == (2, 0)
    assert looking.look() == 15_000
    assert looking.seen.top_sense == 0


@pytest.mark.parametrize("takes_us", [0, 2_000, 4_999, 5_000])
def test_panel_is_polled_between_the_samples_and_does_not_move_them(takes_us):
    looking = Looking()
    panel = Polled(looking.pins, takes_us)
    before_us = looking.pins.port.now_us
    with looking.pins:
        looking.contacts.sample(panel)
    assert looking.pins.port.now_us - before_us == 15_000
    assert panel.told == [5, 5, 5]


def test_panel_slower_than_a_quarter_costs_its_own_time_and_no_more():
    looking = Looking()
    panel = Polled(looking.pins, 6_000)
    before_us = looking.pins.port.now_us
    with looking.pins:
        looking.contacts.sample(panel)
    assert looking.pins.port.now_us - before_us == 18_000


@pytest.mark.parametrize(("number", "closed", "holds"), [(9, {9}, True), (9, {8}, False), (None, {9}, False)])
def test_jumper_holds_only_where_it_is_wired_and_closed(number, closed, holds):
    pins = Pins()
    pins.wires.closed = closed
    with pins:
        assert load("board_io.contacts").jumper(types.SimpleNamespace(MAINTENANCE=number)) is holds
        assert load("board_io.contacts").jumper(types.SimpleNamespace()) is False
