"""Which evenings may be laid beside each other: real evenings of one board, or rehearsals of one simulated oven.

A rehearsal says its runtime, a watched practice board that it is simulated, a real evening the board's name. Evenings
with an injected fault belong to none.
"""

from __future__ import annotations

from typing import Any

from host.runs.recording import RecordingError

REAL, REHEARSAL, PRACTICE = "real evening", "rehearsal", "practice"
ORDER = (REAL, REHEARSAL, PRACTICE)
WORDS = {
    REAL: ("real evening", "real evenings"),
    REHEARSAL: ("rehearsal", "rehearsals"),
    PRACTICE: ("evening of a practice board", "evenings of a practice board"),
}


def kind_of(stored: dict[str, Any]) -> tuple[str, str]:
    """(kind, oven) by an evening's summary; the oven is "" where nothing names it."""
    if "runtime" in stored:
        return REHEARSAL, str(stored.get("oven", ""))
    return (PRACTICE if stored.get("simulated") else REAL), str(stored.get("board", ""))


def chosen(evenings: list[dict[str, Any]], oven: str | None = None) -> tuple[list[dict[str, Any]], list[str]]:
    """-> (evenings of one oven, what was kept apart in words). `oven`: a board's or a simulated oven's name.

    Without it: real evenings go before rehearsals, then the oven with most evenings, then the latest. RecordingError
    for an oven that no evening is of."""
    whole = [evening for evening in evenings if not evening.get("faults")]
    faulted = len(evenings) - len(whole)
    words = [f"{faulted} with an injected fault, left out"] if faulted else []
    groups = grouped(whole)
    fit = [key for key in groups if oven is None or key[1] == oven]
    if oven is not None and not fit:
        known = ", ".join(sorted({key[1] or "(no name)" for key in groups})) or "none"
        raise RecordingError(f"no evening of an oven called '{oven}'; there are: {known}")
    if not fit:
        return [], words
    taken = min(fit, key=lambda key: (ORDER.index(key[0]), -len(groups[key]), -fit.index(key)))  # then the latest
    words += [f"{len(group)} {named(key, len(group))}, kept apart" for key, group in groups.items() if key != taken]
    if taken[0] != REAL:
        words.append(f"no real evening here: {len(groups[taken])} {named(taken, len(groups[taken]))}")
    return groups[taken], words


def grouped(evenings: list[dict[str, Any]]) -> dict[tuple[str, str], list[dict[str, Any]]]:
    """{(kind, oven): evenings}; real evenings that name no board join the only board that is named."""
    groups: dict[tuple[str, str], list[dict[str, Any]]] = {}
    for evening in evenings:
        groups.setdefault((evening.get("kind", REAL), evening.get("oven", "")), []).append(evening)
    boards = [key for key in groups if key[0] == REAL and key[1]]
    if len(boards) == 1 and (REAL, "") in groups:
        mixed = groups.pop((REAL, "")) + groups[boards[0]]
        groups[boards[0]] = [evening for evening in evenings if any(evening is one for one in mixed)]
    return groups


def named(key: tuple[str, str], count: int) -> str:
    """A group of so many in words."""
    kind, oven = key
    return WORDS[kind][count != 1] + (f" of '{oven}'" if oven else " without a board's name" if kind == REAL else "")
