"""How warm the oven may still be: the hottest reading that is believed, or else the time without any heat.

A probe that has just been disowned (open, slipped, frozen ...) says nothing any more: then another probe decides (the
stone's with what it may lag, until it has caught up), or ten hours without heat, or one hour of it together with a
person's own thermometer on the stone. What such a probe says of heat still counts, what it says of cold does not.
Everything that wants a cool oven asks `below()`: acknowledge, unlock, maintenance, the hand-over to the oven's own
thermostat, and the fan. Integers only, nothing allocated.
"""

from micropython import const

from tizzone.integers import aged
from tizzone.safety import limits as L

_NOBODY_MC = const(-1_000_000)  # no probe is believed


class Warmth:
    """`judge` once a tick; `below(limit_mc)` at any time."""

    def __init__(self):
        self.hottest_mc = _NOBODY_MC  # of the probes that are believed
        self.unsure = 1  # a probe that nobody has disowned has no usable reading just now
        self.rest_ms = 0  # without heat of ours or of a foreign thermostat, as far as this start knows
        self.cold = 0  # every probe has read below UNLOCK_MC, and nothing has heated since
        self.from_cold = 1  # the newest heat began on such an oven
        self.fresh = False  # the dome's reading is of this moment

    def judge(self, seen, alarms, dome_fresh, dt_ms):
        """Judge one tick, once its alarms have settled: a trip about a probe, present or latched, disowns it."""
        # After two minutes of heat in a cold oven 'no rise' leaves little to be afraid of.
        no_rise = not self.from_cold and alarms.states[L.NO_RISE]
        dome_doubted = no_rise or alarms.any_of(L.DOME_DOUBTS)
        stone_doubted = alarms.any_of(L.STONE_DOUBTS)
        if seen.contactor_on or seen.top_on or seen.deck_on or not seen.selector_ours:
            if self.rest_ms:
                self.from_cold = self.cold
            self.rest_ms = 0
            self.cold = 0
        else:
            self.rest_ms = aged(self.rest_ms, dt_ms)
        self.fresh = dome_fresh
        self.unsure = 0
        self.hottest_mc = _NOBODY_MC
        if not dome_doubted:
            self._take(seen.dome, dome_fresh)
        if seen.stone is not None and not stone_doubted:
            self._take(seen.stone, True)
            if dome_doubted and not self.cold and self.rest_ms < L.STONE_ALONE_MS:
                self.hottest_mc += L.STONE_LAG_MK  # a stone that is heated lags: alone it would say too little
        if self.hottest_mc != _NOBODY_MC:
            self._heed(seen.dome)
            if seen.stone is not None:
                self._heed(seen.stone)
        every = not self.unsure and not dome_doubted and not stone_doubted
        if every and self.rest_ms and self.hottest_mc < L.UNLOCK_MC:
            self.cold = 1

    def _take(self, probe, fresh):
        if not probe.usable or not fresh:
            self.unsure = 1
        elif probe.pv_mc > self.hottest_mc:
            self.hottest_mc = probe.pv_mc

    def _heed(self, probe):
        """Whoever is not believed may still say that it is hotter."""
        if probe.usable and probe.pv_mc > self.hottest_mc:
            self.hottest_mc = probe.pv_mc

    def noted(self, latch):
        """The latch, with what has to outlive a restart beside the trips."""
        latch["cold"] = self.cold
        latch["from_cold"] = self.from_cold
        return latch

    def remember(self, latch):
        """What a stored latch says: nothing had heated the oven since it was cold; how its newest heat began."""
        if isinstance(latch, dict):
            if latch.get("cold") == 1:
                self.cold = 1
            if latch.get("from_cold") != 1:
                self.from_cold = 0

    def attest(self, seen, value_mc):
        """A person has measured so much on the bare stone. It counts after an hour without heat and where every probe,
        believed or not, reads as cold: none of the three alone. Returns 1 where the oven is cold by that."""
        dome, stone = seen.dome, seen.stone
        if self.rest_ms < L.ATTEST_MS or value_mc >= L.UNLOCK_MC or not self.fresh:
            return 0
        if not dome.usable or dome.pv_mc >= L.UNLOCK_MC:
            return 0
        if stone is not None and (not stone.usable or stone.pv_mc >= L.UNLOCK_MC):
            return 0
        self.cold = 1
        return 1

    def below(self, limit_mc):
        """1 where the oven is known to be cooler than `limit_mc`."""
        if self.unsure:
            return 0
        if self.hottest_mc != _NOBODY_MC:
            return 1 if self.hottest_mc < limit_mc else 0
        return 1 if self.cold or self.rest_ms >= L.COOLED_MS else 0
