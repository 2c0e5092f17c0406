"""A course of commissioning on a simulated board, whole or up to a step."""

import pytest
from commission_answers import answers

from host import oven
from host.commissioning.course import Course
from host.commissioning.hands import SimulatedHands
from host.commissioning.person import Answers
from host.commissioning.record import Record
from host.link.client import SimulatedClient
from host.simulator.rehearsal import Rehearsal


class Practice:
    """One simulated board and everything around it."""

    def __init__(self, record, rehearsal=None, **changes):
        self.plant = oven.preset("standard", 1)
        self.rehearsal = rehearsal or Rehearsal(plant=self.plant, commissioned=False, cook=None)
        self.rehearsal.advance(5)
        self.client = SimulatedClient(self.rehearsal)
        self.hands = SimulatedHands(self.rehearsal, self.plant)
        self.record = record
        self.course(**changes)

    def course(self, **changes):
        """A course with these answers, on the board as it stands."""
        self.made = Course(
            self.client, Answers(answers(**changes)), self.hands, self.record, stamp=lambda: "20260105T1830"
        )
        return self.made

    def run(self, until=None):
        """(done, release_c, reason)."""
        self.made.begin(True)
        return self.made.run(until)

    def witness(self):
        """The board's own word."""
        return self.made.bench.witness()


@pytest.fixture
def practice(tmp_path):
    """Makes a Practice with a record of its own."""

    def make(rehearsal=None, **changes):
        return Practice(Record.open(tmp_path / "record.json"), rehearsal, **changes)

    return make
