"""What the campaign of host/drill/cuts.py found, as text for the terminal."""

from __future__ import annotations

from collections import Counter

from host.drill.cuts import Outcome


def text(outcomes: list[Outcome], spent_s: float) -> str:
    """A line for each path, what was being written, what was lost, every failure."""
    lines = []
    for path in dict.fromkeys(outcome.path for outcome in outcomes):
        of_path = [outcome for outcome in outcomes if outcome.path == path]
        trips = Counter(outcome.trip for outcome in of_path)
        writes = sum(1 for outcome in of_path if outcome.kind != "tick")
        lines.append(
            f"{path}: {len(of_path)} cuts, {writes} in mid-write; heat after it {_most(of_path):.2f} s at most; "
            "then " + ", ".join(f"{trip} {count}" for trip, count in trips.most_common())
        )
    written = Counter(outcome.name or "log" for outcome in outcomes if outcome.kind != "tick")
    if written:
        lines.append("in mid-write: " + ", ".join(f"{name} {count}" for name, count in written.most_common()))
    stages = Counter(outcome.stage for outcome in outcomes)
    lines.append("stages: " + ", ".join(f"{stage} {count}" for stage, count in stages.most_common()))
    lost = sum(1 for outcome in outcomes if outcome.lost_breads)
    lines.append(f"the newest bread's record, not stored yet, was lost in {lost}; nothing else may be")
    failed = [outcome for outcome in outcomes if outcome.failed]
    lines += [f"FAILED: {o.path} at {o.at_s:.2f} s, {o.stage}, {o.kind} {o.name}: {o.failed}" for o in failed]
    return "\n".join([*lines, f"{len(outcomes)} cuts, {len(failed)} failed, {spent_s:.0f} s"])


def _most(outcomes):
    return max(outcome.heat_s for outcome in outcomes)
