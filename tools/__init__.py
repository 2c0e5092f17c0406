"""The commands of Tizzone, one file each; `tools/__main__.py` is the entry point."""

import ast
from pathlib import Path

DEVICE_VERSION = Path(__file__).parents[1] / "device" / "tizzone" / "__init__.py"


class ToolError(Exception):
    """Wrong use or unusable input: one line that says what to do; the command exits with 2."""


def version() -> str:
    """VERSION of the device code that lies beside the commands: the one place where it is written."""
    for node in ast.parse(DEVICE_VERSION.read_text(encoding="utf-8")).body:
        if isinstance(node, ast.Assign) and getattr(node.targets[0], "id", "") == "VERSION":
            return str(ast.literal_eval(node.value))
    raise ToolError(f"{DEVICE_VERSION}: no VERSION; install Tizzone again")
