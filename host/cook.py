"""The simulated cook: stays with the oven, lays a bread when one is due, and tells the device."""

LOAD_AFTER_S = 6.0  # from the device's word to the open door
DOOR_S = 8.0
PRESENT_EVERY_S = 300.0


class Cook:
    """`look(rehearsal)` after every step; acts through the oven's door and the device's link alone."""

    def __init__(self, bake_s=90.0, water_g=25.0):
        self.bake_s = bake_s
        self.water_g = water_g
        self.load_at_s = None
        self.present_at_s = 0.0
        self.breads = 0
        self._stage = ""

    def look(self, rehearsal):
        """Read the panel and do what is due."""
        state, stage, now_s = rehearsal.state, rehearsal.stage, rehearsal.now_s
        if stage != self._stage:
            if self._stage == "bake":
                rehearsal.outside.door(DOOR_S)  # the bread is taken out
            self.load_at_s = now_s + LOAD_AFTER_S if stage == "load" else None
            self._stage = stage
        if state not in ("running", "held"):
            self.present_at_s = now_s + PRESENT_EVERY_S
            return
        if now_s >= self.present_at_s:
            self.present_at_s = now_s + PRESENT_EVERY_S
            rehearsal.say("present")
        if self.load_at_s is not None and now_s >= self.load_at_s and stage == "load":
            self.load_at_s = None
            self.breads += 1
            rehearsal.outside.door(DOOR_S)
            rehearsal.outside.load(self.bake_s, self.water_g)
            rehearsal.say("loaded")
