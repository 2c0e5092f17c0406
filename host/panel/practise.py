"""An evening to practise: the real panel on the simulated oven, worked by keys, with scenes to learn from.

    practice = Practice("welded-relay")
    practice.press("k"); practice.live(6.0); print(practice.text())

Whatever a key does is done in simulated time, so that a push lasts as long at sixty times the speed as at one.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from host import oven
from host.faults import library
from host.panel.evening import asks
from host.panel.hand import PUSH_MS, TURN, Hand
from host.panel.scenes import SCENES
from host.panel.view import braille
from host.runs.summary import sentences
from host.simulator.rehearsal import Rehearsal

KEYS = {
    "<": "knob left", ">": "knob right", "k": "knob push", "x": "STOP", "o": "door open / shut", "b": "bread on the "
    "stone", "e": "ENABLE key", "1": "answer 1", "2": "answer 2", "3": "answer 3", "+": "faster", "-": "slower",
    "q": "leave",
}  # fmt: skip
SPEEDS = (1, 2, 5, 10, 20, 60)
BOARD = "boards/pico_panel.py"
SETTINGS = {"soak_min": 10, "bake_s": 90}
DOOR_S = 8.0  # that a bread takes
PIECE_S = 0.25  # between two looks at keys, door and trouble: the board's own tick
CLICK_MS = 80.0
TOLD = ("trip", "state", "contactor", "hold", "warn", "boot", "reset")  # of what the board did


class Practice:
    """One scene under way. ValueError for a scene that there is not."""

    def __init__(
        self,
        name: str = "first-heat",
        speed: float = 1,
        runtime: str = "cpython",
        plant: Any = None,
        settings: dict[str, Any] | None = None,
    ) -> None:
        if name not in SCENES:
            raise ValueError(f"no scene {name!r} (there are: {', '.join(SCENES)})")
        self.name = name
        self.scene = SCENES[name]
        self.speed = speed
        settings = {**SETTINGS, "breads": self.scene.breads, **(settings or {})}
        self.bake_s = settings["bake_s"]
        self.rehearsal = Rehearsal(plant or oven.preset("standard"), BOARD, settings, cook=None, runtime=runtime)
        self.hand = Hand(self.rehearsal)
        self.is_door_open = False
        self.answer: int | None = None  # the number that was pressed
        self.quit = False
        self.trouble_s: float | None = None  # when it began
        self._free_us = 0.0  # when the hand is free for its next movement
        self._begin()

    def _begin(self):
        rehearsal, scene = self.rehearsal, self.scene
        rehearsal.advance(5.0)  # the board's start
        if scene.begins != "cold":
            rehearsal.send("start")
            for _ in range(9000):
                if rehearsal.stage == scene.begins:
                    break
                if asks(rehearsal):
                    rehearsal.say("present")
                rehearsal.advance(1.0)
        self.began_s = rehearsal.now_s
        self._heard = len(rehearsal.events)

    # --- hands -------------------------------------------------------------------------------------------

    def press(self, key: str) -> None:
        """One key, see KEYS; others do nothing."""
        if key == "q":
            self.quit = True
        elif key in ("+", "-"):
            at = min(range(len(SPEEDS)), key=lambda n: abs(SPEEDS[n] - self.speed)) + (1 if key == "+" else -1)
            self.speed = SPEEDS[max(0, min(len(SPEEDS) - 1, at))]
        elif key in ("x", " "):
            self._move([(1, "stop", False), (200, "stop", True)])
        elif key in ("k", "\r", "\n"):
            self._move([(1, "knob_push", True), (PUSH_MS, "knob_push", False)])
        elif key in ("<", ">", ",", "."):
            self._turn(1 if key in (">", ".") else -1)
        elif key == "o":
            self.is_door_open = not self.is_door_open
        elif key == "b":
            self.rehearsal.outside.door(DOOR_S)
            self.rehearsal.outside.load(self.bake_s)
        elif key == "e":
            self.rehearsal.outside.enable = not self.rehearsal.outside.enable
        elif key in ("1", "2", "3") and self.is_asked:
            self.answer = int(key)

    def _turn(self, way):
        states = TURN if way > 0 else tuple((b, a) for a, b in TURN)
        moves = []
        for a, b in states:
            moves += [(CLICK_MS, "knob_a", a), (0, "knob_b", b)]
        self._move(moves)

    def _move(self, moves):
        """[(ms after the one before, contact, closed), ...], one movement of the hand after the other."""
        outside = self.rehearsal.outside
        at_us = max(self._free_us, outside.now_us, outside.quiet_us)
        for ms, name, is_closed in moves:
            at_us += ms * 1000
            self.hand.later(max(0.0, (at_us - max(outside.now_us, outside.quiet_us)) / 1000), name, is_closed)
        self._free_us = at_us + 60_000

    # --- time --------------------------------------------------------------------------------------------

    def live(self, seconds: float) -> None:
        """Let simulated seconds pass."""
        until_s = self.rehearsal.now_s + seconds
        while self.rehearsal.now_s < until_s - 1e-6:
            self._trouble()
            if self.is_door_open:
                self.rehearsal.outside.door(2 * PIECE_S)
            self.rehearsal.advance(min(PIECE_S, until_s - self.rehearsal.now_s))

    def _trouble(self):
        scene = self.scene
        if self.trouble_s is None and scene.trouble and self.rehearsal.now_s >= self.began_s + scene.after_s:
            self.trouble_s = self.rehearsal.now_s
            self._heard = len(self.rehearsal.events)
            if scene.trouble == "door":
                self.is_door_open = True
            else:
                library.known(scene.trouble).start(self.rehearsal.outside)

    @property
    def is_asked(self) -> bool:
        """The trouble has shown and no answer was given yet."""
        if self.scene.question is None or self.trouble_s is None or self.answer is not None:
            return False
        shows = self.scene.trouble == "door" or self.rehearsal.trip not in ("none", "")
        return shows and self.rehearsal.now_s >= self.trouble_s + 3.0

    @property
    def is_over(self) -> bool:
        """The scene has been played to its end."""
        if self.scene.ends == "answered":
            return self.answer is not None and not self.is_door_open
        return self.scene.ends in (self.rehearsal.stage, self.rehearsal.state)

    # --- what is seen ------------------------------------------------------------------------------------

    def board_did(self) -> list[str]:
        """What the board did since the trouble began: lines "+0.8 s  trip: relay-welded"."""
        if self.trouble_s is None:
            return []
        events = self.rehearsal.events[self._heard :]
        return [f"+{max(0.0, one['t_s'] - self.trouble_s):.1f} s  {told(one)}" for one in events if one["kind"] in TOLD]

    def words(self) -> list[str]:
        """Lines below the display: the scene, its question, what the board did, the keys."""
        scene, lines = self.scene, []
        question = scene.question
        if self.answer is not None and question is not None:
            right = self.answer == question.right
            lines.append(("Yes. " if right else f"No: {question.right} would be right. ") + question.why)
            lines += ["What the board did:", *self.board_did()[:8]]
        elif self.is_asked and question is not None:
            lines.append(question.ask)
            lines += [f"  {number}  {text}" for number, text in enumerate(question.answers, 1)]
        else:
            lines.append(scene.lead)
        door = "door OPEN" if self.is_door_open or self.rehearsal.outside.door_open else "door shut"
        key = "" if self.rehearsal.outside.enable else ", ENABLE open"
        minutes, seconds = divmod(int(self.rehearsal.now_s - self.began_s), 60)
        state = f"{scene.title}: {minutes}:{seconds:02d} min, {self.speed:g} times real time; {door}{key}"
        return [state, *lines, "This scene is over." if self.is_over else ""]

    def text(self) -> str:
        """The display in characters, 64 wide, framed."""
        rows = braille(self.hand.image()).split("\n")
        return "\n".join(["┌" + "─" * 64 + "┐", *(f"│{row}│" for row in rows), "└" + "─" * 64 + "┘"])

    def close(self) -> None:
        """End the board."""
        self.rehearsal.close()


def told(event: dict[str, Any]) -> str:
    """What the board did, in words: a trip and a warning by their sentence."""
    kind, value = event["kind"], event.get("value", event.get("text"))
    if kind == "contactor":
        return "contactor: " + ("closed" if value else "open")
    if kind in ("trip", "hold", "warn"):
        return f"{kind}: {sentences().get(str(value), str(value))}"
    return f"{kind}: {value}"


def helper_does(practice: Practice) -> str:
    """The keys that a good helper would press now: shows a scene by itself, and tests it."""
    evening = practice.rehearsal
    if practice.is_asked and practice.scene.question is not None:
        return str(practice.scene.question.right)
    if practice.answer is not None and practice.is_door_open:
        return "o"
    if evening.trip not in ("none", ""):
        return ""
    if asks(evening):
        return "k"
    if evening.state == "idle":
        return "kk>k"
    if evening.stage == "load" and not practice.is_door_open:
        return "bkk"
    return ""


def played(practice: Practice, most_s: float = 7200.0, look_s: float = 3.0) -> Iterator[Practice]:
    """Play the scene by itself, yielding after each look, until it is over; RuntimeError if it does not end."""
    until_s = practice.rehearsal.now_s + most_s
    while not practice.is_over:
        if practice.rehearsal.now_s > until_s:
            raise RuntimeError(f"scene {practice.name}: not over after {most_s:.0f} s")
        for key in helper_does(practice):
            practice.press(key)
        practice.live(look_s)
        yield practice
