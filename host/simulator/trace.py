"""The rows of a rehearsal: one a simulated second, what was true beside what the device knew."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

if TYPE_CHECKING:
    from host.simulator.outside import Outside


ROW = np.dtype(
    [
        ("t_s", "f8"),
        ("dome_c", "f8"),  # the true air, where the plant tells it
        ("stone_c", "f8"),
        ("pv_c", "f8"),
        ("setpoint_c", "f8"),
        ("out_pct", "f8"),
        ("heat_top", "f8"),  # share of the time since the last row that the pin was on
        ("heat_deck", "f8"),
        ("permit", "i4"),
        ("state", "U12"),
        ("trip", "U24"),
        ("stage", "U12"),
        ("power_top", "f8"),  # share of that time that the element conducted
        ("power_deck", "f8"),
        ("contactor", "i4"),  # its true main contacts
        ("box_c", "f8"),
        ("stone_pv_c", "f8"),
    ]
)
SECOND_US = 1_000_000


class Trace:
    """Rows as they come; `fields`: {report field: index} of the device's report."""

    def __init__(self, fields: dict[str, int]) -> None:
        self.fields = fields
        self.count = 0
        self.next_us = SECOND_US  # when the next row is due
        self._rows = np.zeros(1024, ROW)
        self._row_us = 0

    @property
    def rows(self) -> np.ndarray:
        """The rows so far, see ROW."""
        return self._rows[: self.count]

    def add(self, outside: Outside, report: Any, words: tuple[str, str, str]) -> None:
        """A row of this moment. `report`: the device's, None while it runs no program; `words`: state, trip, stage."""
        now_us = outside.now_us
        outside.account()
        span_us = max(1, now_us - self._row_us)
        shares = []
        for relay in outside.relays:
            shares.append((relay.commanded_us / span_us, relay.conducted_us / span_us))
            relay.commanded_us = relay.conducted_us = 0
        at = self.fields
        if report is None:
            pv_c = setpoint_c = stone_pv_c = float("nan")
            out_pct, permit = 0.0, 0
        else:
            pv_c = report[at["pv_mc"]] / 1000
            stone_pv_c = report[at["stone_mc"]] / 1000
            setpoint_c = report[at["setpoint_mc"]] / 1000
            out_pct, permit = report[at["out_pm"]] / 10, report[at["permit"]]
        if self.count == len(self._rows):
            self._rows = np.concatenate([self._rows, np.zeros(len(self._rows), ROW)])
        self._rows[self.count] = (
            *(now_us / 1e6, outside.true_c("dome"), outside.true_c("stone"), pv_c, setpoint_c, out_pct),
            *(shares[0][0], shares[1][0], permit, *words),
            *(shares[0][1], shares[1][1], outside.contactor.is_closed),
            *(outside.plant.temperature_c("box"), stone_pv_c),
        )
        self.count += 1
        self._row_us = now_us
        self.next_us = (now_us // SECOND_US + 1) * SECOND_US
