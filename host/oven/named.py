"""An oven from the text a user types: a preset, `random:`, `other:`, `third:SEED` (other structures), `twin:FILE`."""

from __future__ import annotations

import json
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from host import oven
from host.files import kinds

if TYPE_CHECKING:
    from host.oven.base import Plant
    from host.oven.parameters import OvenParameters


MARK = "tizzone_twin"
KINDS = "light, standard, heavy, lamp, random:SEED, other:SEED, third:SEED or twin:FILE"


class Fitted(Protocol):
    """An oven that was fitted to a record: host.learning.twin.Twin."""

    parameters: oven.OvenParameters
    scales: dict[str, float]
    known: dict[str, float]
    rms_k: float


def named(text: str, seed: int = 1) -> Plant:
    """The plant; `seed` drives the noise of presets and twins. ValueError with one line for anything else."""
    kind, colon, rest = text.partition(":")
    if not colon:
        if text not in oven.PRESETS:
            raise ValueError(f"no oven called {text!r}; say {KINDS}")
        return oven.preset(text, seed)
    if kind == "twin":
        return oven.Oven(read_twin(rest), seed)
    makers = {"random": oven.sample, "other": oven.other, "third": oven.third}
    if kind not in makers or not rest.isdigit():
        raise ValueError(f"oven {text!r}: say {KINDS}, SEED a whole number")
    return makers[kind](int(rest))


def write_twin(path: Path | str, twin: Fitted, source: object, force: bool = False) -> None:
    """Keep a fitted twin (host.learning.twin.Twin) as JSON; `source`: the run that it was fitted to."""
    content = {
        MARK: 1,
        "source": str(source),
        "rms_k": twin.rms_k,
        "scales": twin.scales,
        "known": twin.known,
        "parameters": asdict(twin.parameters),
    }
    kinds.write(path, json.dumps(content, indent=1) + "\n", kinds.TWIN, force)


def read_twin(path: Path | str) -> OvenParameters:
    """OvenParameters of a file that `write_twin` made; ValueError with one line for any other."""
    try:
        content = json.loads(Path(path).read_text(encoding="utf-8"))
    except (OSError, ValueError) as error:
        raise ValueError(f"twin {path}: cannot be read ({error})") from None
    fields = content.get("parameters") if isinstance(content, dict) else None
    if not isinstance(fields, dict) or not fields or content.get(MARK) != 1:
        raise ValueError(f"twin {path}: not a file that 'tizzone identify --twin' made")
    known = oven.OvenParameters.__dataclass_fields__
    wrong = [name for name, value in fields.items() if name not in known or not _fits(value, known[name].default)]
    if wrong:
        raise ValueError(f"twin {path}: {wrong[0]} is not a parameter of an oven, or not a number")
    return oven.OvenParameters(**fields)


def _fits(value, default):
    if isinstance(default, str):
        return isinstance(value, str)
    return isinstance(value, (int, float)) and not isinstance(value, bool) and value == value
