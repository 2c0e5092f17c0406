"""What a simulated board has in its flash when the rehearsal begins, written by the device's own code."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

from host.pins.pin_map import PinMap
from host.shim.loader import World
from host.shim.port import Port
from host.shim.simfs import SimFS

if TYPE_CHECKING:
    from host.simulator.outside import Outside

COMMISSIONED_C = 480


def first_files(
    world: World, pins: PinMap, outside: Outside, settings: Mapping[str, Any] | None = None, commissioned: bool = True
) -> SimFS:
    """A SimFS with settings and commissioning record of a World's device; ValueError for a setting that cannot be."""
    fs = SimFS()
    if not settings and not commissioned:
        return fs
    with world.running(Port(outside, getattr(pins, "MCU", "rp2040"), pins, fs)):
        store = world.load("tizzone.memory.store").Store()
        _store_settings(world, store, settings or {})
        if commissioned:
            _store_record(world, store, pins, settings or {})
    return fs


def _store_settings(world, store, settings):
    rules = world.load("tizzone.memory.settings")
    for name, value in settings.items():
        fault = rules.fault_of(name, value)
        if fault:
            raise ValueError(fault)
    store.save("settings", settings)


def _store_record(world, store, pins, settings):
    commission = world.load("tizzone.commissioning.release")
    values = {**world.load("tizzone.memory.settings").defaults(), **settings}
    store.save("commission", commission.record(pins, values, COMMISSIONED_C))
    # Such a board has run before: it keeps a latch and a session mark, and would miss them.
    judge = world.load("tizzone.safety.supervisor").Supervisor(500_000, COMMISSIONED_C * 1000)
    store.save("latch", judge.latch())
    store.save("session", {"open": 0, "planned": 0})
