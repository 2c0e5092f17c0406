"""Warm states for the drill: one board and one oven brought to each phase of an evening once, then copied."""

from __future__ import annotations

import copy
import tempfile
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from host.errors import HostError
from host.oven.named import named
from host.pins import pin_map
from host.simulator.rehearsal import Rehearsal

if TYPE_CHECKING:
    from host.oven.base import Plant


OVENS = ("standard", "light", "heavy", "lamp")
PHASES = ("cold", "preheat", "setpoint", "load", "recover", "cooling", "held")
# What each wiring lacks. "plain" has the independent limiter but no other helper of the slow rules.
SENSES = ("MAINS_SENSE_TOP", "MAINS_SENSE_DECK", "CONTACTOR_OPEN")
WIRINGS = {
    "full": (),
    "plain": (*SENSES, "stone"),
    "doorless": (*SENSES, "stone", "DOOR"),
    "bare": (*SENSES, "stone", "LIMIT_OK"),
}
# The drill does not lean on the independent limiter: it stands far above, but for the faults that it alone can see.
LIMITER_ASIDE_C = 900.0
PATIENCE_S = 9000.0
LAMP_SETPOINT_C = 60  # the lamp bench reaches about 80 °C


class Unreached(HostError):
    """This oven does not come to a phase; the text says where it stood."""


def pin_map_text(board: str, wiring: str) -> str:
    """The pin map of a board without what a wiring lacks, as text."""
    pins = pin_map.read(board)
    lines = []
    for name, value in vars(pins).items():
        if name in WIRINGS[wiring]:
            continue
        if name == "PROBES":
            value = {probe: spec for probe, spec in value.items() if probe not in WIRINGS[wiring]}
        lines.append(f"{name} = {value!r}\n")
    return "".join(lines)


def rehearsal(
    spec: str,
    wiring: str = "full",
    settings: Mapping[str, Any] | None = None,
    board: str = "boards/pico.py",
    runtime: str = "cpython",
    hot: Plant | None = None,
    device: Path | str | None = None,
    soak_min: int = 1,
) -> Rehearsal:
    """A Rehearsal of an oven in a wiring; `hot`: an oven as it stands, instead of a cold one."""
    settings = dict(settings or {})
    settings["soak_min"] = soak_min
    settings["breads"] = 0
    if spec == "lamp":
        settings["setpoint_c"] = LAMP_SETPOINT_C
    more: dict[str, Any] = {} if device is None else {"device": device}
    with tempfile.TemporaryDirectory(prefix="drill-") as folder:
        path = Path(folder) / "board.py"
        path.write_text(pin_map_text(board, wiring), encoding="utf-8")
        return Rehearsal(
            plant=hot or named(spec), board=path, settings=settings, seed=3, limiter_c=LIMITER_ASIDE_C,
            runtime=runtime, **more,
        )  # fmt: skip


def until(made: Rehearsal, what: Callable[[Rehearsal], object], word: str, limit_s: float = PATIENCE_S) -> None:
    """Advance second by second until `what(made)`; Unreached after `limit_s`."""
    end_s = made.now_s + limit_s
    while not what(made):
        if made.now_s > end_s or made.trip not in ("none", ""):
            pv_c = made.rows["pv_c"][-1]
            raise Unreached(f"{word} not reached: {made.state} {made.stage} {made.trip} at {pv_c:.0f} °C")
        made.advance(1.0)


def states(made: Rehearsal) -> dict[str, Rehearsal]:
    """Bring a cold, idle Rehearsal through its phases: {phase: Rehearsal}, each a copy that can be copied again."""
    found = {}
    found["cold"] = copy.deepcopy(made)
    reply = made.send("start")
    if not reply.startswith("~ok"):
        raise Unreached(f"start refused: {reply}")
    until(made, lambda r: r.stage == "preheat", "preheat")
    made.advance(2.0)
    setpoint_c, start_c = made.rows["setpoint_c"][-1], made.rows["pv_c"][-1]
    near_c = max(setpoint_c - 120.0, start_c + 0.6 * (setpoint_c - start_c))
    until(made, lambda r: r.rows["pv_c"][-1] >= near_c, "preheat")
    found["preheat"] = copy.deepcopy(made)
    until(made, lambda r: r.stage == "soak", "setpoint")
    made.advance(50.0)
    found["setpoint"] = copy.deepcopy(made)
    found["held"] = copy.deepcopy(made)
    found["held"].send("hold")
    found["held"].advance(20.0)
    found["cooling"] = copy.deepcopy(made)
    found["cooling"].send("stop")
    found["cooling"].advance(30.0)
    until(made, lambda r: r.stage == "bake", "load")
    made.advance(15.0)
    found["load"] = copy.deepcopy(made)
    until(made, lambda r: r.stage != "bake", "recover")  # an oven that has kept its heat asks for the next at once
    made.advance(12.0)
    until(made, lambda r: not r.outside.door_open, "recover")
    found["recover"] = made
    return found
