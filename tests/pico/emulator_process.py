"""One emulator of tests/*/emulator as a process: its images in a folder of their own, JSON lines to and fro."""

import json
import subprocess
import tempfile
from pathlib import Path

from tests.pico.image import firmware


class Emulated:
    """`script`: the emulator; `images`: {its option: flash image (bytes)}; `options`: {option: text}. A context.
    Emulated time moves in `run(seconds)` alone, which each kind has its own of."""

    def __init__(self, script, images, options):
        _, rom = firmware()
        self.folder = tempfile.TemporaryDirectory(prefix="tizzone-pico-")
        command = ["node", str(script), "--bootrom", str(rom)]
        for name, image in images.items():
            file = Path(self.folder.name) / f"{name}.bin"
            file.write_bytes(image)
            command += [f"--{name}", str(file)]
        for name, text in options.items():
            command += [f"--{name}", text]
        self._node = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)
        self.t = 0.0  # emulated seconds since power-up

    def __enter__(self):
        return self

    def __exit__(self, *what):
        self.close()

    def close(self):
        """End the emulator."""
        self._node.stdin.close()
        self._node.wait(20)
        self._node.stdout.close()
        self.folder.cleanup()

    def op(self, **question):
        """One question to the emulator."""
        self._node.stdin.write(json.dumps(question) + "\n")
        self._node.stdin.flush()
        line = self._node.stdout.readline()
        answer = json.loads(line) if line else {"error": "the emulator has ended"}
        if "error" in answer:
            raise RuntimeError(answer["error"])
        return answer

    def flash(self, **whose):
        """A flash as it is now."""
        file = Path(self.folder.name) / "now.bin"
        self.op(op="flash", file=str(file), **whose)
        return bytearray(file.read_bytes())

    def until_python(self, condition, seconds, step):
        """`run(step)` until condition() is true; False after `seconds`."""
        end = self.t + seconds
        while not condition():
            if self.t >= end:
                return False
            self.run(step)
        return True
