"""Watchdog, dead-man, and which layers of protection a pin map leaves out."""

from host.pins.probespecs import entries

TICK_MS = 250
WATCHDOG_LEAST_MS = 1000  # the ESP32 port's documentation; four ticks
WATCHDOG_LONG_MS = 8388
WATCHDOG_DEFAULT_MS = 4000
UNGUARDED_C = 260
DRIVES = ("level", "pulse")
# name: (what is missing, what then nobody sees)
SENSED = {
    "ENABLE": ("no ENABLE is sensed", "a key or stop switch then acts in the coil only, if it is there at all"),
    "SELECTOR": ("no SELECTOR is sensed", "heat may be asked for while the oven's own thermostat is selected"),
    "DOOR": ("no DOOR contact", "heat goes on while the door is open"),
    "MAINTENANCE": (
        "no MAINTENANCE jumper",
        "a board whose link is dead is loaded in the grace window after a reset only",
    ),
}
# Panel entries: role by name; what is not a pin.
PANEL_OUT = ("reset",)
PANEL_NOT_PINS = ("chip", "address", "width", "height", "rotate", "contrast", "bus")


def book_panel(board):
    """Book the pins of the panel: its I2C bus, knob and buttons (inputs), a reset line (output)."""
    panel = board.get("PANEL")
    if panel is None:
        return
    if not isinstance(panel, dict):
        board.say(
            "error", "PANEL", f"{panel!r} is not a panel", "a panel is a dict", "PANEL = None, or see boards/README.md"
        )
        return
    bus = panel.get("bus")
    for signal in ("sda", "scl"):
        if isinstance(bus, dict) and bus.get(signal) is not None:
            key = f"i2c{bus['i2c']}" if "i2c" in bus else f"i2c-{bus.get('scl')}"
            board.use(f"PANEL.bus.{signal}", bus[signal], signal, key)
    for name, value in panel.items():
        if name not in PANEL_NOT_PINS and value is not None:
            board.use(f"PANEL.{name}", value, "out" if name in PANEL_OUT else "in")


def check(board):
    """All findings about watchdog, drive of the contactor and missing layers."""
    _watchdog(board)
    _deadman_timer(board)
    _contactor(board)
    _outputs(board)
    _guards(board)
    for name, (what, why) in SENSED.items():
        if board.get(name) is None:
            board.say("note", name, what, why, _wire(board, name))
    _contradictions(board)


def _wire(board, name, role="contact"):
    if board.chip is None:
        return f"wire {name}"
    return board.instead(name, role, f"to wire {name}:")


def _deadman_timer(board):
    value = board.get("DEADMAN_TIMER")
    is_rp2 = str(board.get("MCU")).startswith("rp2")
    if value is None and is_rp2:
        return
    good = "DEADMAN_TIMER = -1" if is_rp2 else "DEADMAN_TIMER = 0"
    if value is None:
        board.say("warning", "DEADMAN_TIMER", "no DEADMAN_TIMER",
                  "this family numbers its hardware timers (from memory)", f"write {good}")  # fmt: skip
    elif isinstance(value, bool) or not isinstance(value, int) or not -1 <= value <= 3 or (is_rp2 and value != -1):
        board.say("error", "DEADMAN_TIMER", f"{value!r} is no timer of this chip",
                  "the program would end without heat", good)  # fmt: skip


def _watchdog(board):
    value = board.get("WATCHDOG_MS")
    if value is None:
        board.say("note", "WATCHDOG_MS", "no WATCHDOG_MS", f"{WATCHDOG_DEFAULT_MS} ms are taken",
                  f"write WATCHDOG_MS = {WATCHDOG_DEFAULT_MS}")  # fmt: skip
        return
    good = f"WATCHDOG_MS = {WATCHDOG_DEFAULT_MS}"
    if isinstance(value, bool) or not isinstance(value, int):
        board.say("error", "WATCHDOG_MS", f"{value!r} is not a time", "whole milliseconds are needed", good)
        return
    most = board.chip.watchdog_max_ms if board.chip else None
    newer = board.chip.watchdog_newer_ms if board.chip else None
    if value < WATCHDOG_LEAST_MS:
        board.say("error", "WATCHDOG_MS", f"{value} ms is too short",
                  f"a tick takes {TICK_MS} ms, storing a trip longer: a healthy board would reset", good)  # fmt: skip
    elif most and value > most and not (newer and value <= newer):
        board.say("error", "WATCHDOG_MS", f"{value} ms is more than {board.chip.title} can count ({most})",
                  "the port refuses it and the program ends without heat", good)  # fmt: skip
    elif most and value > most:
        board.say(
            "warning",
            "WATCHDOG_MS",
            f"{value} ms needs a release newer than 1.28",
            f"older ones refuse more than {most}",
            good,
        )
    elif value > WATCHDOG_LONG_MS:
        board.say(
            "warning", "WATCHDOG_MS", f"{value} ms is long", "so long a hung program may leave a relay closed", good
        )


