"""The probes of a pin map: entries, buses, and whether the chip can read the temperature that is wanted."""

import difflib
from collections.abc import Iterator

from host.pins import buses, drivers
from host.pins.board import TAKE_OUT, Advice, Board
from host.pins.buses import BUS_KEYS, bus_key, bus_kind, fits

NAMED = ("dome", "stone")
KNOWN = ("chip", "type", "bus", "cs")
PLACE = {"depth_mm": (0, 40), "rim": (0, 1)}  # of the stone probe: below the baking face; 1 where no bread covers it
# Pins that a unit may take by itself when MOSI is left out; rp2, MICROPY_HW_SPIn_MOSI (from memory).
DEFAULT_MOSI = {0: 19, 1: 11}
MARGIN_C = 20  # the high limit stands at least so far above the setpoint
BLIND = ("mcp9600",)  # sees no open probe: refused alone at the dome, so never advised
POOR_K = 5.0  # a controlling probe that may err by more than this; house


def book(board: Board) -> None:
    """Book the pins of every probe."""
    for name, spec in entries(board):
        bus, kind = spec.get("bus"), bus_kind(spec.get("bus"))
        if kind is None:
            continue
        for signal, pin in buses.signals(bus):
            board.use(f"PROBES.{name}.bus.{signal}", pin, signal, bus_key(bus))
        if kind == "spi" and bus.get("mosi") is None and board.chip and board.chip.fixed_functions:
            board.implied.add(_default_mosi(bus.get("spi")))
        if kind == "spi" and spec.get("cs") is not None:
            board.use(f"PROBES.{name}.cs", spec["cs"], "cs")


def entries(board: Board) -> Iterator[tuple]:
    """(name, spec) of the probes that are dicts."""
    probes = board.get("PROBES")
    if isinstance(probes, dict):
        yield from ((name, spec) for name, spec in probes.items() if name in NAMED and isinstance(spec, dict))


def check(board: Board) -> None:
    """All findings about probes."""
    probes = board.get("PROBES")
    if not isinstance(probes, dict) or "dome" not in probes:
        board.say("stop", "PROBES", "no dome probe", "without its reading no heat is ever permitted",
                  _a_dome(board, "PROBES.dome" if isinstance(probes, dict) else "PROBES"))  # fmt: skip
    for name in probes if isinstance(probes, dict) else ():
        if name not in NAMED:
            board.say("stop", f"PROBES.{name}", f"unknown probe {name!r}", "the board would read it as the stone's",
                      _rename(probes, name))  # fmt: skip
        if not isinstance(probes[name], dict):
            whole = f"PROBES.{name}"
            advice = Advice("see boards/README.md, or take it out", {whole: TAKE_OUT})
            board.say("stop", whole, "not an entry", "a probe is a dict",
                      _a_dome(board, whole) if name == "dome" else advice)  # fmt: skip
    seen = {}
    for name, spec in entries(board):
        _entry(board, name, spec)
        if _chip(spec):
            _bus(board, name, spec, seen)
            _suits(board, name, spec)


def _a_dome(board, at):
    """Advice with the usual probe on free pins, to be put at "PROBES" or "PROBES.dome"."""
    words = '{"chip": "max31855", "type": "K", "bus": {...}, "cs": ...}'
    if board.chip is None:
        return f"add PROBES.dome = {words}"
    cs = getattr(board.instead("PROBES.dome.cs", "cs"), "remedy", {}).get("PROBES.dome.cs")
    bus = getattr(_a_bus(board, "PROBES.dome.bus", drivers.NEEDS["max31855"]), "remedy", {}).get("PROBES.dome.bus")
    if cs is None or bus is None:
        return f"add PROBES.dome = {words}; no free pins suit: give up a layer, or take a larger board"
    dome = {"chip": "max31855", "type": "K", "bus": bus, "cs": cs}
    return Advice(f"add PROBES.dome = {dome}", {at: dome if at.endswith(".dome") else {"dome": dome}})


def _rename(probes, name):
    """Advice about a probe of another name: the one that it was meant for, if that is missing."""
    meant = difflib.get_close_matches(str(name).lower(), NAMED, 1, 0.6)
    if meant and meant[0] not in probes:
        return Advice(f"write {meant[0]}", {f"PROBES.{name}": TAKE_OUT, f"PROBES.{meant[0]}": probes[name]})
    return Advice("dome and stone are the probes there are: take it out", {f"PROBES.{name}": TAKE_OUT})


def _chip(spec):
    chip = spec.get("chip")
    return chip if isinstance(chip, str) and chip in drivers.NEEDS else None


