"""A board that any serial program can talk to: real MicroPython behind a pseudo-terminal. Linux only.

    python -m host.board_pty --loaded           prints the port; ends with Ctrl-C

    with BoardPty(speed=1.0) as board:          an empty board, as bought
        board.port                              "/dev/pts/7", for mpremote; board.link stays the same over re-plugs
        board.reset(), board.power_cycle(), board.fit_jumper(True), board.cut_link_after(bytes), board.plug_in()
        board.wait_until(lambda: "watchdog" in board.resets)
        board.heat_log, board.events            what the heat pins and the board did

Start-up as on a board: boot.py always; main.py only after a real reset (machine.reset(), watchdog, power) or a Ctrl-D
at the friendly prompt, never after the soft reset out of a raw prompt that mpremote makes. Pins and watchdog outlive a
soft reset. The simulated board (host/shim) is underneath, wired to an oven in this process.

What time and the watchdog do is told in host/board_pty/world.py.
"""

from __future__ import annotations

import os
import select
import tempfile
import threading
import time
from collections import deque
from collections.abc import Callable
from pathlib import Path
from typing import Any

from host.board_pty.bridge import Bridge
from host.board_pty.process import BoardProcess
from host.board_pty.world import PATIENCE_S, World
from host.pins import pin_map

SHIM = Path(__file__).parents[1] / "shim"
BLOCK = 4096
HEAP = "200wK"  # what stands for a Pico, and the simulated board's own share of it (host/shim/remote.py)


