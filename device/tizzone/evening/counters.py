"""Service counters of the box: what a relay, a gasket and an element have been through. They outlive power cuts.

They are counted in memory and stored only while no heat is permitted: at the end of an evening, on a trip, at a hold,
and along with a record while the door stands open. A power cut costs what was counted since then, never more.
"""

# What each means: link/oven_commands.py.
NAMES = (
    "hot_min", "heat_min", "sessions", "breads", "trips", "cuts", "top", "deck", "contactor", "stalls",
)  # fmt: skip
HOT_MC = 250_000
MOST = 1_000_000_000  # below 2^30


class Counters:
    """`values`: whole numbers by name."""

    def __init__(self, stored):
        self.values = {}
        self.doubtful = 0  # what was stored was not believed
        for name in NAMES:
            value = stored.get(name, 0) if isinstance(stored, dict) else 0
            if isinstance(value, bool) or not isinstance(value, int) or not 0 <= value < MOST:
                value = 0
                self.doubtful = 1
            self.values[name] = value
        self.dirty = 0
        self._hot_ms = 0
        self._heat_ms = 0
        self._seen = [0, 0, 0]
        self._stalls = 0

    def add(self, name, more=1):
        """Count on."""
        value = self.values[name] + more
        self.values[name] = value if value < MOST else MOST - 1
        self.dirty = 1

    def tick(self, hot, heater, dt_ms):
        """One tick."""
        if dt_ms > 0:
            if hot:
                self._hot_ms += dt_ms
                if self._hot_ms >= 60_000:
                    self._hot_ms -= 60_000
                    self.add("hot_min")
            if heater.top.on or heater.deck.on:
                self._heat_ms += dt_ms
                if self._heat_ms >= 60_000:
                    self._heat_ms -= 60_000
                    self.add("heat_min")
        self._follow(0, "top", heater.top.switchings)
        self._follow(1, "deck", heater.deck.switchings)
        self._follow(2, "contactor", heater.contactor_switchings)

    def _follow(self, i, name, now):
        if now != self._seen[i]:
            self.add(name, max(0, now - self._seen[i]))
            self._seen[i] = now

    def stalled(self, stalls):
        """Follow the supervisor's count; stored along with others, since storing it may be the next one."""
        more = max(0, stalls - self._stalls)
        self._stalls = stalls
        self.values["stalls"] = min(self.values["stalls"] + more, MOST - 1)

    def line(self):
        """All of them in words."""
        text = " ".join([name + "=" + str(self.values[name]) for name in NAMES])
        return text + (" doubtful=1" if self.doubtful else "")
