"""What one tick knows: the supervisor's only input, filled by app.py, reused in place.

Sensed contacts are 1 = good, 0 = not good; an input that is not wired stays at 1 (its layer is missing: the pin check
and the commissioning say so). Currents are -1 not wired, 0 none, 1 half waves, 2 full. Everything starts on the bad
side.
"""


class Seen:
    """Plain record; integers only."""

    def __init__(self, dome, stone):
        self.dome = dome  # Conditioner
        self.stone = stone  # Conditioner or None
        self.dome_serial = -1  # Reading.serial of the dome, to see that it moves on
        self.box_mc = 0  # cold junction of the dome's amplifier = inside of the box
        self.enable = 0
        self.limit_ok = 0
        self.selector_ours = 0
        self.fan_ok = 0
        self.door_shut = 0
        self.mirror_open = -1  # mirror contact: -1 not wired, 1 contactor open, 0 closed
        self.mirror_bounced = 0  # it was both within the few ms that this tick was watched
        self.top_sense = -1
        self.deck_sense = -1
        self.top_on = 0  # what the pins were during the tick that has just passed
        self.deck_on = 0
        self.contactor_on = 0
        self.fan_on = 0
        self.proving = 0  # the start test is running: no current may flow
        self.out_pm = 0  # output in force during that tick, after every permissive
        self.setpoint_mc = 0
        self.setpoint_inverted = 0  # second copy, ~setpoint_mc, kept by the sequence
        self.own_write = 0  # the tick before wrote to the flash, which stalls the board
        self.active = 0  # the sequence asks for heat
        self.session = 0  # an evening is on: running or held
        self.deadman_fired = 0
        self.readback_ok = 0
        self.clock_error_ms = 0
