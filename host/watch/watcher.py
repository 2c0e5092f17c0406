"""Asks the board once a second, keeps what it said, records it, and comes back when the port does.

watcher = Watcher(open_again, first_client)
watcher.poll()          one round of questions: status every time, permissives and alarms in turn
watcher.view            Dict for screen and page, see `view_of_nothing`
watcher.order("stop")   a line to send at the next round (from another thread too)
"""

from __future__ import annotations

import threading
import time
from collections import deque
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from host.errors import InputError
from host.link import LinkError, LinkLost, replies
from host.runs.notes import cleaned
from host.watch.stuck import Stuck

if TYPE_CHECKING:
    from host.link.client import LineClient, SimulatedClient
    from host.watch.record import Recorder


KEEP = 14_400  # samples for the plot: four hours
RETRY_S = 2.0
ACTS = ("start", "stop", "hold", "resume", "acknowledge", "present", "loaded", "reset", "setpoint")


class Order:
    """A line that waits to be sent; `done` is set with `reply` filled in."""

    def __init__(self, line: str) -> None:
        self.line = line
        self.reply = None
        self.done = threading.Event()


def view_of_nothing() -> dict[str, Any]:
    """What is shown before the first reply."""
    return {
        "connected": False,
        "word": "not connected yet",
        "t_s": 0.0,
        "status": None,
        "permissives": [],
        "alarms": {},
        "alarm_words": {},
        "trip": "none",
        "trip_words": "",
        "stuck_s": None,
        "stuck_words": "not known yet",
        "board": "",
        "said": "",
        "cue": None,  # what to do and when, see replies.glance
        "sentence": "",
        "breads_at": [],  # [(t_s, number), ...] of every bread that was laid
    }


def stone_of(now: dict[str, Any], cue: dict[str, Any] | None) -> float | None:
    """The stone in °C, by its probe or as the board estimates it; None where neither tells."""
    if now["stone_pv_c"] is not None or cue is None or cue["stone"] is None:
        return now["stone_pv_c"]
    return (cue["stone"] - 32) / 1.8 if cue["unit"] == "F" else float(cue["stone"])


