"""What the campaign of host/drill/stalls.py found, as a table for the terminal."""

from __future__ import annotations

from collections import Counter

from host.drill.stall_judge import KINDS, Outcome

HEADS = ("at a call", "cases", "failed", "goes on", "longest heat s", "in", "trips at the end")


def text(outcomes: list[Outcome], spent_s: float) -> str:
    """One line a kind; then every failure, the same ones together."""
    lines = [HEADS]
    for kind in KINDS:
        of_kind = [o for o in outcomes if o.kind == kind]
        if not of_kind:
            continue
        worst = max(of_kind, key=lambda o: o.heat_s)
        trips = Counter(o.trip for o in of_kind if not o.goes_on).most_common()
        lines.append((
            kind, str(len(of_kind)), str(sum(1 for o in of_kind if o.failed)), str(sum(o.goes_on for o in of_kind)),
            f"{worst.heat_s:.2f}", f"{worst.stage} {worst.where}", ", ".join(f"{t} {n}" for t, n in trips),
        ))  # fmt: skip
    widths = [max(len(line[i]) for line in lines) for i in range(len(HEADS) - 1)]
    table = [
        "  ".join([*(c.ljust(w) for c, w in zip(line, widths, strict=False)), line[-1]]).rstrip() for line in lines
    ]
    stages = Counter(o.stage for o in outcomes)
    table.append("stages: " + ", ".join(f"{stage} {count}" for stage, count in stages.items()))
    failed = Counter((o.stage, o.kind, o.where, o.failed) for o in outcomes if o.failed)
    table += [
        f"FAILED {n} times: {stage}, {kind} in {where}: {why}" for (stage, kind, where, why), n in failed.most_common()
    ]
    total = sum(failed.values())
    return "\n".join([*table, f"{len(outcomes)} cases, {total} failed, {spent_s:.0f} s"])
