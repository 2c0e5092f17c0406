"""What the stone is doing: surface and core of a model with two nodes, fed by dome reading and output.

The upper node takes heat from a slow image of the dome, the core from the dome and the deck element; they share heat.
While a bread lies there the very face is colder than the upper node, by a quickly forgotten `skin`. Four factors are
what differs from oven to oven: `thin` (how quickly the stone follows), `heat` (what the deck element sends it), `bread`
(what a bread takes) and `skin`. They begin at typical values, fitted to simulated ovens of two structures and to
nothing real, and learn from each spot reading by a Kalman step on their sensitivities. No estimator sees a bread by
itself: it is told. Floats, outside the safety path, one step each STEP_S; single precision is enough, since nothing is
summed but temperatures and factors.
"""

import math

from micropython import const

DEPTH_MM = 7.5  # of a stone probe whose pin map does not say: PROBES.md asks for 5 to 10
STEP_S = 2.0  # of the model: far below its quickest time of 12 s; house
_COUNT = const(4)  # factors: thin, heat, bread, skin
# Fitted to 15 simulated ovens (tests/bench/stonefit.py), all of them:
_AIR = const(0.01413)  # 1/s, upper node from the dome's image
_UNDER = const(0.00284)  # 1/s, core from the dome, before _RATIO
_DECK = const(0.8204)  # K/s, what the deck element gives at full output, before _RATIO
_SHARE = const(0.3430)  # 1/s, between the nodes
_RATIO = const(0.1195)  # heat capacity of the upper node against the core's
_LAG_S = const(11.8)  # of the dome's image behind the reading
_EVEN = const(0.378)  # share of `glow` that does not change with temperature
_BREAD = const(0.00556)  # 1/s, upper node to a bread
_WARMS = const(0.00301)  # 1/s, a bread's underside to the stone
_SKIN_S = const(39.9)  # K of skin for each K/s that a bread takes
_SKIN_LAG_S = const(42.1)  # how fast the skin comes and goes
_LINK_MAX = const(0.8)  # of the nodes' difference that one step may even out: keeps a long step stable; house
_COVER = const(0.8)  # of the face that a bread takes from the dome; house
_BREAD_C = const(30.0)  # of the underside of a bread when it is laid; it warms while it lies; house
_DOOR_K = const(25.0)  # walls are no colder than this below their image: an open door cools the air, not them; house
_MIDDLE_2K = const(546.3)  # K, twice the ice point: a mean of two readings in kelvin, doubled
_GLOW_1_K = const(7.1429e-4)  # 1 / 1400 K: a doubled mean of 427 °C (700 K) gives 1
# Covariance of the factors' logarithms among such ovens, upper triangle by rows; fit, as above.
_SPREAD = const((0.12, 0.025, 0.028, -0.022, 0.11, -0.011, 0.009, 0.03, -0.017, 0.06))
_REST_K = const(7.0)  # what the model misses even with the right factors; fit, as above
_REST_S = const(1200.0)  # and how long it takes to forget a correction; fit, as above
_KNOWN_VAR = const(9.0)  # K2, of a stone as warm as its dome: 3 K; house
_UNKNOWN_VAR = const(3600.0)  # K2, of one in a hot oven after a restart: 60 K; house
_FACTOR_MAX = const(1.6)  # largest logarithm of a factor: five times, or a fifth; house
_COV_MAX = const(4.0)  # largest stored covariance that is believed; house
_FRESH = const(0.01)  # of _SPREAD comes back each evening: never surer than a tenth of the spread; house
TYPICAL, LEARNED, SPOTS, PROBE = range(4)
BASES = ("typical", "learned", "spots", "probe")
_SPOT_K = const(5.0)  # a spot's standard deviation: thermometer, place, and what the model cannot follow at once; house
_FAR_SIGMAS = const(3.0)  # a spot beyond so many standard deviations is believed less; common practice, no source
_PROBE_K = const(5.0)  # a stone probe's standard deviation: its seat in the stone; house
_PROBE_S = const(6.0)  # time constant of following it; house
_PROBE_CORE = const(0.1)  # of a correction of the face that the core shares; house
_TEACH_S = const(300.0)  # a probe teaches the factors once in this; house
_TEACH_SIGMA = const(2.0)  # with so many of its standard deviations: its readings repeat its error; house
_FACE_MM = const(3.0)  # a tip no deeper than this has the face's temperature within seconds; house
_NEAR_MM = const(12.0)  # a tip so deep has the core's; between, it lies between them; house
_DEEP_S = const(60.0)  # time constant of believing a deep tip about the model; house
_DEEP_CALM_S = const(240.0)  # so long after a bread face and depth are alike again (simulated stones: within 4 K)
_RIM_CALM_S = const(600.0)  # so long after a bread rim and middle are; house
_BARE_MAX_S = const(1000.0)  # counted no further; house
_TAUGHT = const(2)  # so many spots of this evening make it more than an estimate; house
_EARLY_K = const((25.0, 25.0, 12.0, 12.0))  # how far below the wanted stone 'ready' may be said, by basis; house
_SURE = const((3.5, 3.5, 3.0, 2.0))  # standard deviations kept of that; chosen on the ovens the rates were fitted to


