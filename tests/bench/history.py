"""Histories of 60 simulated evenings: what is named when, and what is called on healthy ones.

python tests/bench/history.py faults [OVENS]       each fault at 15 % (no meter) and 5 % (voltage, current)
python tests/bench/history.py healthy [HISTORIES]  every beginning of every healthy history, with and without meters
"""

import sys
from pathlib import Path

sys.path[:0] = [str(Path(__file__).parents[2]), str(Path(__file__).parents[1] / "history")]

from many import FAULTS, FULL, histories, metered  # noqa: E402

from host.history.findings import GAIN_MIN, best_fit, thermal  # noqa: E402
from host.history.shift import matrix  # noqa: E402

SEED = 3000
RIGHT = {"element": "element_weak", "one element": "element_weak", "gasket": "loss_more", "insulation": "loss_more",
         "probe low": "probe_low", "probe high": "probe_high"}  # fmt: skip
CASES = ((0.15, ""), (0.05, "mains_v"), (0.05, "current_a"))


def first_named(evenings, right, until):
    """(first evening from which `right` is said, what is said at `until`, its weight)."""
    begun, said, share = None, "nothing", 0.0
    for count in range(14, until + 1, 2):
        found, _ = thermal(evenings[:count])
        said, share = (found[0].code, found[0].share) if found else ("nothing", 0.0)
        begun = (begun or count) if said == right else None
    return begun, said, share


def faults(ovens):
    """One line a case, and the sums."""
    wanted = [name for name in FAULTS if name != "healthy"]
    right = dict.fromkeys(CASES, 0)
    for k in range(ovens):
        kind = ("layered", "lumped")[k % 2]
        for size in sorted({size for size, _ in CASES}):
            found = histories(kind, SEED + k, wanted, size)
            for case in CASES:
                if case[0] != size:
                    continue
                for fault in wanted:
                    begun, said, share = first_named(metered(found[fault], case[1]), RIGHT[fault], FULL + 10)
                    good = said == RIGHT[fault]
                    right[case] += good
                    mark = "" if good else "   <-- wrong"
                    print(f"{kind} {SEED + k} {fault:12} {size:.0%} {case[1] or 'no meter':9} from evening {begun}; "
                          f"evening {FULL + 10}: {said} {share:.2f}{mark}", flush=True)  # fmt: skip
    for case, count in right.items():
        print(f"{case[0]:.0%} {case[1] or 'no meter'}: {count} of {ovens * len(wanted)} named within 10 evenings")


def healthy(wanted):
    """Count what is said of healthy histories, and how near to it any came."""
    said = tried = ovens = 0
    nearest = {"": [], "mains_v": [], "current_a": []}
    while tried < wanted:
        kind = ("layered", "lumped")[ovens % 2]
        for evenings in histories_healthy(kind, SEED + 500 + ovens):
            tried += 1
            for meter, gains in nearest.items():
                logs = matrix(metered(evenings, meter), 450.0)
                excess = [best_fit(logs[:count])[0] for count in range(12, 61, 6)]
                gains.append(GAIN_MIN + max(excess))
                said += max(excess) >= 0.0
        ovens += 1
        worst = {name or "no meter": [round(one, 1) for one in sorted(gains)[-3:]] for name, gains in nearest.items()}
        print(f"{tried} histories, {said} with a call; highest (call at {GAIN_MIN:.0f}): {worst}", flush=True)
    print(f"{tried} healthy histories of {ovens} ovens, each with and without meters: {said} with a call; "
          f"if none, below {3 / tried:.1%} of histories at 95 % (rule of three)")  # fmt: skip


def histories_healthy(kind, seed, count=10):
    """`count` healthy histories of one oven."""
    evenings = histories(kind, seed, ["healthy"], 0.0, 60 * count)["healthy"]
    return [evenings[i * 60 : (i + 1) * 60] for i in range(count)]


if __name__ == "__main__":
    number = int(sys.argv[2]) if len(sys.argv) > 2 else 0
    if sys.argv[1:2] == ["healthy"]:
        healthy(number or 100)
    else:
        faults(number or 4)
