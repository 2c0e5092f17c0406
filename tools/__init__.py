"""The commands of Tizzone, one file each; `tools/__main__.py` is the entry point."""


class ToolError(Exception):
    """Wrong use or unusable input: one line that says what to do; the command exits with 2."""
