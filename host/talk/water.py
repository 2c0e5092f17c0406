"""The board reads ice and boiling water itself: wait until a probe's reading stands still, then keep what it reads."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from host.calibration import curve as calibration
from host.link import replies
from host.talk import Refused, settings

EVERY_S = 1.0
KEPT = 20  # readings that are kept; as many more before them have to stand as still
STILL_K = 0.8  # their range: an amplifier of 0.25 K steps and its noise; house
DRIFT_K = 0.3  # between the means of both halves
LONGEST_S = 900.0
TELL_S = 10.0
FAR_S = 90.0  # a tip that is not in the bath yet
ACKNOWLEDGE_S = 60
# What the board rightly makes of a tip that is warmed or cooled faster than any oven, or without heat of its own.
BATH_TRIPS = ("reading-wrong", "stone-probe", "undriven-rise", "heat-uncontrolled", "high-limit", "stone-limit")


@dataclass(frozen=True)
class Place:
    """What the tip stands in: `true_c`, and how far a sound probe may read from it (type K class 2 with its chip)."""

    name: str
    true_c: float
    apart_k: float = 12.0


def reading_c(client: Any, probe: str) -> float:
    """One reading of a probe as the board shows it, °C; Refused without one."""
    now = replies.status(client.ask("status"))
    value_c = now["pv_c"] if probe == "dome" else now["stone_pv_c"]
    if value_c is None:
        raise Refused(f"the board has no reading of the {probe} probe: check its wires and the pin map")
    return value_c


def stored_curve(client: Any, probe: str) -> list | None:
    """The correction that the board holds for this probe; None without one."""
    return settings.value_of(client, "calibration").get(probe) or None


def still(
    client: Any, probe: str, place: Place, tell: Callable[[str], None], longest_s: float = LONGEST_S
) -> list[float]:
    """The readings, °C, once they stand still near the place's temperature; Refused if they never do."""
    start_s = client.now_s
    told_s = start_s - TELL_S
    seen: list[float] = []
    while client.now_s - start_s < longest_s:
        seen.append(reading_c(client, probe))
        kept = seen[-2 * KEPT :]
        if len(kept) == 2 * KEPT and stands(kept):
            if abs(kept[-1] - place.true_c) <= place.apart_k:
                return kept[KEPT:]
            if client.now_s - start_s < FAR_S:
                client.wait(EVERY_S)
                continue
            raise Refused(
                f"{place.name}: the {probe} probe stands still at {kept[-1]:.1f} °C, {place.apart_k:.0f} K and more "
                f"from {place.true_c:.1f} °C: is it the right probe, in the right bath, of the type in the pin map?"
            )
        if client.now_s - told_s >= TELL_S:
            told_s = client.now_s
            tell(f"  {place.name}: {seen[-1]:.2f} °C, waiting until it stands still near {place.true_c:.1f} °C")
        client.wait(EVERY_S)
    raise Refused(
        f"{place.name}: the reading does not stand still within {longest_s / 60:.0f} min: stir, tip in the middle"
    )


def tripped(client: Any) -> str:
    """The trip that moving the tip has made, "" without one; Refused for any other, which is no matter of baths."""
    trip = replies.status(client.ask("status"))["trip"]
    if trip != "none" and trip not in BATH_TRIPS:
        raise Refused(f"the board has tripped ({trip}): tizzone explain {trip}")
    return "" if trip == "none" else trip


def acknowledge(client: Any) -> None:
    """Acknowledge that trip, once its cause is gone; Refused where the board goes on refusing."""
    reply = ""
    for _ in range(ACKNOWLEDGE_S):
        reply = client.ask("acknowledge")
        if reply.startswith("ok"):
            return
        client.wait(EVERY_S)
    raise Refused(f"the board refuses 'acknowledge': {reply[3:]}")


def stands(kept: list[float]) -> bool:
    """Whether readings stand still: small range, and both halves alike."""
    first, last = kept[: len(kept) // 2], kept[len(kept) // 2 :]
    drift_k = abs(sum(last) / len(last) - sum(first) / len(first))
    return max(kept) - min(kept) <= STILL_K and drift_k <= DRIFT_K


def uncorrected(curve: list | None, readings_c: list[float]) -> list[float]:
    """The readings as they were before the board's correction."""
    return [calibration.uncorrected_c(curve, value_c) for value_c in readings_c] if curve else readings_c
