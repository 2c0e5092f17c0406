"""Start Tizzone on a fresh machine: makes `.venv` beside this folder, installs what the command needs, runs it.

    python3 tools/start.py rehearse        the evening on the simulated oven
    python3 tools/start.py test            lint, types and the whole test suite
    python3 tools/start.py <command> ...   any other command of `tizzone`

Needs Python 3.11 or newer and, the first time, a network for pip. Standard library only.
"""

import json
import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
VENV = ROOT / ".venv"
# Independent decoders for the tests. Their own dependencies are board support packages which
# a laptop lacks; the tests supply stand-ins, so they are installed without them.
WITHOUT_DEPENDENCIES = ROOT / "tests" / "requirements-decoders.txt"
# command -> extra of pyproject.toml that it needs beside the dependencies of all
EXTRAS = {"test": "test", "identify": "fit", "practise": "micropython", "deploy": "micropython"}
# words of any command that ask for an extra
WORDS = {"micropython": "micropython", "--runtime=micropython": "micropython", "--compile": "micropython"}
CHECKS = (("ruff", "check", "."), ("ruff", "format", "--check", "."), ("mypy",), ("vulture",))


def venv_python() -> Path:
    """Path of the virtual environment's interpreter on this system."""
    return VENV / ("Scripts/python.exe" if os.name == "nt" else "bin/python")


def extras_for(argv: list[str]) -> set[str]:
    """The extras that this command line needs."""
    found = [EXTRAS.get(argv[0], ""), *(WORDS.get(word, "") for word in argv[1:])]
    return set(found) - {""}


def source_text() -> str:
    """What an up-to-date environment was installed from; a change asks for a new install."""
    files = [ROOT / "pyproject.toml", WITHOUT_DEPENDENCIES]
    return "\n".join(f.read_text(encoding="utf-8") for f in files if f.is_file())


def installed_extras(stamp: Path) -> set[str] | None:
    """The extras that the environment has, None if it is missing or was made from other files."""
    try:
        kept = json.loads(stamp.read_text(encoding="utf-8"))
    except (OSError, ValueError):
        return None
    is_current = isinstance(kept, dict) and kept.get("from") == source_text()
    return set(kept["extras"]) if is_current else None


def make_environment(wanted: set[str]) -> None:
    """Create and fill the virtual environment unless it holds these extras already."""
    stamp = VENV / "installed-from.json"
    have = installed_extras(stamp)
    if have is not None and wanted <= have:
        return
    try:
        import ensurepip  # noqa: F401  Debian ships Python without it
        import venv
    except ImportError:
        sys.exit("this Python has no venv module: install it (Debian, Ubuntu: apt install python3-venv)")
    what = "a few minutes" if "test" in wanted else "about half a minute"
    print(f"making .venv and installing what this command needs ({what}) ...", file=sys.stderr, flush=True)
    if not venv_python().is_file():
        venv.create(VENV, with_pip=True)
    extras = wanted | (have or set())
    target = f"{ROOT}[{','.join(sorted(extras))}]" if extras else str(ROOT)
    # not compiled: most modules of the libraries are never imported, the others are compiled as they are
    pip = [str(venv_python()), "-m", "pip", "--disable-pip-version-check", "install", "--quiet", "--no-compile"]
    run(pip + ["--editable", target])
    if "test" in extras:
        run(pip + ["--no-deps", "--requirement", str(WITHOUT_DEPENDENCIES)])
    stamp.write_text(json.dumps({"from": source_text(), "extras": sorted(extras)}), encoding="utf-8")


def run(command: list[str]) -> None:
    """Run an installation step; stop with one line if it fails."""
    if subprocess.run(command, cwd=ROOT).returncode:
        sys.exit("installation failed (see above): check the network, then run the same line again")


def run_tests(arguments: list[str]) -> int:
    """Lint, form, types, then the test suite on all cores; returns the exit code."""
    python = str(venv_python())
    failed = [check for check in CHECKS if subprocess.run([python, "-m", *check], cwd=ROOT).returncode]
    tests = subprocess.run([python, "-m", "pytest", "-n", "auto", *arguments], cwd=ROOT).returncode
    for check in failed:
        print(f"failed before the tests: {' '.join(check)}", file=sys.stderr)
    return tests or int(bool(failed))


def main(argv: list[str]) -> int:
    """Prepare the environment and hand over to the command."""
    if sys.version_info < (3, 11):
        sys.exit("Tizzone needs Python 3.11 or newer; this is " + sys.version.split()[0])
    if not argv or argv[0] in ("-h", "--help"):
        sys.exit(__doc__)
    make_environment(extras_for(argv))
    if argv[0] == "test":
        return run_tests(argv[1:])
    environment = dict(os.environ, PYTHONPATH=str(ROOT))
    return subprocess.run([str(venv_python()), "-m", "tools", *argv], env=environment).returncode


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
