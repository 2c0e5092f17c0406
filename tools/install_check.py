"""Does an installation work anywhere? Builds the wheel, installs it into a fresh environment, works in another folder.

python -m tools.install_check              with the libraries from the network, as a person would
python -m tools.install_check --offline    with the libraries of this environment
"""

import argparse
import importlib.util
import os
import subprocess
import sys
import sysconfig
import tempfile
import venv
from collections.abc import Callable
from pathlib import Path

ROOT = Path(__file__).parents[1]
# What is typed in the other folder, and the exit codes that it may end with.
COMMANDS = (
    (("--version",), (0,)),
    (("--help",), (0,)),
    (("rehearse", "--breads", "1", "--soak", "5", "--out", "club", "--json"), (0,)),
    (("report", "club"), (0,)),
    (("plan", "--new", "hall.toml"), (0,)),
    (("plan", "hall.toml", "--quick"), (0, 1)),
    (("boards", "--copy", "pico", "mine.py"), (0,)),
    (("boards", "--copy", "pico", "mine.py"), (2,)),
    (("pins", "mine.py"), (0,)),
    (("pins", "pico"), (0,)),
    (("player", "map", "--board", "mine.py", "--draw", "harness.svg"), (0,)),
    (("player", "check"), (2,)),
    (("player", "load", "--player", "no-such-port"), (2,)),
    (("pins", "boards/pico.py", "--draw", "wiring.svg"), (0,)),
    (("drill", "--clean", "1", "--jobs", "2"), (0,)),
    (("deploy", "--board", "mine.py", "--dry-run"), (0,)),
    (("rehearse", "--plan", "no-such-plan"), (2,)),
)
MADE = {"club", "hall.toml", "mine.py", "wiring.svg", "harness.svg"}


class CheckFailed(Exception):
    """One line: what does not work."""


def run(command: list[str], folder: Path, codes: tuple[int, ...] = (0,)) -> str:
    """Output of a process without anything of this repository in its surroundings; CheckFailed for another end."""
    surroundings = {name: value for name, value in os.environ.items() if name != "PYTHONPATH"}
    done = subprocess.run(command, cwd=folder, env=surroundings, capture_output=True, text=True, encoding="utf-8")
    if done.returncode not in codes or "Traceback" in done.stderr:
        raise CheckFailed(f"{' '.join(command)}: ended with {done.returncode}\n{done.stdout[-2000:]}{done.stderr}")
    return done.stdout


def build(folder: Path, is_offline: bool) -> Path:
    """The wheel, built from this repository."""
    pip = [sys.executable, "-m", "pip", "--disable-pip-version-check"]
    isolation = ["--no-build-isolation"] if is_offline else []
    if is_offline and importlib.util.find_spec("hatchling") is None:
        raise CheckFailed("--offline needs hatchling here: install the extra 'test'")
    run([*pip, "wheel", "--quiet", "--no-deps", *isolation, "--wheel-dir", str(folder), str(ROOT)], folder)
    (wheel,) = folder.glob("tizzone-*.whl")
    return wheel


def install(wheel: Path, folder: Path, is_offline: bool) -> Path:
    """A fresh environment with the wheel in it; the folder of its commands."""
    venv.create(folder, with_pip=False)
    scripts = folder / ("Scripts" if os.name == "nt" else "bin")
    pip = [sys.executable, "-m", "pip", "--disable-pip-version-check", "--python", str(scripts / "python")]
    alone = ["--no-deps", "--no-index"] if is_offline else []
    run([*pip, "install", "--quiet", *alone, str(wheel)], folder)
    packages = next(folder.rglob("site-packages"))
    own = {path.name for path in packages.iterdir() if path.name in ("host", "tools", "device", "boards")}
    if own or not (packages / "tizzone_kit").is_dir():
        raise CheckFailed(f"site-packages must hold tizzone_kit alone, not {sorted(own)}")
    if is_offline:
        (packages / "libraries.pth").write_text(sysconfig.get_path("purelib") + "\n", encoding="utf-8")
    return scripts


def check(is_offline: bool, say: Callable[[str], object] = print) -> None:
    """Build, install, work in another folder; CheckFailed says what does not work."""
    with tempfile.TemporaryDirectory(prefix="install-") as name:
        top = Path(name)
        elsewhere = top / "elsewhere"
        for folder in (top / "wheel", elsewhere):
            folder.mkdir()
        wheel = build(top / "wheel", is_offline)
        say(f"{wheel.name}: {wheel.stat().st_size // 1024} kB")
        scripts = install(wheel, top / "environment", is_offline)
        for arguments, codes in COMMANDS:
            run([str(scripts / "tizzone"), *arguments], elsewhere, codes)
            say(f"tizzone {' '.join(arguments)}: as it should")
        found = {path.name for path in elsewhere.iterdir()}
        if found != MADE:
            raise CheckFailed(f"the folder holds {sorted(found)}, not {sorted(MADE)}")


def main(argv: list[str] | None = None) -> int:
    """The command; 0 all works, 1 with what does not."""
    parser = argparse.ArgumentParser(prog="python -m tools.install_check", description=__doc__.splitlines()[0])
    parser.add_argument("--offline", action="store_true", help="take the libraries of this environment")
    options = parser.parse_args(argv)
    try:
        check(options.offline)
    except CheckFailed as error:
        print(f"install: {error}", file=sys.stderr)
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main())
