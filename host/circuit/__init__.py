"""The one description of the build's circuit: devices, their contacts, voltages, terminals, coil chain, sensing.

README's wiring table, the plan's diagram and parts, the list to tick off and the wiring drawing are all made from
`CIRCUIT`; none of them says anything of its own about a contact. A contact belongs to one voltage: where a device acts
in two voltages it has a contact of its own in each.

    CIRCUIT.chain()              contacts in series with the contactor's coil, in their order
    CIRCUIT.sensed("LIMIT_OK")   the contact that the board reads under that name
    CIRCUIT.with_chain(...)      the same circuit with another voltage in the chain
    CIRCUIT.with_limiter_contactor()   the same with a contactor of the limiter's own
"""

from dataclasses import dataclass, replace

MAINS, CHAIN, BOARD = "mains", "chain", "board"
WORDS = {MAINS: "mains", CHAIN: "coil chain", BOARD: "board"}
RECOMMENDED = "selv_24dc"
CHAIN_VOLTAGES = {  # the sheet's word: what stands on drawings
    "selv_24dc": "24 V d.c. (separated supply)",
    "selv_12dc": "12 V d.c. (separated supply)",
    "selv_24ac": "24 V a.c. (separated supply)",
    "mains": "mains",
}


@dataclass(frozen=True)
class Contact:
    """One contact, coil or terminal pair of a device. `circuit`: MAINS, CHAIN or BOARD.

    `terminals` as EN 50005 numbers them (from memory; the print on the device comes first); `closed` in words: when
    it conducts. `kind`: "contact", "coil", "input" (of a driver or relay), "output", "opto" or "fuse".
    """

    circuit: str
    terminals: str
    closed: str
    kind: str = "contact"


@dataclass(frozen=True)
class Device:
    """`mark` as on drawings (IEC 81346 letters), `name` the pin map's name or "", `what` for people, `short` for
    drawings; `wire` what a person reads on the list at the board's end; `note` for README."""

    mark: str
    name: str
    what: str
    short: str
    contacts: tuple
    wire: str = ""
    note: str = ""

    def on(self, circuit: str) -> Contact | None:
        """The contact of this device in that voltage, None if it has none."""
        return next((contact for contact in self.contacts if contact.circuit == circuit), None)


@dataclass(frozen=True)
class Circuit:
    """`devices` in the order of the job; `series` the marks of the coil chain from supply to coil; `voltages` of each
    circuit as words; `branches`: coils that hang between a device of the chain and the supply's return."""

    devices: tuple
    series: tuple
    voltages: tuple  # ((circuit, words), ...)
    branches: tuple = ()  # ((mark in the chain, mark of the coil behind it), ...)

    def device(self, mark: str) -> Device:
        """The device with that mark; KeyError if there is none."""
        return next((device for device in self.devices if device.mark == mark), None) or _missing(mark)

    def named(self, name: str) -> Device | None:
        """The device that a pin map's name stands for."""
        return next((device for device in self.devices if device.name == name), None)

    def voltage(self, circuit: str) -> str:
        """Words for the voltage of a circuit."""
        return dict(self.voltages)[circuit]

    def chain(self) -> list:
        """[(device, contact)] in series with the coil, the coil last."""
        return [(self.device(mark), self.device(mark).on(CHAIN)) for mark in self.series]

    def chain_names(self) -> tuple:
        """The pin map's names of the contacts that people or protections open in the chain."""
        return tuple(device.name for device, contact in self.chain()
                     if device.name and contact.kind == "contact" and device.on(BOARD).kind == "contact")  # fmt: skip

    def sensed(self, name: str) -> Contact | None:
        """The contact that the board reads under a name, None for an output or an unknown name."""
        device = self.named(name)
        contact = device.on(BOARD) if device else None
        return contact if contact is not None and contact.kind in ("contact", "opto") else None

    def inputs(self) -> list:
        """Devices that the board reads."""
        return [device for device in self.devices if device.name and self.sensed(device.name)]

    def outputs(self) -> list:
        """Devices that the board drives."""
        return [device for device in self.devices if device.name and (c := device.on(BOARD)) and c.kind == "input"]

    def with_chain(self, kind: str, supply: str = "mains") -> "Circuit":
        """This circuit with the chain at another voltage (a key of CHAIN_VOLTAGES); `supply` as "230 V"."""
        words = f"{supply} mains" if kind == "mains" else CHAIN_VOLTAGES[kind]
        return replace(self, voltages=tuple((c, words if c == CHAIN else w) for c, w in self.voltages))

    def with_limiter_contactor(self) -> "Circuit":
        """This circuit with a contactor of the limiter's own, in series with ours: its coil right behind the limiter's
        contact, so that nothing but the limiter opens it, and ours falls with it."""
        contacts = (Contact(CHAIN, "A1-A2", "coil", "coil"), Contact(MAINS, "1-2, 3-4", "coil energised"))
        own = Device(
            "K4", "", "contactor of the limiter's own, in series with the other", "limiter's contactor", contacts
        )
        limiter = next(device.mark for device in self.devices if device.name == "LIMIT_OK")
        return replace(self, devices=(*self.devices, own), branches=((limiter, own.mark),))