class BoardPty:
    """One board. `files`: {path: bytes} to begin with; `flash_kb`: a littlefs of that size instead of a folder.

    `plant`: see DEVELOPERS.md (default: the standard oven, cold). RuntimeMissing without MicroPython.
    `native_usb`: the port goes and comes with a reset; else it stays, as behind a serial chip.
    `metered`: its time goes on only by `live(seconds)`, whatever the laptop's clock does."""

    def __init__(
        self,
        board: str = "boards/pico.py",
        plant: Any = None,
        files: dict[str, bytes] | None = None,
        speed: float = 1.0,
        seed: int = 1,
        flash_kb: int | None = None,
        heap: str = HEAP,
        native_usb: bool = False,
        patience_s: float = PATIENCE_S,
        metered: bool = False,
    ) -> None:
        if plant is None:
            from host.oven import preset

            plant = preset("standard", seed=seed)
        self.plant = plant
        self.world = World(pin_map.read(board), plant, seed, speed, patience_s)
        if metered:
            self.world.grant(0.0)
        self.outside = self.world.outside
        self.heat_log = self.world.heat_log
        self.events: list[tuple[int, str, str]] = []  # (us, kind, text): starts and crashes
        self._heap, self._native_usb = heap, native_usb
        self._temporary = tempfile.TemporaryDirectory(prefix="board-")
        self.folder = Path(self._temporary.name) / "files"
        self._flash_blocks = flash_kb * 1024 // BLOCK if flash_kb else 0
        self._fill_flash(files or {})
        self.bridge = Bridge(Path(self._temporary.name) / "port")
        self._orders, self._has_rested = deque(), threading.Event()  # that what was granted (metered) is spent
        self._wake_out, self._wake_in = os.pipe()
        self._start("power", run_main=True)
        self._thread = threading.Thread(target=self._live, name="board", daemon=True)
        self._is_closing, self.failure = False, None
        self._thread.start()

    def _fill_flash(self, files):
        """The board's flash as it begins: erased for littlefs, else a folder with these files."""
        if self._flash_blocks:
            self.folder.write_bytes(b"\xff" * (self._flash_blocks * BLOCK))
            return
        self.folder.mkdir()
        for name, content in files.items():
            path = self.folder / name
            path.parent.mkdir(parents=True, exist_ok=True)
            path.write_bytes(content)

    # --- what a person does ----------------------------------------------------------------------

    @property
    def port(self) -> str | None:
        """The device file of the serial port as it is now."""
        return self.bridge.port

    @property
    def link(self) -> str:
        """A link to it that survives re-plugging, as in /dev/serial/by-id."""
        return str(self.bridge.link)

    def reset(self) -> None:
        """Press the board's reset button."""
        self._order(self._hard_reset, "reset")

    def power_cycle(self) -> None:
        """Take its supply away and give it back."""
        self._order(self._hard_reset, "power")

    def fit_jumper(self, is_fitted: bool) -> None:
        """Fit or remove the MAINTENANCE jumper."""
        self._order(setattr, self.outside.contacts, "maintenance_fitted", is_fitted)

    def cut_link_after(self, count: int, and_power: bool = False) -> None:
        """Pull the plug once `count` more bytes have come from the PC; `and_power`: the board's supply with it."""
        self._order(self.bridge.cut_after, count, and_power)

    def plug_in(self) -> None:
        """Plug the cable in again, perhaps under another port name."""
        self._order(self.bridge.plug_in)

    @property
    def resets(self) -> list[str]:
        """Causes of all starts so far: power, reset, watchdog, soft."""
        return [text for _, kind, text in self.events if kind == "start"]

    def live(self, seconds: float, timeout_s: float = 120.0) -> None:
        """Let so many seconds of the device's own time pass, to the end of its sleep that is then under way.

        From here on it is metered, however it was made.
        RuntimeError if it hangs or has ended."""
        self._order(self._grant, seconds)
        if not self._has_rested.wait(timeout_s) or self.failure:
            raise RuntimeError(f"the device asks for no more time: it hangs or sits at its prompt ({self.failure!r})")

    def wait_until(self, is_so: Callable[[], bool], timeout_s: float = 60.0, pause_s: float = 0.005) -> bool:
        """Wait until `is_so()`; whether it came to be."""
        end = time.monotonic() + timeout_s
        while not is_so():
            if time.monotonic() > end:
                return False
            time.sleep(pause_s)
        return True

    def heat_was_on(self) -> bool:
        """Whether a heat pin has ever been high."""
        return any(level for _, _, level in self.heat_log)

    def serve(self) -> None:
        """Wait for close() in another thread, or for ever."""
        self._thread.join()

    def close(self) -> None:
        """End the board and delete its files."""
        if self._is_closing:
            return
        self._is_closing = True
        os.write(self._wake_in, b"x")
        self._thread.join()
        self._process.end()
        self.bridge.close()
        os.close(self._wake_in)
        os.close(self._wake_out)
        self._temporary.cleanup()

    def __enter__(self) -> BoardPty:
        return self

    def __exit__(self, *exception: object) -> None:
        self.close()

    # --- starts ------------------------------------------------------------------------------------

    def _order(self, *call: Any) -> None:
        done = threading.Event()
        self._orders.append((done, call))
        os.write(self._wake_in, b"x")
        if not done.wait(60.0):
            raise RuntimeError(f"the board's thread has ended: {self.failure!r}")

    def _grant(self, seconds: float) -> None:
        self._has_rested.clear()
        self.world.grant(seconds)

    def _hard_reset(self, cause: str) -> None:
        self._process.end()
        self.world.reset()
        self.bridge.lose_input()
        if self._native_usb and self.bridge.is_plugged_in:
            self.bridge.unplug()
            self.bridge.plug_in()
        self._start(cause, run_main=True)

    def _start(self, cause: str, run_main: bool) -> None:
        """`cause` "soft" keeps pins and watchdog; without `run_main` the prompt is raw again."""
        is_soft = cause == "soft"
        self.events.append((self.outside.now_us, "start", cause))
        if not is_soft:
            self._cause = cause
        config = {
            "path": [str(SHIM / "modules"), str(SHIM)],
            "folder": str(self.folder),
            "flash_blocks": self._flash_blocks,
            "cause": self._cause,
            "run_main": run_main,
            **self.world.config(is_soft),
        }
        self._process = BoardProcess(config, self._heap)
        self.bridge.board_started(soft_to_raw=not run_main, is_soft=is_soft)

    # --- the thread --------------------------------------------------------------------------------

    def _live(self):
        try:
            while not self._is_closing:
                self._once()
        except Exception as error:  # told to whoever gives the next order
            self.failure = error
            self._has_rested.set()
            self._process.end()
            raise

    def _once(self):
        poll = select.poll()
        poll.register(self._process.pipe, select.POLLIN)
        poll.register(self._wake_out, select.POLLIN)
        wanted = self.bridge.register(poll, self._process)
        ready = dict(poll.poll(max(0.0, min(self.world.next_s(), wanted)) * 1000))
        if self._wake_out in ready:
            os.read(self._wake_out, 4096)
        while self._orders:
            done, call = self._orders.popleft()
            call[0](*call[1:])
            done.set()
        if self._process.pipe in ready and not self._hear():
            return
        self.bridge.carry(self._process)
        if self.bridge.interrupt_due and self.world.interrupt(self._process):
            self.bridge.interrupt_due = 0.0
        if self.bridge.has_cut_power:
            self.bridge.has_cut_power = False
            self._hard_reset("power")
        elif self.world.pass_time(self._process):
            self._hard_reset("watchdog")
        if self.world.is_spent:
            self._has_rested.set()

    def _hear(self):
        """Serve the device's messages; False if its process is another one now."""
        process = self._process
        messages = process.messages()
        if messages is None:
            self._ended()
            return False
        world = self.world
        for name, number, *values in messages:
            if name == "advance":
                if world.advance(number, *values):
                    self._hard_reset("watchdog")
                    return False
            elif name == "pin":
                world.pin(*values)
            elif name == "up":
                self.bridge.board_listens()
            elif name == "arm":
                world.arm(*values, process.lived_s())
            elif name == "feed":
                world.feed(process.lived_s())
            elif name == "reset":
                self.bridge.carry(process)  # what it printed before has left the chip
                self._hard_reset("reset")
                return False
            else:
                process.answer(number, world.answer(name, values))
        return True

    def _ended(self):
        """The interpreter left: a soft reset if it says 0, else a crash, after which the board starts anew."""
        self.bridge.carry(self._process)
        was_raw = self.bridge.is_raw
        code = self._process.wait()
        if code == 0:
            self.bridge.to_pc(b"MPY: soft reboot\r\n")
            self._start("soft", run_main=not was_raw)
            return
        self.events.append((self.outside.now_us, "crash", f"the interpreter ended with {code}"))
        self._hard_reset("power")