class Stone:
    """Degrees Celsius, seconds, shares 0..1 of each zone's conduction.

    `surface_c`, `core_c`, `sigma_k` (one standard deviation of the surface), `basis` (index of BASES)."""

    def __init__(self):
        self.forget()
        self.spots_this_evening = 0
        self.probed = 0  # by a probe, at this moment
        self.depth_mm = 0.0  # of that probe's tip below the face
        self.rim = 0  # 1: where no bread covers it
        self.bare_s = _BARE_MAX_S  # since a bread lay there
        self.thick = 1.0  # of a bread, against 44 g/dm2
        self._teach_s = 0.0
        self.learns = 1  # 0: a copy that only looks ahead carries no sensitivities
        self.begin(20.0)

    def seat(self, depth_mm, rim):
        """Where the stone probe's tip is: mm below the baking face; `rim` 1 where the bread does not cover it."""
        number = isinstance(depth_mm, (int, float)) and not isinstance(depth_mm, bool)
        self.depth_mm = depth_mm if number and depth_mm >= 0 else DEPTH_MM
        self.rim = 1 if rim else 0

    @property
    def sees_breads(self):
        """1 if the probe's place is one where a bread's sag shows as it is."""
        return 0 if self.rim or self.depth_mm > _FACE_MM else 1

    def forget(self):
        """Back to typical values."""
        self.factor = [0.0] * _COUNT  # logarithms
        self.cov = _square(_SPREAD)
        self.rates = [1.0] * _COUNT
        self.spots = 0  # that the factors have learned from, all evenings

    def begin(self, dome_c, known=True):
        """The stone is as warm as the dome; `known` False: it may be far from it (a hot oven after a restart)."""
        self.image_c = self.upper_c = self.core_c = dome_c
        self.skin_k = 0.0
        self.bread_c = _BREAD_C
        self.by_upper = [0.0] * _COUNT
        self.by_core = [0.0] * _COUNT
        self.by_skin = [0.0] * _COUNT
        self.state_var = _KNOWN_VAR if known else _UNKNOWN_VAR

    @property
    def surface_c(self):
        """The bare face, or the face under the bread."""
        return self.upper_c - self.skin_k

    @property
    def sigma_k(self):
        """Standard deviation of the surface, K."""
        return _PROBE_K if self.probed else math.sqrt(self._variance()[0])

    @property
    def basis(self):
        """TYPICAL: a guess; LEARNED: from spots of other evenings, still an estimate; SPOTS of this one; PROBE."""
        if self.probed:
            return PROBE
        return SPOTS if self.spots_this_evening >= _TAUGHT else LEARNED if self.spots >= _TAUGHT else TYPICAL

    def ready(self, wanted_c):
        """May 'ready' be said for this surface?"""
        basis = self.basis
        return self.surface_c >= wanted_c - _EARLY_K[basis] + _SURE[basis] * self.sigma_k

    def ready_at_c(self, wanted_c):
        """The estimate at which 'ready' is said, as sure as it is now."""
        return wanted_c - _EARLY_K[self.basis] + _SURE[self.basis] * self.sigma_k

    def step(self, dome_c, deck, dt_s, bread):
        """Pass `dt_s`; `deck`: share of it that the deck element was on; `bread` 1 while one lies on the stone."""
        image_c, upper_c, core_c, skin_k = self.image_c, self.upper_c, self.core_c, self.skin_k
        thin, heat, taken, skin = self.rates
        seen_c = max(dome_c, image_c - _DOOR_K)
        self.image_c = image_c = image_c + (seen_c - image_c) * min(1.0, dt_s / _LAG_S)
        air = _AIR * thin * glow(image_c, upper_c) * (1.0 - _COVER * bread)
        under = _UNDER * thin * glow(image_c, core_c) * _RATIO
        link = min(_SHARE * thin, _LINK_MAX / dt_s)
        lost = _BREAD * taken * bread
        shared = link * (upper_c - core_c)
        from_air = air * (image_c - upper_c)
        to_bread = lost * (upper_c - skin_k - self.bread_c)
        into = under * (image_c - core_c)
        from_deck = _DECK * heat * deck * _RATIO
        grows = min(1.0, dt_s / _SKIN_LAG_S)
        skin_now = _SKIN_S * skin * to_bread
        self.bread_c = self.bread_c + _WARMS / self.thick * (upper_c - self.bread_c) * dt_s if bread else _BREAD_C
        self.upper_c = upper_c + (from_air - shared - to_bread) * dt_s
        self.core_c = core_c + (into + from_deck + shared * _RATIO) * dt_s
        self.skin_k = skin_k + (skin_now - skin_k) * grows
        self.bare_s = 0.0 if bread else min(self.bare_s + dt_s, _BARE_MAX_S)
        self.state_var += (_REST_K * _REST_K - self.state_var) * min(1.0, dt_s / _REST_S)
        if not self.learns:
            return
        self._carry(1.0 - (air + link + lost) * dt_s, 1.0 - (under + link * _RATIO) * dt_s, link * dt_s, grows)
        by_upper, by_core, by_skin = self.by_upper, self.by_core, self.by_skin
        by_upper[0] += (from_air - shared) * dt_s
        by_core[0] += (into + shared * _RATIO) * dt_s
        by_core[1] += from_deck * dt_s
        by_upper[2] -= to_bread * dt_s
        by_skin[2] += skin_now * grows
        by_skin[3] += skin_now * grows

    def _carry(self, keep_upper, keep_core, gives, grows):
        """Pass on what each factor has done so far (the state's derivative by the factor's logarithm)."""
        by_upper, by_core, by_skin = self.by_upper, self.by_core, self.by_skin
        for i in range(_COUNT):
            of_upper, of_core = by_upper[i], by_core[i]
            by_upper[i] = of_upper * keep_upper + of_core * gives
            by_core[i] = of_core * keep_core + of_upper * gives * _RATIO
            by_skin[i] *= 1.0 - grows

    def _variance(self):
        """(variance of the surface, cov x sensitivity)."""
        upper, skin = self.by_upper, self.by_skin
        by = [upper[i] - skin[i] for i in range(_COUNT)]
        row = [r[0] * by[0] + r[1] * by[1] + r[2] * by[2] + r[3] * by[3] for r in self.cov]
        return row[0] * by[0] + row[1] * by[1] + row[2] * by[2] + row[3] * by[3] + self.state_var, row

    def probe(self, value_c, dt_s):
        """A probe in the stone says `value_c`: the face follows it as far as its place (`seat`) allows.

        Under a bread and soon after it a deep tip only corrects the model, a tip in the rim says nothing; what is then
        known of the face is the model's, with the model's uncertainty."""
        if not self.sees_breads and self.bare_s < (_RIM_CALM_S if self.rim else _DEEP_CALM_S):
            if not self.rim:
                near = 1.0 - self.depth_mm / _NEAR_MM
                expected_c = self.core_c + (near if near > 0.0 else 0.0) * (self.upper_c - self.core_c)
                off_k = (value_c - expected_c) * min(1.0, dt_s / _DEEP_S)
                self.upper_c += off_k
                self.core_c += off_k
            return
        share = min(1.0, dt_s / _PROBE_S)
        off_k = (value_c - self.surface_c) * share
        self.upper_c += off_k
        self.core_c += off_k * _PROBE_CORE
        self.probed = 1
        self.state_var = _PROBE_K * _PROBE_K
        self._teach_s += dt_s
        if self._teach_s >= _TEACH_S:
            self._teach_s = 0.0
            self.spot(value_c, sigma_k=_TEACH_SIGMA * _PROBE_K, probe=True)

    def spot(self, value_c, sigma_k=_SPOT_K, probe=False):
        """Learn from a reading of the surface; returns how far it was from the estimate, K.

        A reading beyond three standard deviations is believed less (a wrong emissivity, the rim instead of the
        middle): its weight falls with its distance."""
        off_k = value_c - self.surface_c
        var, row = self._variance()
        noise = sigma_k * sigma_k
        if off_k * off_k > _FAR_SIGMAS * _FAR_SIGMAS * (var + noise):
            noise += off_k * off_k / (_FAR_SIGMAS * _FAR_SIGMAS) - var
        whole = var + noise
        core_k = skin_k = 0.0
        for i in range(_COUNT):
            change = row[i] / whole * off_k
            change = max(-_FACTOR_MAX - self.factor[i], min(_FACTOR_MAX - self.factor[i], change))
            self.factor[i] += change
            core_k += self.by_core[i] * change
            skin_k += self.by_skin[i] * change
            for j in range(_COUNT):
                self.cov[i][j] -= row[i] * row[j] / whole
        self.skin_k += skin_k
        self.upper_c += off_k * var / whole + skin_k
        self.core_c += core_k
        self.state_var *= 1.0 - self.state_var / whole
        self.rates = [math.exp(f) for f in self.factor]
        if not probe:
            self.spots += 1
            self.spots_this_evening += 1
        return off_k

    # --- what outlives the evening --------------------------------------------------------------------

    def learned(self):
        """Plain value for the store."""
        flat = [self.cov[i][j] for i in range(_COUNT) for j in range(i, _COUNT)]
        return {"factor": list(self.factor), "cov": flat, "spots": self.spots}

    def take(self, value):
        """Take a stored value back; False (and typical values) if it is not one."""
        if not isinstance(value, dict):
            return False
        factor, flat, spots = value.get("factor"), value.get("cov"), value.get("spots")
        if (
            not _numbers(factor, _COUNT, _FACTOR_MAX)
            or not _numbers(flat, len(_SPREAD), _COV_MAX)
            or not isinstance(spots, int)
        ):
            return False
        self.factor = list(factor)
        self.cov = _square([flat[k] + _FRESH * _SPREAD[k] for k in range(len(_SPREAD))])  # a new evening is a new one
        self.spots = spots
        self.rates = [math.exp(f) for f in self.factor]
        return True


def glow(one_c, other_c):
    """Conductance of still air and radiation between two temperatures, relative to its value at 427 °C."""
    x = (one_c + other_c + _MIDDLE_2K) * _GLOW_1_K
    return _EVEN + (1.0 - _EVEN) * x * x * x


def _square(flat):
    a, b, c, d, e, f, g, h, i, j = flat
    return [[a, b, c, d], [b, e, f, g], [c, f, h, i], [d, g, i, j]]


def _numbers(value, count, most):
    if not isinstance(value, list) or len(value) != count:
        return False
    for x in value:
        if isinstance(x, bool) or not isinstance(x, (int, float)) or not -most <= x <= most:
            return False
    return True
