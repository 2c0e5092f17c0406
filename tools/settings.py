"""`tizzone settings`: what the board is set to, what each setting means, a copy on the laptop and back again."""

import argparse
from pathlib import Path
from typing import Any

from host.files import kinds, settings_file
from host.files.settings_file import SettingsFileError
from host.files.writing import NotWritten
from host.talk import Refused, settings
from tools import ToolError, onboard

HELP = "show, set, back up and restore the board's settings, with meaning, unit and bounds"
EXAMPLE = """\
examples:
  tizzone settings                          all of them as the board holds them
  tizzone settings show attend_min          one, with what it means and its bounds
  tizzone settings set attend_min 10        stored; in force after the board's next reset
  tizzone settings backup hall.settings.json
  tizzone settings restore hall.settings.json

Settings change only while the board is idle. Exit code: 0 done, 1 the board or a bound says no, 2 wrong use."""
ACTS = {"show": (0, 1), "set": (2, 2), "backup": (1, 1), "restore": (1, 1)}
RESET = "press the board's reset (settings are read at its start), then tizzone next"
NEXT = {"show": "tizzone explain NAME, or tizzone next", "set": RESET, "backup": "tizzone next", "restore": RESET}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Arguments of the command."""
    parser.add_argument("act", nargs="?", choices=tuple(ACTS), default="show", help="what to do (default: show)")
    parser.add_argument("words", nargs="*", metavar="WORD", help="show [NAME], set NAME VALUE, backup or restore FILE")
    parser.add_argument("--force", action="store_true", help="backup: write over a file that is there already")
    onboard.add_port(parser)


def run(options: argparse.Namespace) -> int:
    """0 done, 1 refused; ToolError for wrong use, an unusable file or no board."""
    least, most = ACTS[options.act]
    if not least <= len(options.words) <= most:
        said = {"show": "show [NAME]", "set": "set NAME VALUE", "backup": "backup FILE", "restore": "restore FILE"}
        raise ToolError(f"say: tizzone settings {said[options.act]}")
    if options.act in ("show", "set") and options.words and options.words[0] not in settings.table():
        raise ToolError(f"no setting is called '{options.words[0]}'; tizzone settings lists them")
    work = {"show": shown, "set": stored, "backup": kept, "restore": restored}[options.act]
    try:
        return onboard.answered("settings", options, lambda: work(options))
    except (SettingsFileError, NotWritten) as error:
        raise ToolError(str(error)) from None


def shown(options: argparse.Namespace) -> Any:
    """One setting or all."""
    names = options.words or list(settings.table())
    rows = []
    with onboard.board(options) as client:
        for name in names:
            rows.append({**settings.about(name), "value": settings.value_of(client, name)})
    tell = onboard.teller(options)
    for row in rows:
        tell("\n".join(lines(row, is_full=bool(options.words))))
    return rows


def lines(row: dict, is_full: bool) -> list[str]:
    """A setting for a person."""
    value = row["value"] if not isinstance(row["value"], dict) else "set" if row["value"] else "none"
    if not is_full:
        mark = "" if row["value"] == row["default"] else "  *"
        return [f"{row['name']:<19} {value!s:>8} {row['unit']:<7} {row['meaning']}{mark}"]
    made = [f"{row['name']} = {row['value']} {row['unit']}".rstrip(), f"  meaning: {row['meaning']}"]
    if row["lowest"] is not None:
        made.append(
            f"  from {row['lowest']} to {row['highest']} {row['unit']}; delivered with {row['default']}".rstrip()
        )
    return [*made, f"  why: {row['why']}"]


def stored(options: argparse.Namespace) -> dict:
    """Set one."""
    name, text = options.words
    with onboard.board(options) as client:
        before = settings.value_of(client, name)
        said = settings.put(client, name, text)
        now = settings.value_of(client, name)
    onboard.teller(options)(f"{name}: {before} -> {now} {settings.unit_of(name)}".rstrip() + f" ({said})")
    return {"name": name, "before": before, "value": now, "said": said}


def kept(options: argparse.Namespace) -> dict:
    """A copy on the laptop."""
    path = Path(options.words[0])
    kinds.check(path, kinds.SETTINGS, options.force)
    with onboard.board(options) as client:
        values = settings.all_of(client)
    settings_file.write(path, values, options.force)
    onboard.teller(options)(f"{len(values)} settings: {path}")
    return {"file": str(path), "settings": len(values)}


def restored(options: argparse.Namespace) -> dict:
    """The board as in the file."""
    values = settings_file.read(options.words[0], settings.table(), missing_is_empty=False)
    with onboard.board(options) as client:
        try:
            changed, left = settings.restore(client, values)
        except Refused as error:
            raise Refused(f"{options.words[0]}: {error}") from None
    tell = onboard.teller(options)
    if not changed:
        options.following = "tizzone next"
    tell(f"changed: {', '.join(changed) or 'nothing'}" + (f"; not sent: {', '.join(left)}" if left else ""))
    return {"changed": changed, "not_sent": left}
