"""What the evenings say: what has changed, with evidence, since when, confidence and what to check."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np

from host.findings import Finding as Plain
from host.history.evening import FIGURES, METERS
from host.history.shift import ALL, FIRST, LEAST, WINDOWS, evening_cov, fit, level, matrix, series, shift, theil_sen

if TYPE_CHECKING:
    from host.history.shift import Cause, Shift


GAIN_MIN = 16.0  # fall of -2 log likelihood: four standard deviations; 80 healthy histories: at most 13.4
FEW = ((5, 25.0), (8, 4.0))  # fewer last evenings than this: so much more is asked, since one odd evening weighs more
OPEN_RATIO = 1.6  # preheat against its usual time: one element open (simulated ovens: top always, deck in 89 %)
OPEN_EVENINGS = 2
LISTED = 0.05
UNMEASURED = 0.9  # a weak element is at most this sure while nobody measured the mains: our choice, no source

# cause: (id and words where it is above 0, and below 0), what to check
WORDS: dict[str, tuple[tuple[str, str], tuple[str, str], str]] = {
    "power": (
        ("element_stronger", "The elements give more heat than at the beginning"),
        ("element_weak", "The elements give less heat"),
        "Measure the mains voltage at full output first: a lower voltage does the same. Then, plug pulled, have each "
        "element's resistance measured: a change by more than a tenth, or one that reads open, is replaced.",
    ),
    "loss": (
        ("loss_more", "The oven loses more heat: door gasket or insulation"),
        ("loss_less", "The oven loses less heat than at the beginning"),
        "Cold: a strip of paper shut in the door must hold all round; look at hinges, gasket corners and flue. "
        "Then feel where the casing grows hotter than it was: insulation that has sagged.",
    ),
    "probe": (
        ("probe_high", "The dome's probe reads too high"),
        ("probe_low", "The dome's probe reads too low: the oven is hotter than it shows"),
        "Look whether the tip still sits where it sat. Then `tizzone calibrate --compare` at ice and boiling water, "
        "or beside a reference at 400 °C. A new correction curve shows up here too.",
    ),
    "mass": (
        ("mass_more", "More mass in the oven: another stone, or a tray left in"),
        ("mass_less", "Less mass in the oven: a thinner stone, or none"),
        "No fault. If the stone was changed, begin the history anew with --since.",
    ),
    "stone_probe": (
        ("stone_high", "The stone's probe reads more, against the dome's, than at the beginning"),
        ("stone_low", "The stone's probe reads less, against the dome's, than at the beginning"),
        "Does its tip still touch the stone? Was the stone or the probe moved? Then compare it in boiling water.",
    ),
    "cooling": (
        ("cools_slower", "The oven cools more slowly, and nothing else has changed"),
        ("cools_faster", "The oven cools faster, and nothing else has changed"),
        "No fault by itself: was the door left ajar, or did the cooling fan run differently?",
    ),
}
NOTES = ("element_stronger", "loss_less", "mass_more", "mass_less", "cools_slower", "cools_faster")


STOPS = ("probe_low",)  # the oven is hotter than it shows: no heat until it is looked at


def grade_of(code: str) -> str:
    """What a cause asks for, on the scale of all findings."""
    return "note" if code in NOTES else "stop" if code in STOPS else "change"


@dataclass(frozen=True)
class Finding(Plain):
    """`share` (0..1) of the evidence that this cause has, `size_pct`, `evidence` (lines), `since`, `others` (codes that
    fit too), `trend` (size of one cause each evening in %, for the picture)."""

    share: float = 1.0
    evidence: list = field(default_factory=list)
    since: str = ""
    size_pct: float | None = None
    others: list = field(default_factory=list)
    trend: Any = field(default=None, compare=False)

    @property
    def is_note(self) -> bool:
        """Nothing wrong."""
        return self.grade == "note"

    def as_json(self) -> dict:
        """Dictionary for --json."""
        return {
            **super().as_json(),
            "confidence": round(self.share, 3),
            "size_pct": self.size_pct,
            "since": self.since,
            "evidence": self.evidence,
            "could_also_be": self.others,
        }


def made(code: str, words: str, check: str, share: float, evidence: list[str], since: str = "",
         size_pct: float | None = None, others: Sequence[str] = (), trend: Any = None) -> Finding:  # fmt: skip
    """A Finding with its grade; what it rests on is its evidence, `check` is what to look at."""
    return Finding(code, grade_of(code), words, "; ".join(evidence), check, share, list(evidence), since, size_pct,
                   list(others), trend)  # fmt: skip


def usual_setpoint_c(evenings: list[dict[str, Any]]) -> int | None:
    """The setpoint that most evenings had, in steps of 10 K; None without any."""
    steps = [round(evening["setpoint_c"] / 10) * 10 for evening in evenings if evening.get("setpoint_c")]
    hot = [step for step in steps if step >= 430] or steps
    return max(set(hot), key=lambda step: (hot.count(step), step)) if hot else None


def enough(evenings: list[dict[str, Any]]) -> bool:
    """Whether these evenings can be compared, the last with the first."""
    usual_c = usual_setpoint_c(evenings)
    if usual_c is None:
        return False
    logs = matrix(evenings, usual_c)
    return int(np.isfinite(logs[:, :6]).any(axis=1).sum()) >= LEAST + WINDOWS[0]


def thermal(evenings: list[dict[str, Any]]) -> tuple:
    """-> (findings, remarks) about elements, losses and probes from the evenings in order of time."""
    usual_c = usual_setpoint_c(evenings)
    if usual_c is None:
        return [], ["No evening has reached for a setpoint; nothing can be compared."]
    logs = matrix(evenings, usual_c)
    useful = np.flatnonzero(np.isfinite(logs[:, :6]).any(axis=1))
    if len(useful) < LEAST + WINDOWS[0]:
        return [], [
            f"{len(useful)} evenings say something; {LEAST + WINDOWS[0]} are needed to compare first with last."
        ]
    logs, kept = logs[useful], [evenings[i] for i in useful]
    opened = element_open(logs, kept)
    if opened:
        return [opened], []
    best = best_fit(logs)
    if best is None:
        return [], ["The first and the last evenings have no figure in common."]
    return ([finding(logs, kept, *best[1:])] if best[0] >= 0.0 else []), []


def best_fit(logs: np.ndarray) -> tuple[float, Shift, list[Cause]] | None:
    """-> (gain beyond what is asked, Shift, list of Cause) of the longest stretch of last evenings that is sure, else
    of the likeliest; None where first and last evenings have no figure in common."""
    first, best = np.arange(min(FIRST, len(logs) - WINDOWS[0])), None
    for window in WINDOWS:  # rising: the longest stretch that is sure knows best what it is
        last = np.arange(max(len(logs) - window, len(first)), len(logs))
        change = shift(logs, first, last) if len(last) >= WINDOWS[0] else None
        if change is None:
            continue
        fitted = fit(change)
        excess = fitted[0].gain - GAIN_MIN - next((more for count, more in FEW if len(last) < count), 0.0)
        if best is None or excess >= 0.0 or excess > best[0]:
            best = (excess, change, fitted)
    return best


def element_open(logs: np.ndarray, evenings: list[dict[str, Any]]) -> Finding | None:
    """One element open: the last evenings' preheat takes far longer, all at once."""
    rise = logs[:, 0]
    before = rise[:-OPEN_EVENINGS][np.isfinite(rise[:-OPEN_EVENINGS])]
    if len(before) < LEAST or not np.isfinite(rise[-OPEN_EVENINGS:]).all():
        return None
    # against the evenings just before: a slow decline is not this
    usual = float(np.median(before[-LEAST:]))
    ratio = math.exp(float(rise[-OPEN_EVENINGS:].min()) - usual)
    sudden = [k for k in range(len(rise)) if np.isfinite(rise[k]) and rise[k] - usual > math.log(OPEN_RATIO)]
    if ratio < OPEN_RATIO:
        return None
    return made(
        "element_open",
        "An element gives no heat, or all of them far less",
        WORDS["power"][2],
        0.95,
        [
            f"Preheat 100 to 200 °C now takes {ratio:.2f} times its usual {math.exp(usual):.0f} s, "
            "two evenings running; "
            f"a mains voltage low enough for that would be {100 / math.sqrt(ratio):.0f} % of its usual one."
        ],
        label(evenings, sudden[0]),
        round(100 * (1 / ratio - 1), 1),
    )


