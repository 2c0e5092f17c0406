"""A settings file on the laptop: the JSON that a board's settings are loaded from and saved to."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

from host.errors import InputError
from host.files import writing

BOARD_BYTES = 2048  # what the board's store takes in one value


class SettingsFileError(InputError):
    """The file cannot be used; the text is one line."""


def read(path: Path | str) -> dict[str, Any]:
    """The settings as a dict; {} if there is no file yet. Raises SettingsFileError, changes nothing."""
    path = Path(path)
    if not path.exists():
        return {}
    try:
        values = json.loads(path.read_text(encoding="utf-8"))
    except (OSError, ValueError) as error:
        raise SettingsFileError(f"{path.name}: not readable as settings: {error}") from error
    if not isinstance(values, dict):
        raise SettingsFileError(f"{path.name}: not readable as settings: a table is needed")
    for name in ("calibration", "calibration_record"):
        if not isinstance(values.get(name, {}), dict):
            raise SettingsFileError(f"{path.name}: {name} must be a table")
    return values


def write(path: Path | str, values: dict[str, Any]) -> None:
    """Write whole or not at all; SettingsFileError where it is too long for the board or cannot be written."""
    path = Path(path)
    size = len(json.dumps(values, separators=(",", ":")).encode("utf-8"))
    if size > BOARD_BYTES:
        raise SettingsFileError(f"{path.name}: {size} bytes; the board keeps {BOARD_BYTES}")
    try:
        writing.write_text(path, json.dumps(values, indent=1) + "\n")
    except writing.NotWritten as error:
        raise SettingsFileError(str(error)) from None
