"""Who answers: a person at the terminal, or a file of answers (TOML) in which everything was written down before.

[by]
name = "..."                 who witnesses, for every step that does not say otherwise
initials = "MB"
stays = true                 somebody is with the hot oven (asked again and again from 120 °C on)
[electrical]                 one table a step: its entries, and `name`, `initials` where another person did it
earth_ohm = 0.05
"""

import re
import tomllib
from pathlib import Path

from host.commissioning.entries import fault_of
from host.errors import HostError

INITIALS = re.compile(r"[A-Za-z]{1,8}")


class AnswerError(HostError):
    """An answer that is missing or cannot be used: one line."""


class Answers:
    """Answers from a file; nothing is waited for."""

    def __init__(self, values):
        self.values = values

    @classmethod
    def read(cls, path):
        """From a TOML file; AnswerError with one line."""
        try:
            values = tomllib.loads(Path(path).read_text(encoding="utf-8"))
        except OSError as error:
            raise AnswerError(f"{path}: cannot be read ({error.strerror})") from None
        except ValueError as error:
            raise AnswerError(f"{path}: not TOML: {error}") from None
        return cls(values)

    def by(self, step):
        """(name, initials) of who witnesses this step."""
        name, initials = (self._find(step, key) for key in ("name", "initials"))
        if not INITIALS.fullmatch(str(initials)):
            raise AnswerError(f"[{step.name}] initials: one to eight letters are needed")
        return str(name), str(initials)

    def _find(self, step, key):
        for table in (step.name, "by"):
            values = self.values.get(table, {})
            if isinstance(values, dict) and key in values:
                return values[key]
        raise AnswerError(f"answers: [{step.name}] {key} is missing (or [by] {key})")

    def entry(self, step, field):
        """What was entered for a field."""
        table = self.values.get(step.name)
        if not isinstance(table, dict) or field.name not in table:
            raise AnswerError(f"answers: [{step.name}] {field.name} is missing ({field.text})")
        value = table[field.name]
        fault = fault_of(field, value)
        if fault and fault[0] == "unusable":
            raise AnswerError(f"answers: [{step.name}] {fault[1]}")
        return YES if value is True else value

    def do(self, text):
        """Something is to be done by hand; a file can only say that it will have been."""

    def stays(self):
        """Is somebody with the oven?"""
        by = self.values.get("by")
        return isinstance(by, dict) and by.get("stays") is True

    def say(self, text):
        """Nothing is told to a file."""


YES = "yes"


class Terminal:
    """A person at the keyboard. `ask` and `tell`: input and print, replaced in tests."""

    def __init__(self, ask=input, tell=print):
        self.ask = ask
        self.tell = tell
        self.last = ("", "")

    def by(self, step):
        """(name, initials); an empty answer takes the last ones."""
        while True:
            name = self.ask(f"  name [{self.last[0]}]: ").strip() or self.last[0]
            initials = self.ask(f"  initials [{self.last[1]}]: ").strip() or self.last[1]
            if name and INITIALS.fullmatch(initials):
                self.last = (name, initials)
                return self.last
            self.tell("  a name, and one to eight letters as initials")

    def entry(self, step, field):
        """Ask until the answer can be used; one that fails its bound is taken, and fails the step."""
        unit = f" in {field.unit}" if field.unit else " (yes/no)" if field.kind == YES else ""
        while True:
            text = self.ask(f"  {field.text}{unit}: ").strip()
            value = text
            if field.kind == "number":
                try:
                    value = float(text.replace(",", "."))
                except ValueError:
                    value = text
            fault = fault_of(field, value)
            if fault is None or fault[0] == "failed":
                return value
            self.tell(f"  {fault[1]}")

    def do(self, text):
        """Have something done by hand."""
        self.ask(f"  >> {text}, then press Enter ")

    def stays(self):
        """Is somebody with the oven?"""
        return self.ask("  are you with the oven? (yes) ").strip().lower() in ("yes", "y")

    def say(self, text):
        """Tell the person."""
        self.tell(text)
