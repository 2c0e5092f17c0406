"""A whole board on an oven for this folder: made, asked, cut from the mains, its files read and written."""

from host import oven
from host.faults import library
from host.shim.port import Port
from host.simulator.rehearsal import Rehearsal


def made(settings=None, board="boards/pico.py", cook=None, **more):
    """A board wired in full on a standard oven, past its grace window, with nobody there."""
    rehearsal = Rehearsal(plant=oven.preset("standard", 1), board=board, settings=settings or {}, cook=cook, **more)
    rehearsal.advance(5)
    return rehearsal


def app_of(rehearsal):
    """The running application."""
    return rehearsal.board.life.app


def fields(reply):
    """A status reply as a dict."""
    assert reply.startswith("~ok "), reply
    return dict(part.split("=", 1) for part in reply[4:].split())


def status(rehearsal):
    """What `status` tells, as a dict."""
    return fields(rehearsal.send("status"))


def heat_pins(rehearsal):
    """Levels of the heat pins."""
    levels = rehearsal.board.port.levels
    return [levels.get(relay.pin, 0) for relay in rehearsal.outside.relays]


def cut(rehearsal, seconds=20):
    """The mains fails for everything and comes back; the board is past its grace window."""
    rehearsal.outside.cut_power(seconds)
    rehearsal.advance(seconds + 6)


def store_of(rehearsal):
    """(World, Port, Store) on the board's files, beside the running board."""
    port = Port(rehearsal.outside, "rp2040", rehearsal.pins, rehearsal.board.fs)
    with rehearsal.world.running(port):
        return port, rehearsal.world.load("tizzone.memory.store").Store()


def stored(rehearsal, name):
    """(value, status) of what the board's flash holds."""
    port, store = store_of(rehearsal)
    with rehearsal.world.running(port):
        return store.load(name)


def put(rehearsal, name, value):
    """Write a value to the board's flash, beside the board."""
    port, store = store_of(rehearsal)
    with rehearsal.world.running(port):
        store.save(name, value)


def spoil(rehearsal, name, copies=2):
    """Turn over a bit in so many copies of a stored value; with nought: delete them all."""
    files = rehearsal.board.fs.files
    paths = sorted(path for path in files if path.rpartition(".")[0] == name)
    for path in paths if not copies else paths[:copies]:
        if copies:
            data = bytearray(files[path])
            data[len(data) // 2] ^= 0x10
            files[path] = bytes(data)
        else:
            del files[path]


def fault(rehearsal, name):
    """Make a fault of the library now."""
    made_fault, _ = library.parse(name + "@0")
    rehearsal.outside.quiet_us = 0
    rehearsal.outside.at(rehearsal.outside.now_us, made_fault, "start", rehearsal.outside)


def hot(rehearsal, to_c, limit_s=4000):
    """Begin an evening and heat until the dome reads so much."""
    assert rehearsal.send("start") == "~ok"
    end_s = rehearsal.now_s + limit_s
    while rehearsal.rows["pv_c"][-1] < to_c:
        rehearsal.advance(1)
        if not int(rehearsal.now_s) % 240:
            rehearsal.say("present")
        assert rehearsal.now_s < end_s, status(rehearsal)
    return rehearsal
