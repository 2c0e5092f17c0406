"""The run folder of a watched evening, and the board's event log as a file."""

from __future__ import annotations

import math
import time
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from host.files import kinds
from host.runs.recording import COLUMNS, RunWriter
from host.talk.kept import log_lines, log_text

if TYPE_CHECKING:
    from host.link.client import LineClient, SimulatedClient


NAMES = (*COLUMNS, "box_c", "contactor", "stage", "stone_pv_c")


class Recorder:
    """Rows and events of one run; each is on its way to disk at once, so that a cut costs one line.

    about: what the summary is to carry from the start on, {"simulated": True} for a board that is none."""

    def __init__(self, folder: Path | str, about: Mapping[str, Any] | None = None) -> None:
        self.writer = RunWriter(folder, NAMES)
        self._last_s = -math.inf
        self.about = {
            "title": "Watched run",
            "about": ["Recorded over the serial link, one row a second."],
            "started": time.strftime("%Y-%m-%dT%H:%M:%S%z"),
            **(about or {}),
        }
        self.writer.begin(self.about)

    def row(self, values: Mapping[str, Any]) -> None:
        """One sample; a clock that went back is left out."""
        if values["t_s"] < self._last_s:
            return
        self._last_s = values["t_s"]
        self.writer.row({name: math.nan if value is None else value for name, value in values.items()})

    def event(self, event: dict[str, Any]) -> None:
        """One event."""
        self.writer.event(event)

    def finish(self, summary: dict[str, Any]) -> None:
        """Close the run; the summary carries `about` and this."""
        self.writer.finish({**self.about, **summary})


def pull(client: LineClient | SimulatedClient, path: Path | str, force: bool = False) -> int:
    """Fetch the event log into `path`, whole or not at all; the number of lines. NotWritten where it cannot be."""
    kinds.check(path, kinds.LOG, force)
    lines = log_lines(client)
    kinds.write(path, log_text(lines), kinds.LOG, force, makes_folder=True)
    return len(lines)
