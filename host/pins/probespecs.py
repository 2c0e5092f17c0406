"""The probes of a pin map: entries, buses, and whether the chip can read the temperature that is wanted."""

from host.pins import drivers

NAMED = ("dome", "stone")
KNOWN = ("chip", "type", "bus", "cs")
BUS_KEYS = {"spi": ("spi", "sck", "miso", "mosi"), "i2c": ("i2c", "sda", "scl"), "adc": ("adc",)}
REQUIRED = {"spi": ("sck", "miso"), "i2c": ("sda", "scl"), "adc": ("adc",)}
# Pins that a unit may take by itself when MOSI is left out; rp2, MICROPY_HW_SPIn_MOSI (from memory).
DEFAULT_MOSI = {0: 19, 1: 11}
MARGIN_C = 20  # the high limit stands at least so far above the setpoint
POOR_K = 5.0  # a controlling probe that may err by more than this; house


def book(board):
    """Book the pins of every probe."""
    for name, spec in entries(board):
        bus, kind = spec.get("bus"), bus_kind(spec.get("bus"))
        if kind is None:
            continue
        for signal in BUS_KEYS[kind]:
            if signal in ("spi", "i2c") or bus.get(signal) is None:
                continue
            board.use(f"PROBES.{name}.bus.{signal}", bus[signal], signal, bus_key(bus))
        if kind == "spi" and spec.get("cs") is not None:
            board.use(f"PROBES.{name}.cs", spec["cs"], "cs")


def entries(board):
    """(name, spec) of the probes that are dicts."""
    probes = board.get("PROBES")
    if isinstance(probes, dict):
        yield from ((name, spec) for name, spec in probes.items() if name in NAMED and isinstance(spec, dict))


def bus_kind(bus):
    """ "spi", "i2c", "adc" or None of a bus entry."""
    if not isinstance(bus, dict):
        return None
    if "adc" in bus:
        return "adc"
    if "spi" in bus or "sck" in bus:
        return "spi"
    return "i2c" if "i2c" in bus or "scl" in bus or "sda" in bus else None


def bus_key(bus):
    """What tells two buses apart, as the device does: unit, or clock pin of a bus in software."""
    kind = bus_kind(bus)
    if kind == "adc":
        return None
    return f"{kind}{bus[kind]}" if kind in bus else f"{kind}-{bus.get('sck', bus.get('scl'))}"


def check(board):
    """All findings about probes."""
    probes = board.get("PROBES")
    if not isinstance(probes, dict) or "dome" not in probes:
        board.say("error", "PROBES", "no dome probe", "without its reading no heat is ever permitted",
                  'add PROBES = {"dome": {"chip": "max31855", "type": "K", "bus": {...}, "cs": ...}}')  # fmt: skip
    for name in probes if isinstance(probes, dict) else ():
        if name not in NAMED:
            board.say("error", f"PROBES.{name}", f"unknown probe {name!r}", "the board would read it as the stone's",
                      "dome and stone are the probes there are")  # fmt: skip
        if not isinstance(probes[name], dict):
            board.say("error", f"PROBES.{name}", "not an entry", "a probe is a dict", "see boards/README.md")
    buses = {}
    for name, spec in entries(board):
        _entry(board, name, spec)
        if _chip(spec):
            _bus(board, name, spec, buses)
            _suits(board, name, spec)


def _chip(spec):
    chip = spec.get("chip")
    return chip if isinstance(chip, str) and chip in drivers.NEEDS else None


def _entry(board, name, spec):
    at = f"PROBES.{name}"
    chip = _chip(spec)
    if chip is None:
        board.say("error", f"{at}.chip", f"chip {spec.get('chip')!r} is not known", "no driver reads it",
                  "one of: " + ", ".join(drivers.chips()))  # fmt: skip
        return
    options = drivers.OPTIONS[chip]
    for key, value in spec.items():
        if key in KNOWN:
            continue
        if key not in options:
            board.say("warning", f"{at}.{key}", f"{chip} has no entry {key!r}", "the driver ignores it",
                      "take it out" + (f"; it knows {', '.join(options)}" if options else ""))  # fmt: skip
        elif isinstance(value, bool) or not isinstance(value, int) or value not in options[key]:
            board.say("error", f"{at}.{key}", f"{key} {value!r} is not possible", "the driver refuses it",
                      f"{key}: {_choice(options[key])}")  # fmt: skip
    kind = spec.get("type", drivers.DEFAULT_TYPE.get(chip, "K"))
    ranges = drivers.facts(chip)["RANGE_C"]
    if not isinstance(kind, str) or kind not in ranges:
        board.say("error", f"{at}.type", f"{chip} has no type {kind!r}", "the driver refuses it",
                  "one of: " + " ".join(ranges))  # fmt: skip
    elif chip == "max31865":
        _reference(board, at, spec, kind)


