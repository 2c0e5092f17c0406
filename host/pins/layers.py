"""Watchdog, dead-man, and which layers of protection a pin map leaves out."""

from host.pins import release
from host.pins.board import Advice, Board
from host.pins.probespecs import entries

TICK_MS = 250
WATCHDOG_LEAST_MS = 1000  # the ESP32 port's documentation; four ticks
WATCHDOG_LONG_MS = 8388
WATCHDOG_DEFAULT_MS = 4000
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


def check(board: Board) -> None:
    """All findings about watchdog, drive of the contactor and missing layers."""
    _watchdog(board)
    _deadman_timer(board)
    _contactor(board)
    _outputs(board)
    told = _release(board)
    _guards(board, told)
    for name, (what, why) in SENSED.items():
        if board.get(name) is None and name not in told:
            board.say("note", name, what, why, _wire(board, name))
    _contradictions(board)


def _wire(board, name, role="contact"):
    if board.chip is None:
        return f"wire {name}"
    return board.instead(name, role, f"to wire {name}:")


def _or_out(board, name):
    """Advice to wire the output that a sense belongs to; taking the sense out is only said, never the remedy."""
    wired = _wire(board, name, "heat")
    return Advice(f"{wired}; or take this out", getattr(wired, "remedy", {}))


def _deadman_timer(board):
    value, chip = board.get("DEADMAN_TIMER"), board.chip
    if chip is None:
        return  # nothing can be said about the timers of an unknown chip
    if value is None and chip.hard_timers:
        return
    first = chip.timers[0]
    good = Advice(f"DEADMAN_TIMER = {first}", {"DEADMAN_TIMER": first})
    if value is None:
        board.say("change", "DEADMAN_TIMER", "no DEADMAN_TIMER",
                  "this family numbers its hardware timers (from memory)", good)  # fmt: skip
    elif isinstance(value, bool) or not isinstance(value, int) or value not in chip.timers:
        board.say("stop", "DEADMAN_TIMER", f"{value!r} is no timer of {chip.title}",
                  "the program would end without heat", good)  # fmt: skip


def _watchdog(board):
    value = board.get("WATCHDOG_MS")
    if value is None:
        board.say("note", "WATCHDOG_MS", "no WATCHDOG_MS", f"{WATCHDOG_DEFAULT_MS} ms are taken",
                  f"write WATCHDOG_MS = {WATCHDOG_DEFAULT_MS}")  # fmt: skip
        return
    good = Advice(f"WATCHDOG_MS = {WATCHDOG_DEFAULT_MS}", {"WATCHDOG_MS": WATCHDOG_DEFAULT_MS})
    if isinstance(value, bool) or not isinstance(value, int):
        board.say("stop", "WATCHDOG_MS", f"{value!r} is not a time", "whole milliseconds are needed", good)
        return
    most = board.chip.watchdog_max_ms if board.chip else None
    newer = board.chip.watchdog_newer_ms if board.chip else None
    if value < WATCHDOG_LEAST_MS:
        board.say("stop", "WATCHDOG_MS", f"{value} ms is too short",
                  f"a tick takes {TICK_MS} ms, storing a trip longer: a healthy board would reset", good)  # fmt: skip
    elif most and value > most and not (newer and value <= newer):
        board.say("stop", "WATCHDOG_MS", f"{value} ms is more than {board.chip.title} can count ({most})",
                  "the port refuses it and the program ends without heat", good)  # fmt: skip
    elif most and value > most:
        board.say(
            "change",
            "WATCHDOG_MS",
            f"{value} ms needs a release newer than 1.28",
            f"older ones refuse more than {most}",
            good,
        )
    elif value > WATCHDOG_LONG_MS:
        board.say(
            "change", "WATCHDOG_MS", f"{value} ms is long", "so long a hung program may leave a relay closed", good
        )