class Watcher:
    """`reopen()` -> a client, or LinkError; `client`: one that is open already. `recorder`: a Recorder or None.

    `wall`: seconds of the laptop's clock, for the age of what is shown and for trying again."""

    def __init__(
        self,
        reopen: Callable[[], LineClient | SimulatedClient],
        client: LineClient | SimulatedClient | None = None,
        recorder: Recorder | None = None,
        wall: Callable[[], float] = time.monotonic,
    ) -> None:
        self.reopen = reopen
        self.client = client
        self.recorder = recorder
        self.wall = wall
        self.view = view_of_nothing()
        self.history = deque(maxlen=KEEP)  # (t_s, pv_c, setpoint_c, out_pct, stone_c)
        self.stuck = Stuck()
        self.page_url = ""  # shown on the screen where a page is served
        self.lost = 0  # times the link went away
        self.heard_at = None  # wall time of the last status
        self._lock = threading.Lock()  # of the history, which the page's threads read
        self._orders = deque()
        self._sentences = {}
        self._round = 0
        self._offset_s = 0.0 if client is None else -client.now_s  # a run begins at 0, not with the laptop's start
        self._tried_at = None
        self._told = {}
        self._counted = []  # the board's service counters, first and last

    def order(self, line: str) -> Order:
        """Have a line sent at the next round; returns the Order."""
        order = Order(line)
        self._orders.append(order)
        return order

    def note(self, text: str) -> None:
        """Words of the cook into the record, at the newest sample; without a record they are said to be lost."""
        try:
            line = cleaned(text)
        except InputError as error:
            self.view = {**self.view, "said": str(error)}
            return
        kept = "noted" if self.recorder is not None else "not kept, since nothing is recorded (watch --record DIR)"
        self.view = {**self.view, "said": f"{kept}: {line}"}
        self._event("note", line)

    def samples(self) -> list[tuple]:
        """A copy of the history, for other threads."""
        with self._lock:
            return list(self.history)

    @property
    def age_s(self) -> float | None:
        """Wall seconds since the last status; None before the first."""
        return None if self.heard_at is None else self.wall() - self.heard_at

    @property
    def waiting(self) -> bool:
        """An order is due."""
        return bool(self._orders)

    def poll(self) -> bool:
        """One round; True if the board answered."""
        if self.client is None and not self._open():
            return False
        try:
            self._send_orders()
            self._ask()
        except LinkLost as error:
            self._gone(error)
            return False
        except LinkError as error:
            self.view = {**self.view, "word": str(error)}
            return False
        return True

    def _open(self):
        if self._tried_at is not None and self.wall() - self._tried_at < RETRY_S:
            return False
        self._tried_at = self.wall()
        try:
            self.client = self.reopen()
        except LinkError as error:
            self.view = {**self.view, "connected": False, "word": f"trying again: {error}"}
            self._refuse_orders()
            return False
        last_s = self.history[-1][0] if self.history else 0.0
        self._offset_s = last_s - self.client.now_s if self.history else -self.client.now_s
        self._event("link", "connected")
        return True

    def _gone(self, error):
        self.lost += 1
        self.client.close()
        self.client = None
        self._tried_at = self.wall()
        self.view = {**self.view, "connected": False, "word": f"LINK LOST: {error}. The board goes on by itself"}
        self._event("link", "lost")
        self._refuse_orders()

    def _refuse_orders(self):
        """What could not be sent is refused, never kept: a late act is not the act that was meant."""
        while self._orders:
            order = self._orders.popleft()
            order.reply = "no link: nothing was sent"
            order.done.set()

    def _send_orders(self):
        while self._orders:
            order = self._orders[0]
            try:
                order.reply = self.client.ask(order.line)
            except LinkLost:
                order.reply = "no reply: the act may have been done; look at the oven"
                raise
            finally:
                self._orders.popleft()
                order.done.set()
            self.view = {**self.view, "said": f"{order.line}: {order.reply}"}
            self._event("person", f"{order.line}: {order.reply}")

    def _ask(self):
        client = self.client
        now = replies.status(client.ask("status"))
        t_s = round(client.now_s + self._offset_s, 3)
        view = {**self.view, "connected": True, "word": "", "t_s": t_s, "status": now}
        view["cue"] = replies.glance(client.ask("glance"))
        view["sentence"] = replies.sentence(view["cue"])
        if self._round == 0:
            view["board"] = replies.pairs(client.ask("version")).get("board", "?")
            self._count()
        if self._round % 2 == 0 or now["missing"]:
            reply = client.ask("permissives")
            if not reply.startswith("no unknown"):  # an older program: the names in `missing` still tell
                view["permissives"] = replies.permissives(reply)
            else:
                view["permissives"] = [(name, False, replies.REMEDIES.get(name, "")) for name in now["missing"]]
        if self._round % 2 == 1 or now["trip"] != self.view["trip"]:
            _, view["alarms"] = replies.alarms(client.ask("alarms"))
        if now["trip"] != self.view["trip"]:
            view["trip_words"] = self._sentence(now["trip"])
        view["trip"] = now["trip"]
        unknown = [name for name in view["alarms"] if name not in self._sentences]
        if unknown:  # one a round: each question takes the board a tick
            self._sentence(unknown[0])
        view["alarm_words"] = {name: self._sentences.get(name, "") for name in view["alarms"]}
        self._round += 1
        self.stuck.add(t_s, now["pv_c"], now["out_pct"])
        view["stuck_s"], view["stuck_words"] = self.stuck.answer(
            now["pv_c"], now["limit_c"], view["cue"]["unit"] if view["cue"] else "C"
        )
        with self._lock:
            self.history.append((t_s, now["pv_c"], now["setpoint_c"], now["out_pct"], stone_of(now, view["cue"])))
        if now["stage"] == "bake" and self._told.get("stage") != "bake":
            view["breads_at"] = [*view["breads_at"], (t_s, now["breads"] + 1)]
        self.view = view
        self.heard_at = self.wall()
        self._record(t_s, now)

    def _sentence(self, name):
        if name == "none":
            return ""
        if name not in self._sentences:
            reply = self.client.ask("alarms " + name)
            self._sentences[name] = reply[3:] if reply.startswith("ok ") else ""
        return self._sentences[name]

    def _record(self, t_s, now):
        for name in ("state", "stage", "trip", "contactor", "breads"):
            if self._told.get(name, "none" if name == "trip" else None) != now[name]:
                self._told[name] = now[name]
                self._event(name, value=now[name])
        if now["state"] == "held" and self._told.get("held_by") != now["missing"]:
            lacking = [name for name in now["missing"] if name != "no-hold"]
            self._event("hold", value=", ".join(lacking) or "none")
        self._told["held_by"] = now["missing"] if now["state"] == "held" else None
        if self.recorder is not None:
            trip = "" if now["trip"] == "none" else now["trip"]
            self.recorder.row({**now, "t_s": t_s, "trip": trip, "dome_c": now["pv_c"], "stone_c": now["stone_pv_c"]})

    def _count(self):
        """Keep the board's counters: what they count in an evening, one row a second misses."""
        if self.recorder is not None:
            reply = self.client.ask("counters")
            told = replies.pairs(reply) if reply.startswith("ok ") else {}  # an older program has none
            self._counted.append({name: int(value) for name, value in told.items() if value.isdigit()})

    def _event(self, kind, text=None, **values):
        if self.recorder is not None:
            t_s = self.history[-1][0] if self.history else 0.0
            self.recorder.event({"t_s": t_s, "kind": kind, **({"text": text} if text else {}), **values})

    def close(self) -> None:
        """Let the port go and end the record."""
        if self.client is not None:
            try:
                self._count()
            except LinkError:  # the counters of the start are all there is
                self._counted = self._counted[:1]
            self.client.close()
            self.client = None
        if self.recorder is not None:
            self.recorder.finish(self._figures())

    def _figures(self):
        """What the board itself counted, for the summary."""
        figures = {"board": self.view["board"]} if self.view["board"] else {}
        if (self.view["cue"] or {}).get("unit") == "F":
            figures["unit"] = "F"
        if self._counted and self._counted[-1]:
            first, last = self._counted[0], self._counted[-1]
            figures["counters"] = last
            for zone in ("top", "deck", "contactor"):
                if len(self._counted) > 1 and last.get(zone, 0) >= first.get(zone, 0):
                    figures[f"{zone}_switchings"] = last.get(zone, 0) - first.get(zone, 0)
        return figures
