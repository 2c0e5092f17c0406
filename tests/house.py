"""What the tests of the house share: the repository's files, parsed once, and one list of breaches a rule."""

import ast
import functools
from pathlib import Path

ROOT = Path(__file__).parent.parent
DEVICE = sorted((ROOT / "device").rglob("*.py"))
HOST = sorted((ROOT / "host").rglob("*.py"))
TOOLS = sorted((ROOT / "tools").rglob("*.py"))


@functools.cache
def tree(path):
    """Parsed source of a file."""
    return ast.parse(path.read_text(encoding="utf-8"), str(path))


def short(path):
    """A file's name as in the repository."""
    return path.relative_to(ROOT).as_posix()


def told(breaches):
    """What an assertion says: one breach a line."""
    return "\n" + "\n".join(str(breach) for breach in breaches)