def finding(logs: np.ndarray, evenings: list[dict[str, Any]], change: Shift, fitted: list[Cause]) -> Finding:
    """The Finding of the likeliest cause; others that fit nearly as well are named beside it."""
    merged = {}
    for cause in fitted:
        name = "loss" if cause.name in ("gasket", "wall") else cause.name
        entry = merged.setdefault(name, [cause, 0.0])
        entry[1] += cause.share
    (name, (cause, share)), *rest = sorted(merged.items(), key=lambda item: -item[1][1])
    id_, words = words_of(name, cause)
    size_pct = 100 * (math.exp(cause.size) - 1)
    others = [(*words_of(other, c), s) for other, (c, s) in rest if s >= LISTED]
    trend, begun, slope = history_of(logs, change, cause.name)
    evidence = evidence_of(logs, change, cause, share, slope)
    evidence += blind_spots(name, change)
    if name == "power" and not {"mains_v", "current_a"} & set(change.names):
        share = min(share, UNMEASURED)
    return made(
        id_,
        words,
        WORDS[name][2],
        share,
        evidence,
        label(evenings, begun),
        round(size_pct, 1),
        [f"{one[0]} ({one[2]:.2f})" for one in others],
        trend,
    )


def words_of(name: str, cause: Cause) -> tuple[str, str]:
    """(id, words) of a cause by the way that it went."""
    more, less, _ = WORDS[name]
    return less if cause.size < 0 else more


