"""The commissioning record on the laptop: JSON, written whole after every step, bound to one board by its mark."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from host.errors import HostError
from host.files import kinds
from host.files.writing import NotWritten

VERSION = 1


class RecordError(HostError):
    """A record that cannot be used or written: one line."""


class Record:
    """`data`: {"version", "board", "mark", "program", "simulated", "steps": [...]}; every attempt is kept."""

    def __init__(self, path: Path | str, data: dict[str, Any] | None = None) -> None:
        self.path = Path(path)
        self.data = data or {"version": VERSION, "board": "", "mark": "", "program": "", "steps": []}

    @classmethod
    def open(cls, path: Path | str) -> Record:
        """The record of a file, a new one where there is none; RecordError in one line."""
        path = Path(path)
        try:
            data = json.loads(path.read_text(encoding="utf-8"))
        except FileNotFoundError:
            return cls(path)
        except OSError as error:
            raise RecordError(f"{path}: cannot be read ({error.strerror})") from None
        except ValueError:
            raise RecordError(f"{path}: damaged; keep it aside and take another --record FILE") from None
        steps = data.get("steps") if isinstance(data, dict) else None
        if not isinstance(steps, list) or not all(isinstance(step, dict) and "name" in step for step in steps):
            raise RecordError(f"{path}: not a commissioning record of ours")
        data.pop("tizzone", None)
        if data.get("version") != VERSION:
            raise RecordError(f"{path}: written by another version ({data.get('version')!r})")
        return cls(path, data)

    def bind(self, board: str, mark: str, program: str, simulated: bool) -> None:
        """This board's record; RecordError if it is another's. A changed mark of the same record is refused too."""
        if self.data["steps"] and self.data.get("mark") != mark:
            raise RecordError(
                f"{self.path}: belongs to another board, pin map, probe or high limit "
                f"(mark {self.data.get('mark')}, now {mark}): take another --record FILE"
            )
        self.data.update(board=board, mark=mark, program=program, simulated=simulated)

    def add(self, entry: dict[str, Any]) -> None:
        """One attempt at a step."""
        self.data["steps"].append(entry)
        self.save()

    def save(self) -> None:
        """Whole or not at all."""
        try:
            text = json.dumps(self.data, ensure_ascii=False, indent=1) + "\n"
            kinds.write(self.path, text, kinds.COMMISSIONING, makes_folder=True)
        except NotWritten as error:
            raise RecordError(str(error)) from None
