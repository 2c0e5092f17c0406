"""Reading and checking a build sheet (TOML): every error at once, each with file, key, allowed."""

import tomllib
from pathlib import Path

from host.files import kinds
from host.mains.compute import element_power_w
from host.mains.keys import LISTS, MAY_BE_ABSENT, TABLES, TOP
from host.mains.schema import REQUIRED

MAX_BYTES = 200_000  # bytes; house
ELEMENT_W = (20, 9000)  # W at the supply's voltage; house: more is no domestic oven (and no model of one)


class SheetError(Exception):
    """The sheet cannot be used; `lines` holds one line for each wrong entry."""

    def __init__(self, lines: list[str]) -> None:
        super().__init__("\n".join(lines))
        self.lines = lines


def read(path: Path | str) -> dict:
    """Checked build sheet as nested dictionaries with defaults filled in; SheetError otherwise."""
    path = Path(path)
    try:
        if path.stat().st_size > MAX_BYTES:
            raise SheetError([f"{path.name}: larger than {MAX_BYTES} bytes: not a build sheet"])
        kind = kinds.kind_of(path)
        if kind not in (None, "", kinds.BUILD_SHEET):
            raise SheetError([f"{path.name}: is a file of the kind '{kind}', not a build sheet; say another file"])
        raw = tomllib.loads(path.read_bytes().decode("utf-8"))
    except OSError as error:
        raise SheetError([f"{path.name}: cannot be read: {error.strerror or error}"]) from None
    except UnicodeDecodeError:
        raise SheetError([f"{path.name}: not UTF-8 text"]) from None
    except tomllib.TOMLDecodeError as error:
        raise SheetError([f"{path.name}: not valid TOML: {error}"]) from None
    except RecursionError:
        raise SheetError([f"{path.name}: nested too deeply: not a build sheet"]) from None
    return check(raw, path.name)


def check(raw: dict, name: str = "sheet") -> dict:
    """Checked copy of the parsed sheet `raw`; SheetError lists every wrong entry of file `name`."""
    errors = []
    sheet = _table(raw, TOP, "", errors)
    known = {path.split(".")[0] for path in TABLES} | set(LISTS) | set(TOP)
    errors += [f"{key}: unknown entry; allowed: {', '.join(sorted(known))}"
               for key in raw if key not in known]  # fmt: skip
    for path, keys in TABLES.items():
        parent, _, child = path.partition(".")
        found = raw.get(parent)
        if child:
            found = found.get(child) if isinstance(found, dict) else None
        target = sheet.setdefault(parent, {}) if child else sheet
        nested = {p.split(".")[1] for p in TABLES if p.startswith(path + ".")}
        target[child or parent] = _section(found, keys, path, errors, nested)
    _unknown_zones(raw, errors)
    for path, keys in LISTS.items():
        sheet[path] = _list(raw.get(path, []), keys, path, errors)
    if not errors:
        errors = _together(sheet)
    if errors:
        raise SheetError([f"{name}: {line}" for line in errors])
    return sheet


def _section(found, keys, path, errors, nested=frozenset()):
    if found is None and path in MAY_BE_ABSENT:
        found = {}
    if found is None:
        errors.append(f"[{path}]: missing table; needed: {', '.join(_needed(keys)) or 'any key'}")
        return {}
    if not isinstance(found, dict):
        errors.append(f"{path}: must be a table [{path}], not {_brief(found)}")
        return {}
    for key in found:
        if key not in keys and key not in nested:
            errors.append(f"{path}.{key}: unknown entry; allowed: {', '.join(keys)}")
    return _table(found, keys, path + ".", errors) | {}


def _unknown_zones(raw, errors):
    found = raw.get("elements")
    if isinstance(found, dict):
        errors += [f"elements.{key}: unknown entry; allowed: top, deck"
                   for key in found if key not in ("top", "deck")]  # fmt: skip


def _needed(keys):
    return [key for key, spec in keys.items() if spec.default is REQUIRED]


def _table(found, keys, prefix, errors):
    checked = {}
    for key, spec in keys.items():
        if key not in found:
            if spec.default is REQUIRED:
                errors.append(f"{prefix}{key}: missing; allowed: {spec.allowed()}")
            else:
                checked[key] = spec.default
        elif spec.is_unknown(found[key]):
            checked[key] = None
        elif spec.accepts(found[key]):
            checked[key] = found[key]
        else:
            errors.append(f"{prefix}{key} = {_brief(found[key])}: allowed: {spec.allowed()}")
    return checked


