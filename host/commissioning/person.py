"""Who answers: a person at the terminal, or a file of answers (TOML) in which everything was written down before.

The file is the one that paper.template writes: a table a step, its questions in plain words; the short names of steps
and entries are taken as well ([electrical] earth_ohm = 0.05). A step's own `name` and `initials` go before those of
"who witnesses". What the file leaves empty is asked of `terminal`, where somebody is at one.
"""

from __future__ import annotations

import re
import textwrap
import tomllib
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import Any

from host.commissioning import paper
from host.commissioning.entries import fault_of
from host.commissioning.steps import Field, Step
from host.errors import HostError
from host.files import kinds

INITIALS = re.compile(r"[A-Za-z]{1,8}")


class AnswerError(HostError):
    """An answer that is missing or cannot be used: one line."""


class Answers:
    """Answers from a file; what it does not say is asked of `terminal`, a Terminal or None."""

    def __init__(self, values: dict[str, Any], terminal: Terminal | None = None) -> None:
        self.values = values
        self.terminal = terminal

    @classmethod
    def read(cls, path: Path | str) -> Answers:
        """From a TOML file; AnswerError with one line."""
        try:
            values = tomllib.loads(Path(path).read_text(encoding="utf-8"))
        except OSError as error:
            raise AnswerError(f"{path}: cannot be read ({error.strerror})") from None
        except ValueError as error:
            raise AnswerError(f"{path}: not TOML: {error}") from None
        kind = kinds.kind_of(path)
        if kind not in (None, "", kinds.ANSWERS):
            raise AnswerError(f"{path}: is a file of the kind '{kind}', not answers; say another file")
        values, fault = paper.keyed(values)
        if fault:
            raise AnswerError(f"{path}: {fault}")
        return cls(values)

    def by(self, step: Step) -> tuple[str, str]:
        """(name, initials) of who witnesses this step."""
        name, initials = (self._find(step, key) for key in ("name", "initials"))
        if self.terminal is not None and (name is None or initials is None):
            return self.terminal.by(step)
        for key, value in (("name", name), ("initials", initials)):
            if value is None:
                raise AnswerError(f"answers: '{step.title}': {key} is missing, here and under '{paper.WHO}'")
        if not INITIALS.fullmatch(str(initials)):
            raise AnswerError(f"answers: '{step.title}': initials are one to eight letters")
        return str(name), str(initials)

    def _find(self, step, key):
        for table in (step.name, "by"):
            values = self.values.get(table, {})
            if key in values:
                return values[key]
        return None

    def entry(self, step: Step, field: Field) -> Any:
        """What was entered for a field."""
        table = self.values.get(step.name, {})
        if field.name not in table:
            if self.terminal is not None:
                return self.terminal.entry(step, field)
            raise AnswerError(f"answers: '{step.title}': '{paper.label(field)}' has no answer")
        value = table[field.name]
        if field.kind == "number" and isinstance(value, str):
            value = as_number(value)
        fault = fault_of(field, value)
        if fault and fault[0] == "unusable":
            raise AnswerError(f"answers: '{step.title}': {fault[1]}")
        return YES if value is True else value

    def entries(self, step: Step, fields: Iterable[Field]) -> Iterator[tuple[Field, Any]]:
        """Every entry of these fields, one after the other."""
        for field in fields:
            yield field, self.entry(step, field)

    def do(self, text: str) -> None:
        """Something is to be done by hand; a file can only say that it will have been."""

    def stays(self) -> bool:
        """Is somebody with the oven?"""
        return self.values.get("by", {}).get("stays") is True

    def say(self, text: str) -> None:
        """Nothing is told to a file."""


def as_number(text: str) -> float | str:
    """A typed number, with comma or point; the text itself where it is none."""
    try:
        return float(text.replace(",", "."))
    except ValueError:
        return text


def shown(value: object) -> str:
    """An answer as a person would write it: 2900, not 2900.0."""
    return f"{value:g}" if isinstance(value, float) else str(value)


YES = "yes"
BACK, WHAT = "<", "?"
NAMED = ("  Who sees this step with own eyes, and answers for what is entered: the name goes into the record, the "
         "initials and the date onto the board. For electrical readings it is the licensed person.")  # fmt: skip
WIDE, TYPED = 78, 16  # a line, and what is kept free in it for the answer


