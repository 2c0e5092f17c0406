"""Entry point of `tizzone <command>` and `python -m tools <command>`."""

import argparse
import ast
import importlib
import os
import platform
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import NoReturn

from host.errors import HostError
from tools import ToolError, version

HERE = Path(__file__).parent
# What a user can type, by the steps of the job. A command whose file is absent is not offered.
STEPS = (
    ("before anything is bought", ("plan", "rehearse", "drill")),
    ("wire and load the board", ("boards", "pins", "deploy", "player", "practise")),
    ("prove and learn the oven", ("calibrate", "commission", "learn", "identify")),
    ("the evening, and afterwards", ("bake", "watch", "spot", "note", "report", "evening", "fetch")),
    ("at any time", ("next", "explain", "settings", "say")),
)
DESCRIPTION = (
    "A second controller for a domestic electric oven: the tool for the whole job.\n"
    "Mains electricity, fire and burns: local codes and a licensed electrician come first."
)


def available() -> list[str]:
    """Names of the commands that this installation has, in the order of the job."""
    return [name for _, names in STEPS for name in names if (HERE / f"{name}.py").is_file()]


def help_of(name: str) -> str:
    """HELP of a command, read without importing what the command needs."""
    for node in ast.parse((HERE / f"{name}.py").read_text(encoding="utf-8")).body:
        if isinstance(node, ast.Assign) and getattr(node.targets[0], "id", "") == "HELP":
            return str(ast.literal_eval(node.value))
    return ""


def overview() -> str:
    """The commands by step of the job, one line each."""
    have = available()
    lines = ["commands, by the steps of the job:"]
    for step, names in STEPS:
        lines += ["", f"  {step}"]
        lines += [f"    {name:<11} {help_of(name)}" for name in names if name in have]
    lines += ["", "tizzone <command> --help shows the options and an example.",
              "Exit code: 0 done, 1 the answer is no, 2 wrong use."]  # fmt: skip
    return "\n".join(lines)


class OneLine(argparse.ArgumentParser):
    """Wrong use is told in one line, with where to look."""

    def error(self, message: str) -> NoReturn:
        """Exit with 2."""
        words = " ".join(message.split())
        self.exit(2, f"{self.prog}: {words}; {self.prog} --help shows the options\n")


def build_parser(chosen: str | None) -> argparse.ArgumentParser:
    """Argument parser; only the chosen command's module is imported."""
    parser = OneLine(
        prog="tizzone",
        usage="tizzone [-h] [--version] command ...",
        description=DESCRIPTION,
        epilog=overview() if chosen is None else None,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    running = f"tizzone {version()} (Python {platform.python_version()})"
    parser.add_argument("--version", action="version", version=running)
    commands = parser.add_subparsers(
        prog="tizzone", dest="command", metavar="command", required=True, help=argparse.SUPPRESS
    )
    for name in available():
        module = importlib.import_module(f"tools.{name}") if name == chosen else None
        sub = commands.add_parser(
            name,
            description=module.HELP if module else None,
            epilog=getattr(module, "EXAMPLE", None),
            formatter_class=argparse.RawDescriptionHelpFormatter,
        )
        if module:
            module.add_arguments(sub)
            sub.set_defaults(run=module.run)
    return parser


def tell_next(options: argparse.Namespace, code: int) -> None:
    """The command's last line: what comes after it in the guide: `following`, where the command has set it in its
    options, else NEXT of its module, by `act` where it has several; NEXT_IF_NOT where the answer was no."""
    following = getattr(sys.modules[f"tools.{options.command}"], "NEXT", "")
    if isinstance(following, dict):
        following = following[options.act]
    following = getattr(options, "following", following)
    if code:
        following = getattr(sys.modules[f"tools.{options.command}"], "NEXT_IF_NOT", "")
    if following:
        print(f"next: {following}")


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; returns its exit code (0 done, 1 the answer is no, 2 wrong use)."""
    try:
        return carried_out(sys.argv[1:] if argv is None else argv)
    except BrokenPipeError:  # `tizzone ... | head`: the reader has had enough
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except KeyboardInterrupt:  # while a command's modules are loaded too
        print("stopped", file=sys.stderr)
        return 1


def carried_out(argv: Sequence[str]) -> int:
    """The command that is named, its last line, its exit code."""
    chosen = argv[0] if argv and argv[0] in available() else None
    options = build_parser(chosen).parse_args(argv)
    try:
        code = int(options.run(options))
        if not getattr(options, "json", False):
            tell_next(options, code)
        return code
    except (ToolError, HostError) as error:
        print(f"tizzone {options.command}: {error}", file=sys.stderr)
        return 2


if __name__ == "__main__":
    sys.exit(main())
