"""The breads of a run: how far the reading sank at each, and when the next could go in."""

from __future__ import annotations

import math

import numpy as np

NEAR_K = 5.0  # "at the setpoint": the reading is within this of it; also "back" after a bread


def bread_list(
    rows: np.ndarray, t_s: np.ndarray, pv_c: np.ndarray, setpoint_c: np.ndarray, loads: list[float]
) -> list[dict[str, float | None]]:
    """One a load, see `bread`; with the stages of a board's own record, recovery as a cook counts it."""
    stages = rows["stage"].astype(str) if "stage" in (rows.dtype.names or ()) else None
    staged = stages is not None and (stages == "bake").any()
    cooled_s = t_s[stages == "cool"] if staged else []
    found = []
    for start_s, end_s in zip(loads, (loads + [math.inf])[1:], strict=True):
        end_s = min([end_s, *(s for s in cooled_s if s > start_s)][:2])
        found.append(bread(t_s, pv_c, setpoint_c, start_s, end_s))
        if stages is not None and staged:
            found[-1]["recovery_s"] = until_next(t_s, stages, start_s, end_s)
    return found


def bread(
    t_s: np.ndarray, pv_c: np.ndarray, setpoint_c: np.ndarray, start_s: float, end_s: float
) -> dict[str, float | None]:
    """One bread laid at `start_s`, the next at `end_s`: how far the reading sank and when it was back."""
    result: dict[str, float | None] = {"t_s": float(start_s), "recovery_s": None, "sag_k": None}
    here = np.flatnonzero((t_s >= start_s) & (t_s < end_s) & np.isfinite(pv_c - setpoint_c))
    # the recovery is over, or void, where the setpoint leaves that of the moment of laying
    if len(here):
        moved = np.flatnonzero(np.abs(setpoint_c[here] - setpoint_c[here[0]]) > 0.05)
        here = here[: moved[0]] if len(moved) else here
        below_k = setpoint_c[here] - pv_c[here]
        lowest = int(np.argmax(below_k))
        sag_k = result["sag_k"] = max(0.0, float(below_k[lowest]))
        back = np.flatnonzero(below_k[lowest:] <= NEAR_K)
        if sag_k <= NEAR_K:
            result["recovery_s"] = 0.0
        elif len(back):
            result["recovery_s"] = float(t_s[here[lowest + back[0]]] - start_s)
    return result


def until_next(t_s: np.ndarray, stages: np.ndarray, start_s: float, end_s: float) -> float | None:
    """Seconds from the end of a bake laid at `start_s` until the next bread can go in; None if that was not seen."""
    baked = np.flatnonzero((t_s >= start_s) & (t_s < end_s) & (stages == "bake"))
    if not len(baked):
        return None
    after = np.arange(len(t_s)) > baked[-1]
    ready = np.flatnonzero(after & np.isin(stages, ("load", "lift")))
    ended = np.flatnonzero(after & ~np.isin(stages, ("recover", "load", "lift", "bake")))
    if not len(ready) or (len(ended) and ended[0] < ready[0]):
        return None
    return float(t_s[ready[0]] - t_s[min(baked[-1] + 1, len(t_s) - 1)])
