"""What a loaded board has to answer before a load counts as done: our version and pin map, idle, every heat output off,
armed, no trip."""

from __future__ import annotations

import time
from typing import TYPE_CHECKING, Any

from host.deploy import DeployError
from host.deploy.entry import board_facts, fields
from host.link import LinkLost

if TYPE_CHECKING:
    from host.deploy.line import Line
    from host.deploy.plan import LoadPlan


OFF = ("top", "deck", "permit", "contactor")


def wait_and_check(line: Line, plan: LoadPlan, tripped_before: str = "none") -> dict[str, Any]:
    """{"version": ..., "status": {...}, "kept_trip": its sentence or ""} of the board after its restart; DeployError
    with the reason otherwise. A trip that the board kept from before the load is told and is no failure of the load."""
    version = _wait(line, "version", lambda now: True)
    if version.get("version") != plan.version or version.get("board") != plan.name:
        raise DeployError(
            f"loaded, but the board answers as version {version.get('version')} on {version.get('board')}, not "
            f"{plan.version} on {plan.name}: run this again"
        )
    status = _wait(line, "status", lambda now: "armed" not in now.get("missing", "armed").split(","))
    trip = status.get("trip")
    if trip not in ("none", tripped_before):
        raise DeployError(f"loaded, but the board has tripped: {_told(line, trip)}")
    if any(status.get(name) != "0" for name in OFF):
        raise DeployError("loaded, but a heat output or the contactor is on: pull the plug of the oven")
    if status.get("state") != "idle" and trip == "none":
        raise DeployError(f"loaded, but the board is {status.get('state')}, not idle")
    return {"version": version, "status": status, "kept_trip": "" if trip == "none" else _told(line, trip)}


def _wait(line, question, is_good):
    """Ask until the answer is good; DeployError when the board stays silent or keeps a bad one too long."""
    end = time.monotonic() + line.timing.boot_s
    line.noise = b""
    last = None
    while time.monotonic() < end:
        try:
            reply = line.ask(question)
        except LinkLost:
            reply = None
            line.open_when_back()
        if reply is not None and reply.startswith("ok"):
            last = fields(reply)
            if is_good(last):
                return last
        elif line.saw_prompt:
            raise DeployError(f"loaded, but {_why_at_prompt(line)}")
    if last is None:
        raise DeployError(f"loaded, but the board does not answer: {_last_words(line.noise)}")
    raise DeployError(f"loaded, but the board has not armed itself; it misses: {last.get('missing')}")


def _why_at_prompt(line):
    """Why the program does not run: the jumper, or what ended it."""
    words = _last_words(line.noise)
    line.enter()
    if board_facts(line)["jumper"]:
        return "the MAINTENANCE jumper holds the board at its prompt: take it off and press reset"
    return f"the program has ended and the board is at its prompt: {words}"


def _last_words(noise):
    """What the board printed last before its prompt came, one line."""
    text = noise.partition(b">>> ")[0].decode(errors="replace")
    lines = [words.strip() for words in text.splitlines()]
    lines = [words for words in lines if words and not words.startswith(("MicroPython", "Type ", "~"))]
    errors = [words for words in lines if "Error" in words.partition(":")[0]]
    return (errors or lines or ["it printed nothing; press reset and run this again"])[-1]


def _told(line, trip):
    """The sentence of a trip and what to do, in the board's own words."""
    try:
        reply = line.ask(f"alarms {trip}", 3 * line.timing.reply_s)
    except LinkLost:
        reply = None
    return f"{trip}: {reply[3:]}" if reply and reply.startswith("ok") else str(trip)
