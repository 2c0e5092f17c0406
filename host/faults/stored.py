"""Faults of what the board keeps: its stored values, its flash, its pin map."""

from __future__ import annotations

import json

from host.faults.base import BOOT_S, NO_SESSION, Fault, Promise, Quiet, board_of, send


def _spoil(*names):
    """Turn over a bit in every copy of these stored values, then restart."""

    def make(outside):
        files = board_of(outside).fs.files
        for path in [p for p in files if p.rpartition(".")[0] in names]:
            data = bytearray(files[path])
            data[len(data) // 2] ^= 0x10
            files[path] = bytes(data)
        outside.cut_power(0.5)

    return make


def _lose(*names):
    """Delete every copy of these stored values, then restart."""

    def make(outside):
        files = board_of(outside).fs.files
        for path in [p for p in files if p.rpartition(".")[0] in names]:
            del files[path]
        outside.cut_power(0.5)

    return make


def _cut_in_write(units, keep, trip):
    """The supply goes in the middle of the next write, which a stop (or a trip) brings about."""

    def make(outside):
        board_of(outside).fs.cut_after(units, keep)
        if trip:
            outside.probe_chips["dome"].set_fault("open")
        else:
            send(outside, "stop")

    return make


def _refuse(outside):
    board_of(outside).fs.refuse(28, times=1000)


def _swap_map(outside):
    board = board_of(outside).port.board
    board.HEAT_TOP, board.HEAT_DECK = board.HEAT_DECK, board.HEAT_TOP
    outside.cut_power(0.5)


def _swap_probes(outside):
    board = board_of(outside).port.board
    probes = json.loads(json.dumps(board.PROBES))
    probes["dome"]["cs"], probes["stone"]["cs"] = probes["stone"]["cs"], probes["dome"]["cs"]
    board.PROBES = probes
    outside.cut_power(0.5)


def faults() -> list[Fault]:
    """Every fault of this group."""
    return [*_of_the_files(), *_of_the_writes()]


def _supply(name, words, make, promises, inside=True, needs=()):
    return Fault(name, words, make, None, "board", promises, inside=inside, needs=needs)


def _of_the_files():
    settings = {"*": Promise("settings-damaged power-cut", BOOT_S, inhibit_s=0.5)}
    lost = {"*": Promise("settings-damaged power-cut", BOOT_S, inhibit_s=0.5)}
    latch = {"*": Promise("latch-doubt power-cut", BOOT_S, inhibit_s=0.5)}
    return [
        _supply("settings_damaged", "both copies of the settings damaged, restart", _spoil("settings"), settings),
        _supply("settings_missing", "settings gone, restart", _lose("settings"), lost),
        _supply("latch_damaged", "both copies of the trip memory damaged, restart", _spoil("latch"), latch),
        _supply("latch_missing", "trip memory gone, restart", _lose("latch"), latch),
        _supply("record_damaged", "commissioning record damaged, restart", _spoil("commission"), _record_lost()),
        _supply("files_missing", "every stored value gone, restart",
                _lose("settings", "latch", "session", "counters", "commission"),
                {"*": Promise("high-limit", BOOT_S, inhibit_s=0.5, above_c=105),
                 "preheat": Quiet("a board without any memory releases 60 °C", "high-limit", 60.0),
                 "cold": Quiet("a board without any memory releases 60 °C and starts nothing by itself")}),
    ]  # fmt: skip


def _record_lost():
    # With the release the high limit falls to 100 °C: a hot oven stands above it at once.
    return {"*": Promise("power-cut high-limit", BOOT_S, inhibit_s=0.5),
            "cold": Quiet("the release falls back to 60 °C", "not-commissioned relay-welded no-current", 300.0),
            "cooling": Promise("high-limit", BOOT_S, above_c=105)}  # fmt: skip


def _of_the_writes():
    record = _record_lost()
    stopped = {"*": Promise("none power-cut latch-doubt", BOOT_S, inhibit_s=0.8),
               "cold": Quiet(NO_SESSION, "power-cut latch-doubt"),
               "cooling": Quiet(NO_SESSION, "power-cut latch-doubt")}  # fmt: skip
    tripped = {"*": Promise("probe-open power-cut latch-doubt", BOOT_S, inhibit_s=0.8)}
    return [
        _supply("cut_in_write_early", "supply goes at byte 3 of a write", _cut_in_write(3, "old", False), stopped),
        _supply("cut_in_write_late", "supply goes late in a write, block lost", _cut_in_write(60, "lost_block", False),
               stopped),
        _supply("cut_in_rename", "supply goes at the end of a write, new name lost",
               _cut_in_write(100, "truncated", False), stopped),
        _supply("cut_in_trip_write", "supply goes while a trip is written", _cut_in_write(40, "garbage", True),
                tripped),
        _supply("medium_refuses", "flash refuses every write", _refuse,
               {"*": Quiet("the heat does not depend on the flash; a start is refused")}),
        _supply("pin_map_zones", "pin map with top and deck swapped, restart", _swap_map, record),
        _supply("pin_map_probes", "pin map with dome and stone swapped, restart", _swap_probes,
               {**record, "cold": Quiet("the release falls back to 60 °C",
                                        "not-commissioned probes-disagree stone-limit no-rise", 300.0)},
                needs=("stone",)),
    ]  # fmt: skip