def _list(found, keys, path, errors):
    if not isinstance(found, list) or not all(isinstance(entry, dict) for entry in found):
        errors.append(f"{path}: must be a list of tables [[{path}]]")
        return []
    return [_section(entry, keys, f"{path}[{i + 1}]", errors) for i, entry in enumerate(found)]


def _brief(value):
    text = repr(value) if not isinstance(value, dict) else "a table"
    return text if len(text) <= 40 else text[:37] + "..."


def _together(sheet):
    """Errors of entries that are right alone but not together."""
    lines = []
    rules = sheet["supply"]["rules"]
    volts = sheet["supply"]["voltage_v"]
    for zone in ("top", "deck"):
        lines += _element(sheet["elements"][zone], zone, volts)
    cable = sheet["cable"]
    size, other = ("awg", "section_mm2") if rules == "nec" else ("section_mm2", "awg")
    under = f'under supply.rules = "{rules}"'
    for run in ("cable", "cord"):
        if sheet[run][size] is None:
            lines.append(f"{run}.{size}: missing; needed {under}")
        if sheet[run][other] is not None:
            lines.append(f"{run}.{other}: not used {under}; give {run}.{size}")
    if (cable["method"] in ("raceway60", "raceway75")) != (rules == "nec") and (cable["method"] != "cord"):
        methods = "raceway60, raceway75, cord" if rules == "nec" else "A1, A2, B1, B2, C, cord"
        lines.append(f'cable.method = "{cable["method"]}": allowed here: {methods}')
    if (sheet["supply"]["curve"] == "nec") != (rules == "nec"):
        lines.append('supply.curve: B, C or D under "iec"; "nec" under "nec"')
    lines += _fitted(sheet)
    return lines


def _element(element, zone, volts):
    plate = element["power_w"] is not None, element["voltage_v"] is not None
    if element["ohms"] is not None and any(plate):
        return [f"elements.{zone}: give power_w with voltage_v, or ohms, not both"]
    if element["ohms"] is None and not all(plate):
        return [f"elements.{zone}: give power_w with voltage_v (the plate), or ohms"]
    power_w, (low, high) = element_power_w(element, volts), ELEMENT_W
    if not low <= power_w <= high:
        return [f"elements.{zone}: {power_w:.0f} W at {volts} V: allowed: {low} to {high} W there"]
    return []


def _fitted(sheet):
    """Keys that are needed once a thing is fitted."""
    needs = {
        "contactor": ("rated_a", "poles"),
        "high_limit": ("setting_c", "cuts"),
        "transfer": ("rated_a", "poles"),
        "heatsink": ("k_w",),
    }
    lines = [
        f"{table}.{key}: missing; needed where {table}.fitted = true"
        for table, keys in needs.items()
        for key in keys
        if sheet[table]["fitted"] and sheet[table][key] is None
    ]
    for path in ("part", "survey"):
        for i, part in enumerate(sheet[path]):
            lines += _seen(part, f"{path}[{i + 1}]", "seen_c", "seen_at_c", sheet)
    return lines + _seen(sheet["hot_air_fan"], "hot_air_fan", "motor_seen_c", "motor_seen_at_c", sheet) + _held(sheet)


def _seen(entry, at, seen, seen_at, sheet):
    """A temperature measured on a part needs the cavity's temperature beside it."""
    if (entry[seen] is None) != (entry[seen_at] is None):
        return [f"{at}: give {seen} and {seen_at} together, or neither"]
    if entry[seen] is not None and entry[seen_at] <= sheet["oven"]["room_c"]:
        return [f"{at}.{seen_at}: must be above oven.room_c"]
    return []


def _held(sheet):
    """What the energy meter told needs the temperature beside it, and one way of telling it."""
    oven = sheet["oven"]
    told = [key for key in ("held_w", "minutes_on_per_hour") if oven[key] is not None]
    if len(told) == 2:
        return ["oven: give held_w or minutes_on_per_hour, not both"]
    if bool(told) != (oven["held_at_c"] is not None):
        return ["oven: give held_at_c together with held_w or minutes_on_per_hour"]
    return []