def _reference(board, at, spec, kind):
    r0 = 1000 if kind == "pt1000" else 100
    rref = spec.get("rref_ohm", 4 * r0)
    if isinstance(rref, int) and not 3 * r0 < rref <= 5 * r0:
        board.say("error", f"{at}.rref_ohm", f"{rref} ohm does not fit {kind}", "the reading would be far off",
                  f"the resistor on the chip's board, {4 * r0} or {43 * r0 // 10} ohm")  # fmt: skip


def _choice(allowed):
    if isinstance(allowed, range):
        return f"{allowed.start} to {allowed.stop - 1}"
    return ", ".join(str(value) for value in sorted(allowed))


def _bus(board, name, spec, buses):
    at, bus, chip = f"PROBES.{name}.bus", spec.get("bus"), spec["chip"]
    needs, kind = drivers.NEEDS[chip], bus_kind(spec.get("bus"))
    if kind != needs.bus:
        board.say("error", at, f"{chip} is not on {'an I2C' if needs.bus == 'i2c' else 'an ' + needs.bus.upper()} bus",
                  f"it speaks {needs.bus.upper()} only", f"bus: {_shape(needs)}")  # fmt: skip
        return
    for signal in REQUIRED[kind]:
        if bus.get(signal) is None:
            board.say(
                "error",
                at,
                f"{signal} is missing",
                "the driver needs it",
                board.instead(f"{at}.{signal}", signal, f"{signal}:", fits(board, bus, signal)),
            )
    for key in bus:
        if key not in BUS_KEYS[kind]:
            board.say(
                "warning", f"{at}.{key}", f"a bus has no entry {key!r}", "the board ignores it", f"bus: {_shape(needs)}"
            )
    _unit(board, at, bus, kind)
    _functions(board, at, bus, kind)
    if kind == "spi":
        _select_and_mosi(board, name, spec, needs)
    if kind != "adc":
        _together(board, name, spec, needs, buses)


def _shape(needs):
    keys = BUS_KEYS[needs.bus]
    return "{" + ", ".join(f'"{key}": ...' for key in keys if key != "mosi" or needs.mosi) + "}"


def _unit(board, at, bus, kind):
    if board.chip is None or kind not in bus or kind == "adc":
        return
    units = board.chip.spi_units if kind == "spi" else board.chip.i2c_units
    if bus[kind] not in units or isinstance(bus[kind], bool):
        listed = " or ".join(str(unit) for unit in units)
        board.say("error", f"{at}.{kind}", f"{board.chip.title} has no {kind.upper()} unit {bus[kind]!r} for programs",
                  "the port refuses it", f"{kind}: {listed}; or leave it out for a bus in software")  # fmt: skip


def fits(board, bus, signal):
    """A pin's fitness for a signal of this bus where functions are fixed; None where any pin will do."""
    kind = bus_kind(bus)
    if board.chip is None or not board.chip.fixed_functions or kind not in ("spi", "i2c") or kind not in bus:
        return None
    return lambda pin: board.chip.function(pin)[kind] == (bus[kind], signal)


def _functions(board, at, bus, kind):
    for signal in BUS_KEYS[kind]:
        pin, suits = bus.get(signal), fits(board, bus, signal)
        if suits is None or signal == kind or isinstance(pin, bool) or pin not in board.chip.pins or suits(pin):
            continue
        unit, is_signal = board.chip.function(pin)[kind]
        board.say("error", f"{at}.{signal}", f"{board.gp(pin)} cannot be {signal} of {kind}{bus[kind]}",
                  f"it is {is_signal} of {kind}{unit}",
                  board.instead(f"{at}.{signal}", signal, fits=suits))  # fmt: skip


def _select_and_mosi(board, name, spec, needs):
    at, bus, chip = f"PROBES.{name}", spec["bus"], spec["chip"]
    if spec.get("cs") is None:
        board.say(
            "error",
            at,
            f"cs is missing for {chip}",
            "the chip is never selected",
            board.instead(f"{at}.cs", "cs", "cs:"),
        )
    if bus.get("mosi") is not None:
        return
    if needs.mosi:
        board.say("error", f"{at}.bus", f"{chip} needs mosi", "its registers are written",
                  board.instead(f"{at}.bus.mosi", "mosi", "mosi:", fits(board, bus, "mosi")))  # fmt: skip
    elif "spi" not in bus:
        board.say("error", f"{at}.bus", "a bus in software needs mosi", "MicroPython wants all three pins named",
                  board.instead(f"{at}.bus.mosi", "mosi", "mosi:"))  # fmt: skip
    elif board.chip and board.chip.fixed_functions and (pin := _default_mosi(bus["spi"])) in board.uses:
        owner, _, other = board.uses[pin][0]
        if other == bus_key(bus):
            return  # a pin of this very bus: told as such
        board.say("error", f"{at}.bus", f"spi{bus['spi']} without mosi may take {board.gp(pin)}, which is {owner}",
                  "some releases give the unit its default pin (from memory)",
                  board.instead(f"{at}.bus.mosi", "mosi", "name mosi:", fits(board, bus, "mosi")))  # fmt: skip


