"""What a person asks of a board from the laptop: settings, bake plan, learning, calibration, what it has kept.

Every function takes an open client of host.link.client; `asked` turns a refusal into Refused, one line."""

from typing import Any

from host.errors import HostError

# What a person does about a refusal that says only that something is missing.
REMEDIES = (
    ("not commissioned", "tizzone commission"),
    ("witness the steps", "tizzone commission"),
    ("only while idle", "tizzone bake stop; once it is cool, tizzone say reset"),
)


def remedy(reply: str) -> str:
    """`; first: what to type` for a refusal that a command can mend, else nothing."""
    return next((f"; first: {command}" for words, command in REMEDIES if words in reply), "")


class Refused(HostError):
    """The board, or a person, says no: one line with the reason."""


def asked(client: Any, line: str) -> str:
    """The text of the board's answer without its first word; Refused with the board's reason."""
    reply = client.ask(line)
    if reply == "ok" or reply.startswith("ok "):
        return reply[3:]
    raise Refused(f"the board refuses '{line}': {reply.partition(' ')[2] or reply}{remedy(reply)}")


def fields(text: str) -> dict[str, str]:
    """{"plan": "rye-crisp", ...} of "plan=rye-crisp leg=1/2"."""
    return dict(word.split("=", 1) for word in text.split() if "=" in word)
