"""The one way in which a file of the user's is written: whole or not at all, whenever the power or the process goes.

A new file beside the old one, flushed to the disk, takes its name (rename(2) is atomic on one file system: POSIX).
"""

import contextlib
import json
import os
from pathlib import Path
from typing import Any

from host.errors import HostError


class NotWritten(HostError):
    """A file that cannot be written: one line; what was there before is as it was."""


def write_bytes(path: str | os.PathLike[str], data: bytes, makes_folder: bool = False) -> None:
    """Write `data` as the file `path`; NotWritten in one line. `makes_folder`: its folder is made if it is missing."""
    target = Path(os.path.realpath(path))  # a link stays one
    fresh = target.with_name(f".{target.name}.{os.getpid()}.tizzone")  # a name that no person gives a file
    try:
        if makes_folder:
            target.parent.mkdir(parents=True, exist_ok=True)
        if target.exists() and not target.is_file():
            target.write_bytes(data)  # a device or pipe has no old content to lose; a folder says so
            return
        with open(fresh, "wb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        os.replace(fresh, target)
    except OSError as error:
        with contextlib.suppress(OSError):
            fresh.unlink()
        raise NotWritten(f"{path}: cannot be written ({error.strerror or error})") from None


def write_text(path: str | os.PathLike[str], text: str, makes_folder: bool = False) -> None:
    """The same for text: UTF-8, line ends as they are."""
    write_bytes(path, text.encode("utf-8"), makes_folder)


def write_json(path: str | os.PathLike[str], value: Any, indent: int = 1, makes_folder: bool = False) -> None:
    """The same for a value that JSON can carry."""
    write_text(path, json.dumps(value, ensure_ascii=False, indent=indent) + "\n", makes_folder)
