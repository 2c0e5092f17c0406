"""Pin maps made for tests: a shipped map with names changed, written out one name a line."""

import copy

from host.pins import pin_map

REMOVE = object()
SPI = {"spi": 0, "sck": 18, "miso": 16}
SPI_MOSI = {**SPI, "mosi": 19}
I2C = {"i2c": 0, "sda": 20, "scl": 21}
DOME = {"chip": "max31855", "type": "K", "bus": SPI, "cs": 17}


def values(board, **changes):
    """{name: value} of a shipped board with changes; dome__bus__sck=... reaches into a probe."""
    found = copy.deepcopy(vars(pin_map.read(board)))
    for name, value in changes.items():
        target, key = found, name
        path = name.split("__")
        if path[0] in ("dome", "stone"):
            target, key = found["PROBES"], path.pop()
            for step in path:
                target = target[step]
        if value is REMOVE:
            target.pop(key, None)
        else:
            target[key] = copy.deepcopy(value)
    return found


def text(names):
    """A map's text: every name on a line of its own, each probe on one of its own."""
    lines = ['"""A map for tests."""', ""]
    for name, value in names.items():
        if name == "PROBES" and isinstance(value, dict):
            lines.append("PROBES = {")
            lines += [f"    {probe!r}: {spec!r}," for probe, spec in value.items()]
            lines.append("}")
        else:
            lines.append(f"{name} = {value!r}")
    return "\n".join(lines) + "\n"


def line_of(written, name):
    """Where a name stands in a text by `text`; 0 if nowhere. Probes stand on one line each."""
    start = f"{name} = "
    if name.startswith("PROBES."):
        start = f"    {name.split('.')[1]!r}: "
    for number, line in enumerate(written.splitlines(), 1):
        if line.startswith(start):
            return number
    return line_of(written, name.rpartition(".")[0]) if "." in name else 0


def put(names, name, value):
    """Follow an advice: set a name of the map ("PROBES.dome.bus.sck" too), in both probes where they share a bus."""
    changed = copy.deepcopy(names)
    *path, key = name.split(".")
    if not path:
        changed[key] = value
        return changed
    target = changed
    for step in path:
        target = target[step]
    old = target.get(key)
    target[key] = value
    if path[0] == "PROBES" and path[-1] == "bus":
        for spec in changed["PROBES"].values():
            if spec["bus"].get(key) == old:
                spec["bus"][key] = value
    return changed
