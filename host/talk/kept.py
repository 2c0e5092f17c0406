"""What the board has kept, as files on the laptop: log, counters, book of breads, witness steps, settings."""

from __future__ import annotations

import json
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from host.files import kinds, settings_file
from host.link import LinkError
from host.talk import asked, fields, settings

LOG_LINES = 200  # two files of 4 kB on the board hold fewer
PARTS = ("log", "counters", "breads", "witness", "settings")


def log_lines(client: Any) -> list[str]:
    """The lines of the board's event log, oldest first; LinkError for a refusal."""
    lines: list[str] = []
    for number in range(LOG_LINES):
        reply = client.ask(f"log {number}")
        if reply.startswith("no end"):
            return lines
        if not reply.startswith("ok "):
            raise LinkError(f"the board says: {reply}")
        lines.append(reply[3:])
    return lines


def counters(client: Any) -> dict[str, int]:
    """Service counters by name."""
    return {name: int(value) for name, value in fields(asked(client, "counters")).items() if value.isdigit()}


def breads(client: Any) -> list[str]:
    """The book of breads, one line a bread as the board tells it."""
    count = int(fields(asked(client, "night")).get("breads", "0"))
    return [asked(client, f"bread {number}") for number in range(1, count + 1)]


def witness(client: Any) -> dict[str, Any]:
    """How far commissioning is, and who witnessed which step when."""
    reply = asked(client, "witness")
    got: dict[str, Any] = fields(reply)
    got["reason"] = reply.partition("reason=")[2]
    got["steps"] = [asked(client, f"witness step {number}") for number in range(int(got.get("done", "0")))]
    return got


def now() -> str:
    """Date and time by the laptop's clock: the board has none of its own."""
    return time.strftime("%Y-%m-%dT%H:%M:%S")


def log_text(lines: list[str]) -> str:
    """The log as a file's text; when it was fetched dates what the board counts from its own start."""
    return f"# fetched {now()}\n" + "".join(line + "\n" for line in lines)


GETTERS: dict[str, tuple[str, Callable, str]] = {
    "log": ("board.log", log_lines, kinds.LOG),
    "counters": ("counters.json", counters, kinds.COUNTERS),
    "breads": ("breads.json", breads, kinds.BREADS),
    "witness": ("witness.json", witness, kinds.WITNESS),
    "settings": ("settings.json", settings.all_of, kinds.SETTINGS),
}


def fetch(client: Any, parts: list[str], folder: Path, force: bool = False) -> dict[str, int]:
    """Fetch these parts into the folder: {file: entries}. NotWritten, before anything is asked, where one is there."""
    for part in parts:
        kinds.check(folder / GETTERS[part][0], GETTERS[part][2], force)
    made = {}
    for part in parts:
        name, get, kind = GETTERS[part]
        got = get(client)
        if part == "log":
            text = log_text(got)
        elif part == "settings":
            text = settings_file.text_of(got)
        else:
            text = json.dumps({"fetched": now(), part: got}, indent=1) + "\n"
        kinds.write(folder / name, text, kind, force, makes_folder=True)
        made[str(folder / name)] = len(got)
    return made