def evidence_of(
    logs: np.ndarray, change: Shift, cause: Cause, share: float, slope: tuple[float, ...] | None
) -> list[str]:
    """Lines on what moved, how sure that is and how it went on."""
    size_pct = 100 * (math.exp(cause.size) - 1)
    evidence = [moved_line(logs, change, i) for i in range(len(change.use))]
    evidence.append(
        f"Together: {size_pct:+.0f} % (standard deviation {100 * cause.sd:.0f} %), {cause.gain:.0f} on a scale "
        f"where {GAIN_MIN:.0f} is four standard deviations; weight among all causes {share:.2f}."
    )
    if slope:
        evidence.append("Trend: {:+.1f} % in ten evenings ({:+.1f} to {:+.1f} %, Theil-Sen, 95 %).".format(*slope))
    if cause.misfit > 22.5:  # chi square of 6 at 0.999; handbook table
        evidence.append(
            "No single cause explains all of it well: two things at once, or another that is not looked for."
        )
    return evidence


def blind_spots(name: str, change: Shift) -> list[str]:
    """Lines on what these figures cannot tell apart from the cause that was named."""
    evidence = []
    if name in ("power", "probe") and not {"stone", "current_a"} & set(change.names):
        evidence.append(
            "Without a stone probe or a measured current, a weak element and a probe that reads low look alike."
        )
    if name == "power" and not {"mains_v", "current_a"} & set(change.names):
        evidence.append("The mains were not measured: a lasting fall of the voltage would look the same.")
    return evidence


def moved_line(logs: np.ndarray, change: Shift, i: int) -> str:
    """One figure's change in words."""
    column = change.use[i]
    name = ALL[column]
    words, unit = (FIGURES.get(name) or METERS[name])[:2]
    before, after = (float(np.exp(np.nanmedian(logs[part, column]))) for part in (change.before, change.after))
    digits = 3 if unit == "" else 1 if unit in ("%", "A") else 0
    return (
        f"{words}: {before:.{digits}f} to {after:.{digits}f} {unit}".strip()
        + f" ({100 * (math.exp(change.moved[i]) - 1):+.1f} %, "
        f"first {len(change.before)} evenings against last {len(change.after)})"
    )


def history_of(logs: np.ndarray, change: Shift, cause_name: str) -> tuple[np.ndarray, int, tuple[float, ...] | None]:
    """-> (nightly size in %, index where it began, (slope, low, high) in % for ten evenings or None)."""
    baseline, _ = level(logs[change.before], change.use, evening_cov(logs))
    size = series(logs, change, cause_name, baseline)
    smooth = np.array(
        [
            np.nanmedian(size[max(0, k - 2) : k + 3]) if np.isfinite(size[max(0, k - 2) : k + 3]).any() else 0.0
            for k in range(len(size))
        ]
    )
    now = float(np.nanmedian(size[change.after])) if np.isfinite(size[change.after]).any() else 0.0
    quiet = np.flatnonzero(smooth * np.sign(now) < 0.3 * abs(now))
    begun = min(len(size) - 1, int(quiet[-1]) + 1) if len(quiet) else 0
    slope = theil_sen(np.arange(len(size)), 100 * (np.exp(size) - 1))
    return 100 * (np.exp(size) - 1), begun, tuple(10 * part for part in slope) if slope else None


def label(evenings: list[dict[str, Any]], k: int) -> str:
    """How an evening is called."""
    return str(evenings[k].get("name") or f"evening {k + 1}")
