"""The small oven of the emulator (emulator/wiring.mjs, class Oven) as a plant for rehearsals, equation by equation."""

from collections import deque

HALF_CYCLE_S = 0.01


class SameOven:
    """Two elements, walls with air, stone, probe sheath. Noise-free; start with {"noise": 0} over there."""

    def __init__(self, start_c=20.0):
        self.amb, self.top_w, self.deck_w = 20.0, 1600.0, 1600.0
        self.element_j_k, self.air_j_k, self.stone_j_k = 300.0, 3500.0, 2500.0
        self.element_w_k, self.loss_w_k, self.stone_w_k, self.deck_stone_w_k = 4.0, 3.3, 10.0, 3.0
        self.tip_s, self.stone_tip_s, self.dead_s = 8.0, 12.0, 1.5
        self.top = self.deck = self.air = self.stone = self.tip = self.stone_tip = start_c
        self._late = deque()
        self._rest_s = 0.0

    def step(self, dt_s, heat):
        """`heat`: share of the step in which each zone conducts; half cycle by half cycle."""
        self._rest_s += dt_s
        while self._rest_s >= HALF_CYCLE_S - 1e-9:
            self._rest_s -= HALF_CYCLE_S
            self._half_cycle(self.top_w * heat.get("top", 0.0), self.deck_w * heat.get("deck", 0.0))

    def _half_cycle(self, top_w, deck_w):
        h = HALF_CYCLE_S
        from_top = self.element_w_k * (self.top - self.air)
        from_deck = self.element_w_k * (self.deck - self.air)
        to_stone = self.stone_w_k * (self.air - self.stone)
        deck_to_stone = self.deck_stone_w_k * (self.deck - self.stone)
        self.top += (top_w - from_top) / self.element_j_k * h
        self.deck += (deck_w - from_deck - deck_to_stone) / self.element_j_k * h
        lost = self.loss_w_k * (self.air - self.amb)
        self.air += (from_top + from_deck - to_stone - lost) / self.air_j_k * h
        self.stone += (to_stone + deck_to_stone) / self.stone_j_k * h
        self._late.append(self.air)
        seen = self._late.popleft() if len(self._late) > self.dead_s / h else self._late[0]
        self.tip += (seen - self.tip) / self.tip_s * h
        self.stone_tip += (self.stone - self.stone_tip) / self.stone_tip_s * h

    def temperature_c(self, place):
        """Of "dome", "stone" (their tips), "box", "ambient"."""
        box = 28.0 + 0.01 * (self.air - self.amb)
        return {"dome": self.tip, "stone": self.stone_tip, "box": box, "ambient": self.amb}[place]

    def event(self, name, **values):
        """Doors and breads change nothing here, as over there."""
