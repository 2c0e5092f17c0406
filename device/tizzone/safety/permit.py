"""What the supervisor hands to the heater, and nobody else makes."""


class Permit:
    """What the heater may do until the next one; a new `serial` with each judgement shows up an old one."""

    def __init__(self):
        self.granted = 0  # heat pins may be on
        self.contactor = 0  # the contactor may be closed
        self.tripped = 0  # open the contactor at once, not in good order
        self.serial = 0
