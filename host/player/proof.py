"""What two boards have shown, kept as a file that commissioning takes as evidence, and as a page.

It is bound to one board by the mark of its commissioning: another pin map, probe or high limit makes it void. It says
what was seen at 3.3 V, never that a build is safe.
"""

from __future__ import annotations

import json
import time
from collections.abc import Sequence
from html import escape
from pathlib import Path
from typing import Any

from host.files import kinds
from host.page import caution, document, scrolled
from host.player.drill import Result
from host.player.evening import Apart
from host.player.harness import CAUTIONS, Harness

VERSION = 1


def proof(harness: Harness, board: dict[str, str], results: Sequence[Result], measures: dict[str, Any],
          compared: Apart | None = None, emulated: bool = False) -> dict[str, Any]:  # fmt: skip
    """The content of a proof. `board`: {"board", "version", "mark"} as the board says them; `emulated`: no silicon."""
    missed = [result.name for result in results if result.failed]
    off_ms = [result.off_ms for result in results if result.off_ms is not None]
    late_ms = [result.late_ms for result in results if result.late_ms is not None]
    return {
        "version": VERSION,
        "date": time.strftime("%Y%m%dT%H%M", time.gmtime()),
        "board": board.get("board", "?"),
        "program": board.get("version", "?"),
        "mark": board.get("mark", "?"),
        "mcu": harness.mcu,
        "emulated": emulated,
        "faults": len(results),
        "missed": missed,
        "slowest_off_ms": round(max(off_ms), 1) if off_ms else None,
        "slowest_late_ms": round(max(late_ms), 1) if late_ms else None,
        "evening": None if compared is None else {**vars(compared), "is_within": compared.is_within},
        "measures": measures,
        "results": [result.plain() for result in results],
    }


def sentence(made: dict[str, Any]) -> str:
    """The one line of a proof."""
    if not made["faults"]:
        return "your board, your wiring: no fault was drilled"
    if made["missed"]:
        missed = ", ".join(made["missed"])
        return f"your board, your wiring: {len(made['missed'])} of {made['faults']} faults missed: {missed}"
    return (
        f"your board, your wiring: {made['faults']} faults, all off within {made['slowest_late_ms']:.0f} ms of the "
        "moment from which each can show"
    )


def write(path: Path, made: dict[str, Any], force: bool = False) -> None:
    """The file for commissioning; NotWritten where another one is there."""
    kinds.write(
        path, json.dumps(made, ensure_ascii=False, indent=1) + "\n", kinds.BENCH_PROOF, force, makes_folder=True
    )


def lines(made: dict[str, Any]) -> list[str]:
    """The measures as lines for a person."""
    measures, found = made["measures"], []
    tick = measures.get("ticks")
    if tick:
        found.append(f"tick: {tick['period_ms']} ms, 98 of 100 within {tick['p01_ms']} to {tick['p99_ms']} ms; longest "
                     f"{tick['longest_ms']} ms, so the longest stall (a flash write) "
                     f"{tick['longest_stall_ms']} ms")  # fmt: skip
    boot = measures.get("boot")
    if boot:
        high = ", ".join(f"{name} {ms:g} ms" for name, ms in boot["high_ms"].items() if ms) or "none"
        moved = ", ".join(boot["heat_moved"]) or "none"
        found.append(
            f"restart: armed after {boot['armed_s']} s; outputs high meanwhile: {high}; of those that heat: {moved}"
        )
    if measures.get("watchdog_s") is not None:
        bite_s = measures.get("watchdog_bite_s")
        found.append(
            f"program stopped: {measures['watchdog_s']} s from the last tick to the first of the restarted program"
            + ("" if bite_s is None else f"; the watchdog bit {bite_s} s after that tick, set to "
               f"{measures['watchdog_set_s']:g} s")
        )  # fmt: skip
    if "edges_lost" in measures:
        odd = {name: sum(counts[1:]) for name, counts in measures["reads"].items()}
        found.append(
            f"the player: {measures['edges_lost']} edges lost, longest pass {measures['player_longest_ms']} ms; reads "
            + ", ".join(f"{name} {counts[0]} ({odd[name]} of other than 32 clocks or held)"
                        for name, counts in measures["reads"].items())
        )  # fmt: skip
    evening = made.get("evening")
    if evening:
        found.append(f"evening: {evening['rows']} rows beside the simulated ones: reading within "
                     f"{evening['reading_k']} K, a stage's heat within {evening['heat_share'] * 100:.0f} %, its length "
                     f"within {evening['stage_s']} s; beyond "
                     f"the bounds: {evening['beyond']}")  # fmt: skip
    return found


def page(made: dict[str, Any]) -> str:
    """One HTML document."""
    title = "What the board did on the bench"
    head = "".join(f'<th scope="col">{word}</th>' for word in ("fault", "heat pins low after", "the board said", ""))
    rows = "".join(
        f'<tr><th scope="row">{escape(one["words"])}</th><td class="figure">{_ms(one["off_ms"])}</td>'
        f"<td>{escape(one['reason'])}</td><td>{escape('MISSED: ' + one['failed']) if one['failed'] else ''}</td></tr>"
        for one in made["results"]
    )
    facts = (
        f"Board {made['board']} ({made['mcu']}), program {made['program']}, mark {made['mark']}, {made['date']} UTC."
    )
    return document(title, [
        f"<h1>{escape(title)}</h1>",
        "<p><strong>EMULATED: no silicon was touched.</strong></p>" if made["emulated"] else "",
        f"<p>{escape(sentence(made))}</p><p>{escape(facts)}</p>",
        "".join(f"<p>{escape(line)}</p>" for line in lines(made)),
        scrolled(f"<table><tr>{head}</tr>{rows}</table>", "Faults") if rows else "",
        caution(" ".join((CAUTIONS[0], CAUTIONS[-1]))), caution(),
    ])  # fmt: skip


def _ms(value):
    return "never" if value is None else f"{value:.0f} ms"
