"""The course of commissioning: from the board's next step on, one after the other, until one fails or all are done."""

from __future__ import annotations

import time
from collections.abc import Callable
from typing import TYPE_CHECKING

from host.commissioning.entries import fault_of
from host.commissioning.person import AnswerError
from host.commissioning.procedures import PROCEDURES, Bench, Failed
from host.commissioning.steps import DIAL_APART_K, STEPS, TAKES_MIN
from host.link import LinkError, replies

if TYPE_CHECKING:
    from host.commissioning.hands import Hands, SimulatedHands
    from host.commissioning.person import Answers, Terminal
    from host.commissioning.record import Record
    from host.commissioning.steps import Step
    from host.link.client import LineClient, SimulatedClient


NAMES = [step.name for step in STEPS]
TUNING = ("kc_pct_per_k", "ti_s", "td_s", "lead_s", "hold_pct")
STORED_S = 60.0


class Course:
    """`run(until)` goes on where the board stands. `stamp()` -> date and time as text (UTC, 13 characters)."""

    def __init__(
        self,
        client: LineClient | SimulatedClient,
        person: Answers | Terminal,
        hands: Hands | SimulatedHands,
        record: Record,
        stamp: Callable[[], str] | None = None,
    ) -> None:
        self.client = client
        self.person = person
        self.bench = Bench(client, hands, person)
        self.record = record
        self.stamp = stamp or (lambda: time.strftime("%Y%m%dT%H%M", time.gmtime()))

    def begin(self, simulated: bool = False, restart: bool = False) -> dict[str, str]:
        """Bind record and board; `restart` forgets every step of the board first."""
        if restart:
            self.bench.must("witness restart")
        version = replies.pairs(self.client.ask("version"))
        got = self.bench.witness()
        self.record.bind(version.get("board", "?"), got["mark"], version.get("version", "?"), simulated)
        self._agree(int(got["done"]))
        return got

    def _agree(self, done):
        """Bring the record into line with the board, which decides: void what it no longer holds, note what it has."""
        for entry in self.record.data["steps"]:
            if entry.get("result") == "pass" and (entry["name"] not in NAMES[:done]):
                entry.update(result="void", reason="the board no longer holds this step")
        known = {entry["name"] for entry in self.record.data["steps"] if entry.get("result") == "pass"}
        for number, step in enumerate(STEPS[:done]):
            if step.name in known:
                continue
            parts = self.bench.must(f"witness step {number}").split()
            initials, date, figure = (parts[2:] + ["-", "-", "0"])[:3]
            entry = {"name": step.name, "title": step.title, "entries": {}, "date": date, "result": "pass"}
            entry.update(by="as the board remembers it", initials=initials, released_c=60)
            if step.measures and figure != "0":
                entry["measured"] = {"seen_by_the_board": ["as it remembers"], "figure": int(figure) / 1000}
            self.record.add(entry)

    def run(self, until: str | None = None) -> tuple[int, int, str]:
        """Carry out the steps; returns (done, release_c, reason): reason is "" when nothing failed."""
        while True:
            got = self.bench.witness()
            done, release_c = int(got["done"]), int(got["release_c"])
            if got["next"] == "none" or (until is not None and done > NAMES.index(until)):
                return done, release_c, ""
            step = STEPS[NAMES.index(got["next"])]
            fault = self._step(step)
            if fault:
                after = self.bench.witness()
                return int(after["done"]), int(after["release_c"]), f"{step.name}: {fault}"

    def _step(self, step):
        """One step; "" or why it failed. Every attempt is recorded; nothing is left under way."""
        for line in describe(step):
            self.person.say(line)
        entry = {"name": step.name, "title": step.title, "entries": {}, "date": self.stamp()}
        try:
            entry["by"], entry["initials"] = self.person.by(step)
            self._enter(step, entry, after=False)
            if step.measures:
                self._measure(step, entry)
            else:
                if step.name == "identify":
                    entry["tuning"] = self._tuning()
                self.bench.must(f"witness attest {step.name} {entry['initials']} {entry['date']}")
            self._stored(step)
            entry["result"], fault = "pass", ""
        except Failed as error:
            fault = str(error)
            entry["result"], entry["reason"] = "fail", fault
        except (AnswerError, LinkError, KeyboardInterrupt, EOFError):
            self._drop()
            raise
        if fault:
            self._drop()
        else:
            entry["released_c"] = int(self.bench.witness()["release_c"])
        self.record.add(entry)
        self.person.say(f"  {step.name}: " + (f"FAILED, {fault}" if fault else "passed"))
        return fault

    def _drop(self):
        """Nothing under way, no heat; a link that is gone cannot be told, and the board holds no step over a reset."""
        try:
            for line in ("witness cancel", "stop"):
                self.client.ask(line)
        except LinkError as error:
            self.person.say(f"  {error}; look at the oven")

    def _enter(self, step, entry, after):
        for field, value in self.person.entries(step, [field for field in step.fields if field.after == after]):
            entry["entries"][field.name] = value
            fault = fault_of(field, value)
            if fault:
                raise Failed(fault[1])

    def _measure(self, step, entry):
        bench = self.bench
        if step.name == "dead":
            bench.hands.without_mains()
        elif step.name == "lamp":
            bench.hands.lamps()
        elif step.name == "first-heat":
            bench.hands.elements()
        bench.until(lambda: not set(bench.status()["missing"]) & {"armed", "reading"}, 120.0, "the board is ready")
        if step.name != "dead":
            bench.ready()
        bench.must(f"witness begin {step.name} {entry['initials']} {entry['date']}")
        begun = bench.witness()
        evidence = begun["todo"].split(",")
        PROCEDURES[step.name](bench)
        got = bench.witness()
        entry["measured"] = {"seen_by_the_board": evidence, "figure": int(got["value_mc"]) / 1000}
        if begun["unseen"] != "none":
            entry["measured"]["not_wired"] = begun["unseen"].split(",")
        self._enter(step, entry, after=True)
        if step.name == "limiter":
            apart_k = abs(entry["entries"]["dial_c"] - entry["measured"]["figure"])
            if apart_k > DIAL_APART_K:
                raise Failed(f"dial and dome were {apart_k:.0f} K apart when it opened: is its sensor in the hot zone?")
        bench.must("witness accept")

    def _tuning(self):
        values = {}
        for name in TUNING:
            reply = self.bench.must(f"setting {name}")
            values[name] = reply.partition("=")[2].partition(" ")[0]
        return values

    def _stored(self, step):
        """The board has written the step down."""
        wanted = NAMES.index(step.name) + 1

        def stored():
            got = self.bench.witness()
            if got["stored"] == "1" and int(got["done"]) != wanted:
                raise Failed(got["reason"])
            return got["stored"] == "1"

        self.bench.until(stored, STORED_S, "stored on the board")


def describe(step: Step) -> list[str]:
    """A step as lines for a person."""
    lines = ["", f"== {step.title} (about {TAKES_MIN[step.name]} min)", f"  CAUTION: {step.caution}"]
    lines += [f"  {number}. {text}" for number, text in enumerate(step.todo, 1)]
    if step.measures:
        lines.append(f"  the board measures: {step.measures}")
    return lines
