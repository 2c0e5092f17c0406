"""A settings file on the laptop: the JSON that a board's settings are loaded from and saved to."""

from __future__ import annotations

import json
import time
import tomllib
from collections.abc import Collection
from pathlib import Path
from typing import Any

from host.errors import InputError
from host.files import kinds, writing

BOARD_BYTES = 2048  # what the board's store takes in one value
MARK = "tizzone"  # the key under which a JSON file says what it is
SAVED = "saved"  # and the one for when it was written, by the laptop's clock


class SettingsFileError(InputError):
    """The file cannot be used; the text is one line."""


def read(path: str | Path, known: Collection[str] = (), missing_is_empty: bool = True) -> dict[str, Any]:
    """The settings as a dict; {} if there is no file yet. Raises SettingsFileError, changes nothing.

    `known`: the names that a settings file may hold; a file with any other is something else and refused."""
    path = Path(path)
    if missing_is_empty and not path.exists():
        return {}
    try:
        text = path.read_text(encoding="utf-8")
        values = tomllib.loads(text) if path.suffix == ".toml" else json.loads(text)
    except (OSError, ValueError) as error:
        raise SettingsFileError(f"{path.name}: not readable as settings: {error}") from error
    if not isinstance(values, dict):
        raise SettingsFileError(f"{path.name}: not readable as settings: a table is needed")
    kind = kinds.kind_of(path)
    if kind not in (None, "", kinds.SETTINGS):
        raise SettingsFileError(f"{path.name}: is a file of the kind '{kind}', not settings; say another file")
    for name in (MARK, SAVED):
        values.pop(name, None)
    strange = sorted(set(values) - set(known)) if known else []
    if strange:
        raise SettingsFileError(f"{path.name}: no settings file: {', '.join(strange[:3])} is no setting of the board")
    for name in ("calibration", "calibration_record"):
        if not isinstance(values.get(name, {}), dict):
            raise SettingsFileError(f"{path.name}: {name} must be a table")
    return values


def write(path: str | Path, values: dict[str, Any], force: bool = False) -> None:
    """Write whole or not at all; SettingsFileError where it is too long for the board, cannot be written or would
    cost a file that is there: what was read from it before is to be in `values`, and `force` says so."""
    path = Path(path)
    size = len(json.dumps(values, separators=(",", ":")).encode("utf-8"))
    if size > BOARD_BYTES:
        raise SettingsFileError(f"{path.name}: {size} bytes; the board keeps {BOARD_BYTES}")
    try:
        kinds.write(path, text_of(values), kinds.SETTINGS, force)
    except writing.NotWritten as error:
        raise SettingsFileError(str(error)) from None


def text_of(values: dict[str, Any]) -> str:
    """The settings as a file's text, with the moment of writing."""
    return json.dumps({SAVED: time.strftime("%Y-%m-%dT%H:%M:%S"), **values}, indent=1) + "\n"