def _default_mosi(unit):
    return DEFAULT_MOSI.get(unit) if isinstance(unit, int) else None


def _together(board, name, spec, needs, buses):
    """Chips that share a bus: the same pins, one clock phase, an address of their own."""
    at, bus = f"PROBES.{name}.bus", spec["bus"]
    key = bus_key(bus)
    wires = {signal: bus.get(signal) for signal in BUS_KEYS[needs.bus]}
    first = buses.setdefault(key, {"name": name, "wires": wires, "phase": needs.phase, "addresses": {}})
    if first["wires"] != wires:
        board.say("error", at, f"{key} has other pins than for {first['name']}",
                  "a bus is opened once, with the pins of the first probe", "write the same pins in both")  # fmt: skip
    if first["phase"] != needs.phase:
        board.say("error", at, f"{spec['chip']} needs the other clock phase than the chip of {first['name']}",
                  "the device refuses such a bus", "put it on another bus, or take two chips of one kind")  # fmt: skip
    if needs.bus == "i2c":
        address = spec.get("address", drivers.DEFAULT_ADDRESS[spec["chip"]])
        other = first["addresses"].setdefault(str(address), name)
        if other != name:
            board.say("error", f"PROBES.{name}", f"address {address} is {other}'s already", "both would answer at once",
                      "set the ADDR pin of one chip otherwise and write its address")  # fmt: skip


def _suits(board, name, spec):
    chip, wanted_c = spec["chip"], board.wanted_c
    stated = drivers.facts(chip)
    kind = spec.get("type", drivers.DEFAULT_TYPE.get(chip, "K"))
    if not isinstance(kind, str) or kind not in stated["RANGE_C"]:
        return
    at, dome = f"PROBES.{name}", name == "dome"
    low, high = stated["RANGE_C"][kind]
    needed_c = wanted_c + MARGIN_C
    if high < needed_c:
        grade = "error" if dome or chip != "ad849x" and chip != "ads1115" else "warning"
        why = f"{wanted_c} °C needs a reading up to its high limit, {needed_c} °C at least"
        board.say(grade, at, f"{chip} type {kind} is stated up to {high} °C only", why,
                  f"these serve: {drivers.serve_words(needed_c)}")  # fmt: skip
    if low > 0:
        board.say("error" if low > wanted_c else "warning", at, f"{chip} type {kind} is stated from {low} °C only",
                  "preheat and every rule of a cold oven would run on readings that nobody states",
                  f"these serve: {drivers.serve_words(needed_c)}")  # fmt: skip
    if dome and stated["ACCURACY_K"] > POOR_K:
        board.say("warning", at, f"{chip} may err by {stated['ACCURACY_K']:g} K",
                  f"the high limit stands {MARGIN_C} K above the highest setpoint",
                  f"of those that serve: {drivers.serve_words(needed_c)}")  # fmt: skip
    if chip == "max31865" and wanted_c > 400:
        board.say("warning", at, "a film element ends near 500 °C", "the sensor is the limit, not the chip",
                  "a wire-wound element rated to 600 °C in writing, or a type K thermocouple")  # fmt: skip
    _sees(board, at, dome, chip, stated["DETECTS"])


def _sees(board, at, dome, chip, detects):
    if not dome:
        return
    alone = not any(name == "stone" for name, _ in entries(board))
    if chip == "mcp9600":
        board.say("error" if alone else "warning", at, "mcp9600 does not see an open probe",
                  "an open probe can read like a cold one: full heat", "mcp9601 sees it; or another chip")  # fmt: skip
    elif not any(fault.startswith("short") for fault in detects):
        board.say("warning" if alone else "note", at, f"{chip} does not see a shorted probe",
                  "it reads the box's temperature; only the rules about the oven notice, minutes later",
                  "max31855 sees shorts to ground and supply; wire a stone probe too")  # fmt: skip
    if chip in ("max6675", "ad849x", "ads1115"):
        board.say("warning", at, f"{chip} does not tell the box's temperature", "a hot box is not noticed",
                  "max31855, max31856 or mcp9601 at the dome tell it")  # fmt: skip