class Terminal:
    """A person at the keyboard. `ask` and `tell`: input and print, replaced in tests.

    `known`: {(step, entry): value} from the build sheet, offered and taken with Enter. `?` explains a question, `<`
    goes back to the one before; what was entered is shown once more before it counts and can be corrected."""

    def __init__(
        self, ask: Callable[[str], str] = input, tell: Callable[[str], None] = print, known: Any = None
    ) -> None:
        self.ask = ask
        self.tell = tell
        self.known = known or {}
        self.last = ("", "")

    def by(self, step: Step) -> tuple[str, str]:
        """(name, initials): asked once, afterwards Enter takes them again."""
        if self.last[0]:
            name = self.named(f"  witnessed by {self.last[0]} ({self.last[1]})? Enter, or another name: ")
            if not name:
                return self.last
        else:
            name = self.named("  your name: ")
        while True:
            initials = self.named("  initials (one to eight letters): ")
            if name and INITIALS.fullmatch(initials):
                self.last = (name, initials)
                return self.last
            self.say("  a name, and one to eight letters as initials")
            name = self.named("  your name: ") or name

    def named(self, prompt: str) -> str:
        """A name or initials; `?` says what they are for."""
        while (text := self.asked(prompt)) == WHAT:
            self.say(NAMED)
        return text

    def asked(self, prompt: str) -> str:
        """What is typed, without the blanks around it; a prompt that is too long for a line is wrapped."""
        indent = " " * (len(prompt) - len(prompt.lstrip()))
        *first, last = textwrap.wrap(prompt, WIDE - TYPED, subsequent_indent=indent + "  ") or [""]
        for line in first:
            self.tell(line)
        return self.ask(last + " ").strip()

    def entries(self, step: Step, fields: list[Field]) -> list[tuple[Field, Any]]:
        """Every entry of these fields, reviewed; [] for none."""
        given: list[Any] = []
        while len(given) < len(fields):
            value = self.entry(step, fields[len(given)], can_go_back=bool(given))
            if value is BACK:
                given.pop()
            else:
                given.append(value)
        while fields:
            for number, (field, value) in enumerate(zip(fields, given, strict=True), 1):
                self.say(f"  {number}. {field.text}: {shown(value)} {field.unit}".rstrip())
            text = self.asked("  Enter if that is right, or the number of one to correct: ")
            if not text:
                break
            if text.isdigit() and 1 <= int(text) <= len(fields):
                given[int(text) - 1] = self.entry(step, fields[int(text) - 1])
        return list(zip(fields, given, strict=True))

    def entry(self, step: Step, field: Field, can_go_back: bool = False) -> Any:
        """Ask until the answer can be used; one that fails its bound is taken once a person confirms it.

        BACK where the person wants the question before again."""
        offered = self.known.get((step.name, field.name))
        unit = f" in {field.unit}" if field.unit else " (yes/no)" if field.kind == YES else ""
        of_sheet = f" [{shown(offered)}, from the sheet]" if offered is not None else ""
        while True:
            text = self.asked(f"  {field.text}{unit}{of_sheet}: ")
            if text == WHAT:
                self.explain(step, field)
                continue
            if text == BACK:
                if can_go_back:
                    return BACK
                self.say("  there is no question before this one")
                continue
            value: Any = offered if not text and offered is not None else text
            if field.kind == "number" and isinstance(value, str):
                value = as_number(value)
            fault = fault_of(field, value)
            if fault is None:
                return value
            self.say(f"  {fault[1].removeprefix(f'{field.text}: ')}")
            meant = "  Was that meant? yes ends the step as failed, Enter asks again: "
            if fault[0] == "failed" and self.asked(meant).lower() in ("yes", "y"):
                return value

    def explain(self, step: Step, field: Field) -> None:
        """What is asked, in which bounds, and why."""
        self.say(f"  {field.text}: for the step '{step.title}'")
        if field.kind == "number":
            spans = field.spans or ((field.low, field.high),)
            self.say("  good: " + " or ".join(f"{low:g} to {high:g}" for low, high in spans) + f" {field.unit}")
        elif field.kind == YES:
            self.say("  only yes lets the step pass")
        elif field.choices:
            self.say("  one of: " + ", ".join(field.choices))
        if field.why:
            self.say(f"  why: {field.why}")
        self.say("  < goes back to the question before; Ctrl-C leaves, steps done are kept")

    def do(self, text: str) -> None:
        """Have something done by hand."""
        self.asked(f"  >> {text}, then press Enter ")

    def stays(self) -> bool:
        """Is somebody with the oven?"""
        return self.asked("  are you with the oven? (yes) ").lower() in ("yes", "y")

    def say(self, text: str) -> None:
        """Tell the person, in lines that a narrow terminal can hold."""
        indent = " " * (len(text) - len(text.lstrip()))
        for line in textwrap.wrap(text, WIDE, subsequent_indent=indent + "  ") or [""]:
            self.tell(line)
