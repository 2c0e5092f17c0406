"""What is promised of every wiring: classes in test_promises.py fill in how a bench of that wiring is made."""

import pytest
from safety_bench import L, load

CONDITIONS = load("safety.conditions").CONDITIONS
CONTACTS = ("enable", "limit_ok", "selector_ours", "fan_ok", "door_shut", "readback_ok")
HARD_CONTACTS = ("enable", "limit_ok", "selector_ours")


class SafetyPromises:
    """Inherit and give `make(**more) -> Bench`."""

    def make(self, **more):
        raise NotImplementedError

    def test_supervisor_new_board_permits_nothing(self):
        bench = self.make(ready=False)
        assert bench.tick().granted == 0
        assert bench.sup.permit.contactor == 0

    def test_supervisor_every_permissive_made_permits(self):
        bench = self.make()
        permit = bench.tick()
        assert (permit.granted, permit.contactor, permit.tripped) == (1, 1, 0)
        assert bench.sup.first_out == L.NONE

    @pytest.mark.parametrize("contact", CONTACTS)
    def test_supervisor_one_contact_not_good_denies_in_the_same_tick(self, contact):
        bench = self.make()
        bench.tick()
        setattr(bench.seen, contact, 0)
        permit = bench.tick()
        assert permit.granted == 0
        assert permit.contactor == (0 if contact in HARD_CONTACTS or contact == "readback_ok" else 1)

    @pytest.mark.parametrize("self_test", [0, 2])
    def test_supervisor_self_test_not_passed_denies(self, self_test):
        bench = self.make()
        bench.sup.self_test = self_test
        permit = bench.tick()
        assert (permit.granted, permit.contactor) == (0, 0)
        assert bench.first == ("self-test" if self_test == 2 else "none")

    def test_supervisor_unarmed_denies(self):
        bench = self.make()
        bench.sup.armed = 0
        permit = bench.tick()
        assert (permit.granted, permit.contactor) == (0, 0)

    def test_supervisor_sequence_asks_for_nothing_denies(self):
        bench = self.make()
        bench.seen.active = 0
        permit = bench.tick()
        assert (permit.granted, permit.contactor) == (0, 0)

    def test_supervisor_each_judgement_has_a_new_serial(self):
        bench = self.make()
        serials = [bench.tick().serial for _ in range(5)]
        assert serials == [1, 2, 3, 4, 5]
        bench.sup.permit.serial = 0xFFFF
        assert bench.tick().serial == 0

    @pytest.mark.parametrize("i", [i for i in range(1, L.COUNT) if CONDITIONS[i][1] == L.TRIP])
    def test_supervisor_any_trip_denies_and_stays_after_its_cause_is_gone(self, i):
        bench = self.make()
        bench.sup.raise_event(i)
        for _ in range(20):
            permit = bench.tick()
            assert (permit.granted, permit.contactor, permit.tripped) == (0, 0, 1)
        assert bench.sup.first_out == i

    def test_supervisor_acknowledge_clears_the_latch_and_only_then_permits(self):
        bench = self.make()
        bench.sup.raise_event(L.BOX_HOT)
        bench.tick()
        assert bench.sup.acknowledge(bench.seen) == bench.module.ACCEPTED
        assert bench.tick().granted == 1

    def test_supervisor_memory_fault_denies_and_trips(self):
        for name in ("_limit_mc", "_ceiling_mc"):
            bench = self.make()
            bench.tick()
            setattr(bench.sup, name, getattr(bench.sup, name) ^ 1)
            assert bench.tick().granted == 0
            assert bench.first == "memory-fault"
        bench = self.make()
        bench.seen.setpoint_mc ^= 1 << 12
        assert bench.tick().granted == 0
        assert bench.first == "memory-fault"

    def test_supervisor_not_one_clock_misbehaviour_permits(self):
        for dt_ms in (0, -1, -(2**29), 501, 2**29):
            bench = self.make()
            bench.tick()
            assert bench.tick(dt_ms).granted == 0
            assert bench.first == "tick-late"
        for dt_ms in (1, 499, 500):
            bench = self.make()
            bench.tick()
            assert bench.tick(dt_ms).granted == 1

    def test_supervisor_setpoint_above_the_ceiling_denies(self):
        bench = self.make()
        bench.set_setpoint(bench.sup.ceiling_mc)
        assert bench.tick().granted == 1
        bench.set_setpoint(bench.sup.ceiling_mc + 1)
        assert bench.tick().granted == 0
        assert bench.sup.first_out == L.NONE
