"""The one package of an installation: it holds host/, tools/, device/ and boards/ as they lie in the repository.

They are found under their own names only while Tizzone runs: nothing of them stands at the top of site-packages. In
a checkout (an editable install) the repository itself is used.

    tizzone rehearse                            the same as python -m tizzone_kit rehearse
"""

import os
import sys
from pathlib import Path


def home() -> Path:
    """The folder that holds host/, tools/, device/ and boards/: this package, or the repository around a checkout."""
    package = Path(__file__).resolve().parent
    return package if (package / "host").is_dir() else package.parents[2]


def prepare() -> None:
    """Put `home()` first on the path, here and for the processes that a command starts."""
    folder = str(home())
    if folder not in sys.path[:1]:
        sys.path.insert(0, folder)
    others = os.environ.get("PYTHONPATH")
    if folder not in (others or "").split(os.pathsep):
        os.environ["PYTHONPATH"] = folder + (os.pathsep + others if others else "")


def main() -> int:
    """Run the command line; returns its exit code."""
    prepare()
    from tools.__main__ import main as run_command

    return run_command()