def _contactor(board):
    pin, drive = board.get("CONTACTOR"), board.get("CONTACTOR_DRIVE")
    soft = board.chip is not None and not board.chip.hard_timers
    if drive is not None and drive not in DRIVES:
        board.say("stop", "CONTACTOR_DRIVE", f"{drive!r} is not known", "anything but pulse is driven as a level",
                  Advice('CONTACTOR_DRIVE = "level" or "pulse"',
                         {"CONTACTOR_DRIVE": "pulse" if soft else "level"}))  # fmt: skip
    if pin is None and soft:
        board.say("stop", "CONTACTOR", "no contactor on an ESP32",
                  "its timers are scheduled: with a hung interpreter nothing but the watchdog opens a relay",
                  _wire(board, "CONTACTOR", "heat") + ' with CONTACTOR_DRIVE = "pulse"')  # fmt: skip
    elif pin is None:
        board.say("note", "CONTACTOR", "no CONTACTOR", "a welded relay heats until somebody pulls the plug",
                  _wire(board, "CONTACTOR", "heat"))  # fmt: skip
    elif soft and drive != "pulse":
        board.say("stop", "CONTACTOR_DRIVE", "a contactor at a level on an ESP32",
                  "its timers are scheduled and cannot cut in on a hung interpreter: the dead-man needs a monostable",
                  Advice('CONTACTOR_DRIVE = "pulse" and a retriggerable monostable, 600 ms at most',
                         {"CONTACTOR_DRIVE": "pulse"}))  # fmt: skip
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
        board.say("stop", "HEAT_TOP", "no heat output", "neither HEAT_TOP nor HEAT_DECK is wired",
                  _wire(board, "HEAT_TOP", "heat"))  # fmt: skip
    for zone, pin in (("TOP", top), ("DECK", deck)):
        sense = f"MAINS_SENSE_{zone}"
        if pin is not None and board.get(sense) is None:
            board.say("note", sense, f"no current sensing in the {zone.lower()} zone",
                      "a welded relay is noticed by the dome's rise only, minutes later; a dead element hardly at all",
                      _wire(board, sense))  # fmt: skip
        elif pin is None and board.get(sense) is not None:
            board.say("stop", sense, f"{sense} without HEAT_{zone}",
                      "a current there would be taken for a welded relay",
                      _or_out(board, f"HEAT_{zone}"))  # fmt: skip
    fan, turning = board.get("COOLING_FAN"), board.get("FAN_OK")
    if fan is None:
        board.say("note", "COOLING_FAN", "no COOLING_FAN", "the fan must run by itself whenever OURS is selected",
                  "feed it behind the transfer switch, in OURS always")  # fmt: skip
    if turning is None:
        board.say(
            "note", "FAN_OK", "FAN_OK is not sensed", "a fan that stands still is not noticed", _wire(board, "FAN_OK")
        )


def _release(board):
    """What commissioning can release with this map, against what is wanted; names told here need no note."""
    told = {}
    for name, got in release.missing_for(board, board.wanted_c):
        if name and board.get(name) is None:
            told.setdefault(name, got)
        elif not name:
            board.say("stop", "LIMIT_OK", f"commissioning releases {got.release_c} °C at most with this map",
                      f"{board.wanted_c} °C is wanted; {got.reason or got.step}", "see boards/README.md")  # fmt: skip
    for name, got in told.items():
        why = got.reason or f"the step {got.step!r} is measured by it"
        role = "lamp" if name in ("LED", "BUZZER") else "contact"
        advice = _wire(board, name, role)
        do = advice if getattr(advice, "remedy", None) else f"{advice}; or plan for {got.release_c} °C at most"
        board.say("stop", name, f"without {name} commissioning releases {got.release_c} °C at most",
                  f"{board.wanted_c} °C is wanted; {why}", do)  # fmt: skip
    return set(told)


def _guards(board, told):
    stone = any(name == "stone" for name, _ in entries(board))
    limiter = board.get("LIMIT_OK") is not None
    if not limiter and "LIMIT_OK" not in told:
        board.say("note", "LIMIT_OK", "no independent limiter is sensed",
                  "in the coil's circuit it still cuts; the board cannot tell", _wire(board, "LIMIT_OK"))  # fmt: skip
    elif not stone and isinstance(board.get("PROBES"), dict):
        board.say("note", "PROBES", "no stone probe",
                  "a dome probe that has slipped half out is seen by the independent limiter only",
                  _wire(board, "the stone probe's cs", "cs"))  # fmt: skip
    if all(board.get(name) is None for name in ("LED", "BUZZER", "PANEL")) and not {"LED", "BUZZER"} & told:
        board.say("change", "LED", "nothing at the oven tells a trip", "without a PC nobody sees why the heat is off",
                  _wire(board, "LED", "lamp"))  # fmt: skip


def _contradictions(board):
    if board.get("CONTACTOR") is None and board.get("CONTACTOR_OPEN") is not None:
        board.say("stop", "CONTACTOR_OPEN", "a mirror contact without CONTACTOR",
                  "the board would wait for a contactor that it does not drive",
                  _or_out(board, "CONTACTOR"))  # fmt: skip
    if board.get("CONTACTOR") is None and board.get("CONTACTOR_DRIVE") == "pulse":
        board.say(
            "change",
            "CONTACTOR_DRIVE",
            "a drive without CONTACTOR",
            "nothing is pulsed",
            "wire CONTACTOR, or take this out",
        )