def _entry(board, name, spec):
    at = f"PROBES.{name}"
    chip = _chip(spec)
    if chip is None:
        near = difflib.get_close_matches(str(spec.get("chip")).lower(), list(drivers.NEEDS), 1, 0.6)
        board.say("stop", f"{at}.chip", f"chip {spec.get('chip')!r} is not known", "no driver reads it",
                  Advice("one of: " + ", ".join(drivers.chips()),
                         {f"{at}.chip": near[0] if near else "max31855"}))  # fmt: skip
        return
    options = drivers.OPTIONS[chip]
    for key, value in spec.items():
        if key in KNOWN:
            continue
        if key in PLACE and name == "stone":
            _place(board, at, key, value)
            continue
        if key not in options:
            board.say("change", f"{at}.{key}", f"{chip} has no entry {key!r}", "the driver ignores it",
                      "take it out" + (f"; it knows {', '.join(options)}" if options else ""))  # fmt: skip
        elif isinstance(value, bool) or not isinstance(value, int) or value not in options[key]:
            board.say("stop", f"{at}.{key}", f"{key} {value!r} is not possible", "the driver refuses it",
                      Advice(f"{key}: {_choice(options[key])}", {f"{at}.{key}": _usual(chip, key)}))  # fmt: skip
    kind = spec.get("type", drivers.DEFAULT_TYPE.get(chip, "K"))
    ranges = drivers.facts(chip)["RANGE_C"]
    if not isinstance(kind, str) or kind not in ranges:
        board.say("stop", f"{at}.type", f"{chip} has no type {kind!r}", "the driver refuses it",
                  Advice("one of: " + " ".join(ranges) + "; the letter of the probe that is there",
                         {f"{at}.type": _type(kind, ranges)}))  # fmt: skip
    elif chip == "max31865":
        _reference(board, at, spec, kind)


def _place(board, at, key, value):
    """Where the stone probe's tip is: numbers within what a stone can be."""
    low, high = PLACE[key]
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not low <= value <= high:
        board.say("stop", f"{at}.{key}", f"{key} {value!r} is not possible", "the stone's estimate would go by it",
                  Advice(f"{key}: {low} to {high}, or leave it out", {f"{at}.{key}": TAKE_OUT}))  # fmt: skip


def _reference(board, at, spec, kind):
    r0 = 1000 if kind == "pt1000" else 100
    rref = spec.get("rref_ohm", 4 * r0)
    if isinstance(rref, int) and not 3 * r0 < rref <= 5 * r0:
        board.say("stop", f"{at}.rref_ohm", f"{rref} ohm does not fit {kind}", "the reading would be far off",
                  Advice(f"the resistor on the chip's board, {4 * r0} or {43 * r0 // 10} ohm",
                         {f"{at}.rref_ohm": 4 * r0}))  # fmt: skip


def _type(kind, ranges):
    """The same letter in capitals, else K, else the first: never another couple's where one was named."""
    named = str(kind).strip()
    same = next((one for one in ranges if one.lower() == named.lower()), None)
    return same or ("K" if "K" in ranges else next(iter(ranges)))


def _usual(chip, key):
    """The value of an option that is taken where nothing is said."""
    return drivers.DEFAULT_ADDRESS[chip] if key == "address" else drivers.OPTIONS[chip][key][0]


def _other_address(at, chip, taken):
    """{name: an address of this chip that nobody has}."""
    free = next((one for one in drivers.OPTIONS[chip]["address"] if str(one) not in taken), None)
    return {} if free is None else {f"{at}.address": free}


def _choice(allowed):
    if isinstance(allowed, range):
        return f"{allowed.start} to {allowed.stop - 1}"
    return ", ".join(str(value) for value in sorted(allowed))


def _bus(board, name, spec, seen):
    at, bus, chip = f"PROBES.{name}.bus", spec.get("bus"), spec["chip"]
    needs, kind = drivers.NEEDS[chip], bus_kind(spec.get("bus"))
    if kind != needs.bus:
        board.say("stop", at, f"{chip} is not on {'an I2C' if needs.bus == 'i2c' else 'an ' + needs.bus.upper()} bus",
                  f"it speaks {needs.bus.upper()} only", _a_bus(board, at, needs))  # fmt: skip
        return
    buses.check(board, at, bus, _shape(needs))
    if kind == "spi":
        _select_and_mosi(board, name, spec, needs)
    if kind != "adc":
        _together(board, name, spec, needs, seen)


def _a_bus(board, at, needs):
    """Advice with free pins for the kind of bus that a chip speaks."""
    if needs.bus == "adc":
        return board.instead(f"{at}.adc", "adc", "bus: an analog input,")
    lines = ("sda", "scl") if needs.bus == "i2c" else ("sck", "miso", "mosi") if needs.mosi else ("sck", "miso")
    return buses.a_bus(board, at, needs.bus, lines, _shape(needs))


def _shape(needs):
    keys = BUS_KEYS[needs.bus]
    return "{" + ", ".join(f'"{key}": ...' for key in keys if key != "mosi" or needs.mosi) + "}"


