"""What a commissioned board has on its flash, written by the device's own store."""

from host.pins import pin_map
from host.shim.loader import world
from host.shim.port import Port
from host.shim.simfs import SimFS

# What the emulator's flash answers to "read unique id", which rp2 gives as machine.unique_id().
CHIP_ID = bytes.fromhex("e660583883123456")


def released(board="boards/pico.py", release_c=480, settings=None, trip=None, cold=0):
    """{path: bytes} of a board released to `release_c`; `trip`: name of a condition that its latch holds;
    `cold`: 1 where the oven was cold before it and nothing has heated it since."""
    pins, device, fs = pin_map.read(board), world(), SimFS()
    machine = device.load("machine")
    with device.running(Port(None, pins.MCU, pins, fs)):
        store = device.load("tizzone.memory.store").Store()
        store.save("settings", settings or {})
        values = {**device.load("tizzone.memory.settings").defaults(), **(settings or {})}
        limit_c = values["high_limit_c"]
        ours, machine.unique_id = machine.unique_id, lambda: CHIP_ID
        try:
            record = device.load("tizzone.commissioning.release").record(pins, values, release_c)
        finally:
            machine.unique_id = ours
        store.save("commission", record)
        judge = device.load("tizzone.safety.supervisor").Supervisor(limit_c * 1000, release_c * 1000)
        if trip:
            judge.raise_event(device.load("tizzone.safety.limits").CONDITION_NAMES.index(trip))
        store.save("latch", {**judge.latch(), "cold": cold})
        store.save("session", {"open": 0, "planned": 0})
    return {path: bytes(data) for path, data in fs.files.items()}
