"""A calibration as text and as data."""

from __future__ import annotations

from typing import Any

WATER_WARNING = (
    "water points only: they find a swapped type or a bad junction, but say little at 450 °C; "
    "a reference thermometer at 250 and 400 °C says more"
)


def as_data(result: dict[str, Any]) -> dict[str, Any]:
    """The result as JSON can carry it."""
    return {
        "probe": result["probe"],
        "date": result["date"],
        "points": [
            {
                "name": point.name,
                "true_c": round(point.true_c, 3),
                "reading_c": round(point.reading_c, 3),
                "correction_k": round(point.correction_k, 3),
            }
            for point in result["points"]
        ],
        "curve": result["curve"],
        "refused": result["refused"],
        "water_only": result["water_only"],
        "budget": [
            {
                "at_c": t_c,
                "expanded_k": round(u_k, 3),
                "components": [
                    {"name": line.name, "standard_k": round(line.standard_k, 4), "how": line.how} for line in lines
                ],
            }
            for t_c, lines, u_k in result["at"]
        ],
        "drift": None
        if result["changes"] is None
        else [
            {"name": name, "change_k": round(change, 3), "expanded_k": round(spread, 3)}
            for name, change, spread in result["changes"]
        ],
        "drifted": result["drifted"],
        "written": result["written"],
    }


def text(result: dict[str, Any], settings_name: str) -> str:
    """The result for a reader."""
    lines = [f"{result['probe']} probe, {result['date']}", "", "  point               true     reading  correction"]
    for point in result["points"]:
        lines.append(f"  {point.name:16}{point.true_c:8.2f} °C{point.reading_c:9.2f} °C{point.correction_k:+9.2f} K")
    lines += ["", "  remaining uncertainty of a corrected reading (k = 2)"]
    for t_c, _, u_k in result["at"]:
        lines.append(f"  at {t_c:3d} °C  +-{u_k:4.1f} K")
    t_c, parts, u_k = next(entry for entry in result["at"] if entry[0] == 450)
    lines += ["", f"  budget at {t_c} °C (standard uncertainties)"]
    for part in sorted(parts, key=lambda part: -part.standard_k):
        lines.append(f"  {part.standard_k:6.2f} K  {part.name} ({part.how})")
    if result["changes"]:
        lines += ["", "  against the record"]
        for name, change, spread in result["changes"]:
            word = "DRIFTED" if abs(change) > spread else "within"
            lines.append(f"  {name:16}{change:+6.2f} K, {word} +-{spread:.2f} K")
    elif result["changes"] is not None:
        lines += ["", "  the record has no point of the same name to compare with"]
    lines.append("")
    if result["water_only"]:
        lines.append(f"warning: {WATER_WARNING}")
    if result["refused"]:
        lines.append(f"refused: {result['refused']}")
        return "\n".join(lines)
    if any(correction < 0 for _, correction in result["curve"]):
        lines.append("note: where the curve lowers a reading, the high limit goes by the uncorrected one")
    points = " ".join(f"{reading / 1000:g}:{correction / 1000:+g}" for reading, correction in result["curve"])
    lines.append(f"curve (reading:correction): {points}")
    if result["written"]:
        lines.append(f"written to {settings_name}; it takes effect when these settings are on the board")
    else:
        lines.append("not written (say --write)")
    return "\n".join(lines)