def _contactor(board):
    pin, drive = board.get("CONTACTOR"), board.get("CONTACTOR_DRIVE")
    if drive is not None and drive not in DRIVES:
        board.say("error", "CONTACTOR_DRIVE", f"{drive!r} is not known", "anything but pulse is driven as a level",
                  'CONTACTOR_DRIVE = "level" or "pulse"')  # fmt: skip
    soft = board.chip is not None and not board.chip.hard_timers
    if pin is None and soft:
        board.say("error", "CONTACTOR", "no contactor on an ESP32",
                  "its timers are scheduled: with a hung interpreter nothing but the watchdog opens a relay",
                  _wire(board, "CONTACTOR", "heat") + ' with CONTACTOR_DRIVE = "pulse"')  # fmt: skip
    elif pin is None:
        board.say("note", "CONTACTOR", "no CONTACTOR", "a welded relay heats until somebody pulls the plug",
                  _wire(board, "CONTACTOR", "heat"))  # fmt: skip
    elif soft and drive != "pulse":
        board.say("error", "CONTACTOR_DRIVE", "a contactor at a level on an ESP32",
                  "its timers are scheduled and cannot cut in on a hung interpreter: the dead-man needs a monostable",
                  'CONTACTOR_DRIVE = "pulse" and a retriggerable monostable, 600 ms at most')  # fmt: skip
    elif drive == "pulse":
        board.say("note", "CONTACTOR_DRIVE", "the contactor is driven by pulses",
                  "one edge a tick holds it for at most 600 ms",
                  "build the retriggerable monostable into the coil's driver, or the contactor chatters")  # fmt: skip
    if pin is not None and board.get("CONTACTOR_OPEN") is None:
        board.say("note", "CONTACTOR_OPEN", "no mirror contact",
                  "a welded contactor is seen only if currents are sensed", _wire(board, "CONTACTOR_OPEN"))  # fmt: skip


def _outputs(board):
    top, deck = board.get("HEAT_TOP"), board.get("HEAT_DECK")
    if top is None and deck is None:
        board.say("error", "HEAT_TOP", "no heat output", "neither HEAT_TOP nor HEAT_DECK is wired",
                  _wire(board, "HEAT_TOP", "heat"))  # fmt: skip
    for zone, pin in (("TOP", top), ("DECK", deck)):
        sense = f"MAINS_SENSE_{zone}"
        if pin is not None and board.get(sense) is None:
            board.say("note", sense, f"no current sensing in the {zone.lower()} zone",
                      "a welded relay is noticed by the dome's rise only, minutes later; a dead element hardly at all",
                      _wire(board, sense))  # fmt: skip
        elif pin is None and board.get(sense) is not None:
            board.say("error", sense, f"{sense} without HEAT_{zone}",
                      "a current there would be taken for a welded relay", f"wire HEAT_{zone}")  # fmt: skip
    fan, turning = board.get("COOLING_FAN"), board.get("FAN_OK")
    if fan is None:
        board.say("note", "COOLING_FAN", "no COOLING_FAN", "the fan must run by itself whenever OURS is selected",
                  "feed it behind the transfer switch, in OURS always")  # fmt: skip
    if turning is None:
        board.say(
            "note", "FAN_OK", "FAN_OK is not sensed", "a fan that stands still is not noticed", _wire(board, "FAN_OK")
        )


def _guards(board):
    stone = any(name == "stone" for name, _ in entries(board))
    limiter = board.get("LIMIT_OK") is not None
    if not limiter and not stone:
        grade_of_release = f"the board holds no setpoint above {UNGUARDED_C} °C"
        board.say("note", "LIMIT_OK", "neither LIMIT_OK nor a stone probe", grade_of_release, _wire(board, "LIMIT_OK"))
    elif not limiter:
        board.say("note", "LIMIT_OK", "no independent limiter is sensed",
                  "in the coil's circuit it still cuts; the board cannot tell", _wire(board, "LIMIT_OK"))  # fmt: skip
    elif not stone and isinstance(board.get("PROBES"), dict):
        board.say("note", "PROBES", "no stone probe",
                  "a dome probe that has slipped half out is seen by the independent limiter only",
                  _wire(board, "the stone probe's cs", "cs"))  # fmt: skip


def _contradictions(board):
    if board.get("CONTACTOR") is None and board.get("CONTACTOR_OPEN") is not None:
        board.say("error", "CONTACTOR_OPEN", "a mirror contact without CONTACTOR",
                  "the board would wait for a contactor that it does not drive",
                  "wire CONTACTOR, or take this out")  # fmt: skip
    if board.get("CONTACTOR") is None and board.get("CONTACTOR_DRIVE") == "pulse":
        board.say(
            "warning",
            "CONTACTOR_DRIVE",
            "a drive without CONTACTOR",
            "nothing is pulsed",
            "wire CONTACTOR, or take this out",
        )