def _missing(mark):
    raise KeyError(f"no device {mark!r} in the circuit")


def _two_sets(closed):
    """A contact in the chain and an electrically separate one for the board."""
    return (Contact(CHAIN, "13-14", closed), Contact(BOARD, "23-24", closed))


CIRCUIT = Circuit(
    devices=(
        Device("G1", "", "separated supply (double insulation between mains and its output)", "supply",
               (Contact(MAINS, "L, N", "always", "input"), Contact(CHAIN, "+, -", "always", "output"))),
        Device("Q1", "", "transfer switch ORIGINAL - OFF - OURS: an element's end each, their common end where "
                         "it may be live, "
               "the cooling fan's live end", "transfer switch",
               (Contact(MAINS, "main poles", "in OURS to K1 and K3, in ORIGINAL to the original board"),)),
        Device("F1", "", "fuse of the coil chain", "fuse",
               (Contact(CHAIN, "1-2", "always", "fuse"),)),
        Device("F2", "LIMIT_OK", "independent high limit with its own sensor, hand reset", "independent high limit",
               (Contact(CHAIN, "11-12", "healthy"), Contact(BOARD, "21-22", "healthy")),
               "contact of the independent high limit, closed = healthy",
               "not this controller; opens the coil by itself"),
        Device("S1", "ENABLE", "key switch or latching stop switch", "key or stop switch", _two_sets("enabled"),
               "contact of the key or latching stop switch, closed = enabled", "opens the coil by itself"),
        Device("S2", "SELECTOR", "auxiliary contacts of the transfer switch", "transfer switch in OURS",
               _two_sets("in OURS"), "auxiliary contact of the transfer switch, closed in OURS",
               "opens the coil by itself"),
        Device("K2", "CONTACTOR", "driver or interposing relay of the contactor's coil", "coil driver",
               (Contact(BOARD, "input", "board drives it", "input"), Contact(CHAIN, "13-14", "board drives it")),
               "input of the driver or interposing relay of the contactor's coil",
               "low = released; closes and opens only while the relays are off"),
        Device("K1", "CONTACTOR_OPEN", "contactor, in series with the relays", "contactor's mirror contact",
               (Contact(CHAIN, "A1-A2", "coil", "coil"), Contact(MAINS, "1-2, 3-4", "coil energised"),
                Contact(BOARD, "21-22", "contactor open (mirror contact)")),
               "mirror contact of the contactor, closed while it is open", "a welded contactor is seen"),
        Device("V1", "HEAT_TOP", "solid-state relay of the top element", "relay, top element",
               (Contact(BOARD, "A1-A2", "board drives it", "input"), Contact(MAINS, "1-2", "top element heats")),
               "driver of the relay of the top element", "low = off; the relay is live even when off"),
        Device("V2", "HEAT_DECK", "solid-state relay of the deck element", "relay, deck element",
               (Contact(BOARD, "A1-A2", "board drives it", "input"), Contact(MAINS, "1-2", "deck element heats")),
               "driver of the relay of the deck element", "low = off; the relay is live even when off"),
        Device("K3", "COOLING_FAN", "relay of the oven's own cooling fan, normally closed contact", "fan relay",
               (Contact(BOARD, "input", "board stops the fan", "input"),
                Contact(MAINS, "11-12", "at rest: the fan runs")),
               "driver of the fan relay, whose normally closed contact runs the fan",
               "low = the fan runs, also with the board dead"),
        Device("B1", "MAINS_SENSE_TOP", "current sensor around the insulated lead of the top element",
               "current sensor, top zone",
               (Contact(BOARD, "output", "current flows", "opto"),
                Contact(MAINS, "core around the insulated lead", "always", "core")),
               "opto output of the top zone's current sensor, low while current flows",
               "a welded relay is seen within a second"),
        Device("B2", "MAINS_SENSE_DECK", "current sensor around the insulated lead of the deck element",
               "current sensor, deck zone",
               (Contact(BOARD, "output", "current flows", "opto"),
                Contact(MAINS, "core around the insulated lead", "always", "core")),
               "opto output of the deck zone's current sensor, low while current flows",
               "a welded relay is seen within a second"),
        Device("S3", "FAN_OK", "rotation, flow or current contact of the cooling fan", "cooling fan turns",
               (Contact(BOARD, "13-14", "fan turns"),), "contact of the cooling fan, closed while it turns",
               "a fan that stands still is seen"),
        Device("S4", "DOOR", "door contact", "door, closed = shut",
               (Contact(BOARD, "13-14", "door shut"),), "door contact, closed = shut", "heat rests while it is open"),
        Device("X1", "MAINTENANCE", "maintenance jumper", "jumper, not fitted in use",
               (Contact(BOARD, "1-2", "fitted"),),
               "jumper, fitted only to load a board whose link is dead", "only for loading a board whose link is dead"),
    ),
    series=("G1", "F1", "F2", "S1", "S2", "K2", "K1"),
    voltages=((MAINS, "mains"), (CHAIN, CHAIN_VOLTAGES[RECOMMENDED]), (BOARD, "3.3 V")),
)  # fmt: skip
