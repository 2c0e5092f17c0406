"""Calibration records over months: has a probe's correction moved by more than its uncertainty?"""

from __future__ import annotations

from typing import Any

from host.history.findings import Finding, made

UNKNOWN_K = 2.0  # expanded uncertainty of a point whose record gives none
SURE = 1.0  # times the combined expanded uncertainty (k = 2)


def by_probe(records: list[dict[str, Any]]) -> dict[tuple[str, str], Any]:
    """{(probe, identity): [records in order of time]}; a new probe begins anew."""
    found = {}
    for record in records:
        found.setdefault((record["probe"], record.get("identity", "")), []).append(record)
    return found


def changes(records: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """-> [{probe, point, first, last, change_k, expanded_k, per_year_k}] first against last record of a point."""
    found = []
    for (probe, _), kept in by_probe(records).items():
        for name in sorted({name for record in kept for name in record["points"]}):
            having = [record for record in kept if name in record["points"]]
            if len(having) < 2:
                continue
            first, last = having[0], having[-1]
            (before_k, u1_k), (now_k, u2_k) = first["points"][name], last["points"][name]
            days = (last["date"] - first["date"]).total_seconds() / 86400.0
            found.append(
                {
                    "probe": probe,
                    "point": name,
                    "first": first["date"],
                    "last": last["date"],
                    "change_k": now_k - before_k,
                    "expanded_k": ((u1_k or UNKNOWN_K) ** 2 + (u2_k or UNKNOWN_K) ** 2) ** 0.5,
                    "per_year_k": (now_k - before_k) / days * 365.25 if days >= 14 else None,
                }
            )
    return found


def drifted(records: list[dict[str, Any]]) -> list[Finding]:
    """Findings: one for each probe whose correction has moved beyond its uncertainty at some point."""
    found = {}
    for one in changes(records):
        if abs(one["change_k"]) > SURE * one["expanded_k"]:
            found.setdefault(one["probe"], []).append(one)
    return [
        made(
            f"{probe}_probe_drift",
            f"The {probe}'s probe has drifted between its calibrations",
            "Repeat the comparison at the same points. If it holds: a new correction; replace the probe if it moves "
            "again; near 450 °C a thermocouple that was hot for long reads differently at another depth.",
            0.95,
            [
                f"{one['point']}: correction moved by {one['change_k']:+.1f} K "
                f"(uncertainty of the difference {one['expanded_k']:.1f} K, "
                f"k = 2) from {one['first']:%Y-%m-%d} to {one['last']:%Y-%m-%d}"
                + (f", {one['per_year_k']:+.1f} K a year." if one["per_year_k"] is not None else ".")
                for one in moved
            ],
            f"{moved[0]['first']:%Y-%m-%d}",
        )
        for probe, moved in found.items()
    ]
