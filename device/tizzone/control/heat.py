"""Heat into a bread, kJ/m2, by the stone's model, the dome and the top element. Floats, no pins, no clock.

Base: what the stone gives through the contact, in proportion to face minus the bread's underside. Top: radiation of
the walls, which an open door cools far less than the dome's reading, and of the top element. Coefficients are
fitted to simulated ovens of three structures and to nothing real: from oven to oven they are off by 9 % (base) and
17 % (top), one standard deviation; from bread to bread of one oven by 1 % (2 % with a probe at the rim). So they even
breads out; how much a bread should get is what the cook's words are for.
"""

import math

from micropython import const

_BASE = const(0.0478)  # kJ/m2 for each K and s: 48 W/m2K through flour, steam and crust; fit
_TOP = const(55.4)  # kJ/m2s for each (kK)4: an effective emissivity of 0.98, air included; fit
_ELEMENT = const(3.3)  # kJ/m2s by the top element at full conduction; fit
_WARMS_S = const(12)  # walls behind a dome that rises (fit) ...
_COOLS_S = const(240)  # ... and behind one that falls; fit
_ELEMENT_S = const(60)  # how far it glows behind its current; house
_ZERO_C = const(273.15)  # K, the ice point; definition
_LEFT_DROP = const(0.005)  # 1/s by which the base's flow falls while a bread lies; fit
_CORE = const(0.41)  # share of the core in what a coming bread will find; fit
_KEEPS = const(0.45)  # of that a long bake goes on finding between face and underside; fit
_LOSES = const(0.485)  # what it finds at first beyond that, and how long; fit
_LOSES_S = const(60)  # s; fit
_TRIM = const(0.5)  # of what was found wrong with the last bread is believed of the next; house
_FAR = const(0.8)  # no bread was further off than this; house
NOMINAL_G_DM2 = const(44)  # 380 g over 33 cm


class Heat:
    """`base_kj`, `top_kj`: into the bread that lies, or the last, in `time_s`; `base_w`, `top_w`: kJ/m2s now."""

    def __init__(self):
        self.trim = self.trim_top = 1
        self.element = self.walls_c = 0
        self.base_w = self.top_w = 0
        self.base_kj = self.top_kj = self.time_s = 0
        self._found_c = self._found_w = 0

    def begin(self, stone):
        """A bread is laid."""
        self.base_kj = self.top_kj = self.time_s = 0
        self._found_c = _found_c(stone)
        self._found_w = self.top_w

    def step(self, stone, dome_c, top, dt_s, bread):
        """Pass `dt_s` after the stone's own step; `top`: share of it that the top element was on."""
        off_k = dome_c - self.walls_c
        self.walls_c += off_k * min(1, dt_s / (_WARMS_S if off_k > 0 else _COOLS_S))
        self.element += (top - self.element) * min(1, dt_s / _ELEMENT_S)
        self.base_w = _BASE * (stone.surface_c - stone.bread_c)
        self.top_w = _TOP * (_fourth(self.walls_c) - _fourth(stone.bread_c)) + _ELEMENT * self.element
        if bread:
            self.time_s += dt_s
            self.base_kj += self.base_w * dt_s
            self.top_kj += self.top_w * dt_s

    def left_s(self, wanted_kj):
        """Seconds until the base has `wanted_kj`, at the flow that falls as it lately does."""
        if not self.base_w > 0:
            return 0.0
        left_s = (wanted_kj - self.base_kj) / self.base_w
        return left_s * (1 + 0.5 * _LEFT_DROP * left_s) if left_s > 0 else 0

    def coming_top_kj(self, bake_s):
        """What the top of a bread laid now would get in `bake_s`."""
        return self.trim_top * self.top_w * bake_s

    def short_k(self, stone, bake_s, wanted_kj):
        """How much hotter the stone has to be for a bread to get `wanted_kj` in `bake_s`."""
        return wanted_kj / (self.trim * _kj_k(bake_s)) - _found_c(stone)

    def ended(self):
        """The bread is out: learn how far off it was what would have been expected of it."""
        if self.time_s > 0 and self._found_c > 0 and self._found_w > 0:
            self.trim = _believed(self.trim, self.base_kj / (_kj_k(self.time_s) * self._found_c))
            self.trim_top = _believed(self.trim_top, self.top_kj / (self._found_w * self.time_s))


def _found_c(stone):
    return stone.surface_c + _CORE * (stone.core_c - stone.surface_c)


def _kj_k(bake_s):
    return _BASE * (_KEEPS * bake_s + _LOSES * _LOSES_S * (1 - math.exp(-bake_s / _LOSES_S)))


def _believed(trim, right):
    """The next `trim`, where `right` would have been right: part of the way, by a bounded step, within bounds."""
    trim *= 1 + _TRIM * (max(_FAR, min(1 / _FAR, right / trim)) - 1)
    return max(_FAR * _FAR, min(1 / (_FAR * _FAR), trim))


def _fourth(value_c):
    x = (value_c + _ZERO_C) / 1000
    x *= x
    return x * x
