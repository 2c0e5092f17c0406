"""Start Tizzone on a fresh machine: makes `.venv` beside this folder, installs, runs.

    python3 tools/start.py rehearse        the evening on the simulated oven
    python3 tools/start.py test            lint and the whole test suite
    python3 tools/start.py <command> ...   any other command of `tizzone`

Needs Python 3.11 or newer and, the first time, a network for pip. Standard library only.
"""

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
VENV = ROOT / ".venv"
# Independent decoders for the tests. Their own dependencies are board support packages which
# a laptop lacks; the tests supply stand-ins, so they are installed without them.
WITHOUT_DEPENDENCIES = ROOT / "tests" / "requirements-decoders.txt"


def venv_python():
    """Path of the virtual environment's interpreter on this system."""
    return VENV / ("Scripts/python.exe" if os.name == "nt" else "bin/python")


def stamp_text():
    """What an up-to-date environment was installed from; a change asks for a new install."""
    files = [ROOT / "pyproject.toml", WITHOUT_DEPENDENCIES]
    return "\n".join(f.read_text(encoding="utf-8") for f in files if f.is_file())


def make_environment():
    """Create and fill the virtual environment unless it is up to date."""
    stamp = VENV / "installed-from.txt"
    if stamp.is_file() and stamp.read_text(encoding="utf-8") == stamp_text():
        return
    try:
        import ensurepip  # noqa: F401  Debian ships Python without it
        import venv
    except ImportError:
        sys.exit("this Python has no venv module: install it (Debian, Ubuntu: apt install python3-venv)")
    print("first run: making .venv and installing (a few minutes) ...", file=sys.stderr, flush=True)
    if not venv_python().is_file():
        venv.create(VENV, with_pip=True)
    pip = [str(venv_python()), "-m", "pip", "--disable-pip-version-check", "install", "--quiet"]
    run(pip + ["--editable", f"{ROOT}[view,fit,test]"])
    if WITHOUT_DEPENDENCIES.is_file():
        run(pip + ["--no-deps", "--requirement", str(WITHOUT_DEPENDENCIES)])
    stamp.write_text(stamp_text(), encoding="utf-8")


def run(command):
    """Run an installation step; stop with one line if it fails."""
    if subprocess.run(command, cwd=ROOT).returncode:
        sys.exit("installation failed (see above): check the network, then run the same line again")


def run_tests(arguments):
    """Lint, then the test suite on all cores; returns the exit code."""
    python = str(venv_python())
    lint = subprocess.run([python, "-m", "ruff", "check", "."], cwd=ROOT).returncode
    tests = subprocess.run([python, "-m", "pytest", "-n", "auto", *arguments], cwd=ROOT).returncode
    return tests or lint


def main(argv):
    """Prepare the environment and hand over to the command."""
    if sys.version_info < (3, 11):
        sys.exit("Tizzone needs Python 3.11 or newer; this is " + sys.version.split()[0])
    if not argv or argv[0] in ("-h", "--help"):
        sys.exit(__doc__)
    make_environment()
    if argv[0] == "test":
        return run_tests(argv[1:])
    environment = dict(os.environ, PYTHONPATH=str(ROOT))
    return subprocess.run([str(venv_python()), "-m", "tools", *argv], env=environment).returncode


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
