"""Entry point of `tizzone <command>` and `python -m tools <command>`."""

import argparse
import importlib
import os
import sys
from pathlib import Path

from tools import ToolError

# What a user can type, in the order of the job. A command whose file is absent is not offered.
COMMANDS = (
    "plan", "pins", "rehearse", "drill", "deploy", "watch", "commission", "calibrate", "identify", "report",
)  # fmt: skip


def available():
    """Names of the commands that this installation has, in the order of the job."""
    here = Path(__file__).parent
    return [name for name in COMMANDS if (here / f"{name}.py").is_file()]


def build_parser(chosen):
    """Argument parser; only the chosen command's module is imported in full."""
    parser = argparse.ArgumentParser(
        prog="tizzone",
        description="A second controller for a domestic electric oven: the tool for the whole job. "
        "Mains electricity, fire and burns: local codes and a licensed electrician come first.",
    )
    commands = parser.add_subparsers(dest="command", metavar="command", required=True)
    for name in available():
        module = importlib.import_module(f"tools.{name}") if name == chosen or not chosen else None
        help_text = module.HELP if module else None
        sub = commands.add_parser(
            name,
            help=help_text,
            description=help_text,
            epilog=getattr(module, "EXAMPLE", None),
            formatter_class=argparse.RawDescriptionHelpFormatter,
        )
        if module:
            module.add_arguments(sub)
            sub.set_defaults(run=module.run)
    return parser


def main(argv=None):
    """Run one command; returns its exit code (0 done, 1 the answer is no, 2 wrong use)."""
    argv = sys.argv[1:] if argv is None else argv
    chosen = argv[0] if argv and argv[0] in available() else None
    options = build_parser(chosen).parse_args(argv)
    try:
        return options.run(options)
    except ToolError as error:
        print(f"tizzone {options.command}: {error}", file=sys.stderr)
        return 2
    except BrokenPipeError:  # `tizzone ... | head`: the reader has had enough
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return 0
    except KeyboardInterrupt:
        print("stopped", file=sys.stderr)
        return 1


if __name__ == "__main__":
    sys.exit(main())