def _select_and_mosi(board, name, spec, needs):
    at, bus, chip = f"PROBES.{name}", spec["bus"], spec["chip"]
    if spec.get("cs") is None:
        board.say(
            "stop",
            at,
            f"cs is missing for {chip}",
            "the chip is never selected",
            board.instead(f"{at}.cs", "cs", "cs:"),
        )
    if bus.get("mosi") is not None:
        return
    if needs.mosi:
        board.say("stop", f"{at}.bus", f"{chip} needs mosi", "its registers are written",
                  board.instead(f"{at}.bus.mosi", "mosi", "mosi:", fits(board, bus, "mosi")))  # fmt: skip
    elif "spi" not in bus:
        board.say("stop", f"{at}.bus", "a bus in software needs mosi", "MicroPython wants all three pins named",
                  board.instead(f"{at}.bus.mosi", "mosi", "mosi:"))  # fmt: skip
    elif board.chip and board.chip.fixed_functions and (pin := _default_mosi(bus["spi"])) in board.uses:
        owner, _, other = board.uses[pin][0]
        if other == bus_key(bus):
            return  # a pin of this very bus: told as such
        board.say("stop", f"{at}.bus", f"spi{bus['spi']} without mosi may take {board.gp(pin)}, which is {owner}",
                  "some releases give the unit its default pin (from memory)",
                  board.instead(f"{at}.bus.mosi", "mosi", "name mosi:", fits(board, bus, "mosi")))  # fmt: skip


def _default_mosi(unit):
    return DEFAULT_MOSI.get(unit) if isinstance(unit, int) else None


def _together(board, name, spec, needs, seen):
    """Chips that share a bus: the same pins, one clock phase, an address of their own."""
    at, bus = f"PROBES.{name}.bus", spec["bus"]
    key = bus_key(bus)
    wires = {signal: bus.get(signal) for signal in BUS_KEYS[needs.bus]}
    first = seen.setdefault(key, {"name": name, "wires": wires, "phase": needs.phase, "addresses": {}})
    if first["wires"] != wires:
        board.say("stop", at, f"{key} has other pins than for {first['name']}",
                  "a bus is opened once, with the pins of the first probe",
                  Advice("write the same pins in both", {at: {**bus, **_named(first["wires"])}}))  # fmt: skip
    if first["phase"] != needs.phase:
        board.say("stop", at, f"{spec['chip']} needs the other clock phase than the chip of {first['name']}",
                  "the device refuses such a bus", "put it on another bus, or take two chips of one kind")  # fmt: skip
    if needs.bus == "i2c":
        address = spec.get("address", drivers.DEFAULT_ADDRESS[spec["chip"]])
        other = first["addresses"].setdefault(str(address), name)
        if other != name:
            board.say("stop", f"PROBES.{name}", f"address {address} is {other}'s already", "both would answer at once",
                      Advice("set the ADDR pin of one chip otherwise and write its address",
                             _other_address(f"PROBES.{name}", spec["chip"], first["addresses"])))  # fmt: skip


def _named(wires):
    return {signal: pin for signal, pin in wires.items() if pin is not None}


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
        grade = "stop" if dome or chip != "ad849x" and chip != "ads1115" else "change"
        why = f"{wanted_c} °C needs a reading up to its high limit, {needed_c} °C at least"
        board.say(grade, at, f"{chip} type {kind} is stated up to {high} °C only", why,
                  f"these serve: {drivers.serve_words(needed_c, BLIND)}")  # fmt: skip
    if low > 0:
        board.say("stop" if low > wanted_c else "change", at, f"{chip} type {kind} is stated from {low} °C only",
                  "preheat and every rule of a cold oven would run on readings that nobody states",
                  f"these serve: {drivers.serve_words(needed_c, BLIND)}")  # fmt: skip
    if dome and stated["ACCURACY_K"] > POOR_K:
        board.say("change", at, f"{chip} may err by {stated['ACCURACY_K']:g} K",
                  f"the high limit stands {MARGIN_C} K above the highest setpoint",
                  f"of those that serve: {drivers.serve_words(needed_c, BLIND)}")  # fmt: skip
    if chip == "max31865" and wanted_c > 400:
        board.say("change", at, "a film element ends near 500 °C", "the sensor is the limit, not the chip",
                  "a wire-wound element rated to 600 °C in writing, or a type K thermocouple")  # fmt: skip
    _sees(board, at, dome, chip, stated["DETECTS"])


def _sees(board, at, dome, chip, detects):
    if not dome:
        return
    alone = not any(name == "stone" for name, _ in entries(board))
    if chip == "mcp9600":
        board.say("stop" if alone else "change", at, "mcp9600 does not see an open probe",
                  "an open probe can read like a cold one: full heat", "mcp9601 sees it; or another chip")  # fmt: skip
    elif not any(fault.startswith("short") for fault in detects):
        board.say("change" if alone else "note", at, f"{chip} does not see a shorted probe",
                  "it reads the box's temperature; only the rules about the oven notice, minutes later",
                  "max31855 sees shorts to ground and supply; wire a stone probe too")  # fmt: skip
    if chip in ("max6675", "ad849x", "ads1115"):
        board.say("change", at, f"{chip} does not tell the box's temperature", "a hot box is not noticed",
                  "max31855, max31856 or mcp9601 at the dome tell it")  # fmt: skip
