"""The command line.

Bad input ends with exit status 2 and one line on standard error. A result goes to standard output, in words
or, with --json, as one JSON object and nothing else.
"""

import argparse
import io
import json
import os
import signal
import sys
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from typing import Any

from .. import __version__, checks
from . import batch_command, colour_commands, look_commands, photo_command
from .output import Result

# Exit status after Ctrl-C (SIGINT), a closed pipe (SIGPIPE) and SIGTERM, as shells count them.
STOPPED, UNREAD, ENDED = 130, 141, 143


ABOUT = "Predict the look of pressed and folded HDPE flakes before anything is cut."
EPILOG = """\
Begin with an invented example, then copy its file and change it:
  blendlab blend swatches/harbour.toml

blendlab COMMAND --help explains a command. Lengths are in mm, masses in g,
temperatures in °C; colours are #rrggbb and CIELAB (D65, 2°).

The exit status is 0 on success, 2 on bad input (one line on standard error: the
rule, the value, the remedy), 130 after Ctrl-C and 141 after a closed pipe. No file
is ever left half written.
"""


class _Parser(argparse.ArgumentParser):
    """An argument parser that reports an error in one line, like every other refusal."""

    def __init__(self, **settings: Any) -> None:
        super().__init__(formatter_class=argparse.RawDescriptionHelpFormatter, **settings)

    def error(self, message: str) -> Any:
        self.exit(2, f"blendlab: {' '.join(message.split())}; see {self.prog} --help\n")

    def print_help(self, file: Any = None) -> None:
        _deliver(self.format_help().rstrip())


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(prog="blendlab", description=ABOUT, epilog=EPILOG)
    parser.add_argument("--version", action="version", version=f"blendlab {__version__}")
    commands = parser.add_subparsers(
        dest="command", title="commands", metavar="COMMAND", parser_class=_Parser
    )

    def command(
        name: str, run: Callable[[argparse.Namespace], Result], about: str, more: str
    ) -> argparse.ArgumentParser:
        made = commands.add_parser(name, help=about, description=about, epilog=more)
        made.add_argument("--json", action="store_true", help="print one JSON object and nothing else")
        made.set_defaults(run=run, of=made)
        return made

    for group in (colour_commands, look_commands, photo_command, batch_command):
        group.add(command)
    return parser


def _arguments(argv: Sequence[str] | None) -> argparse.Namespace:
    """Parse the arguments; an unknown one is reported by its own command."""
    parser = _parser()
    args, unknown = parser.parse_known_args(argv)
    if args.command is None:
        parser.error("a command must be given, such as blend")
    if unknown:
        args.of.error(f"unrecognized arguments: {' '.join(unknown)}")
    return args


def _deliver(text: str) -> int:
    """Print a result; return the exit status."""
    if isinstance(sys.stdout, io.TextIOWrapper):
        sys.stdout.reconfigure(errors="backslashreplace")  # for characters that the console lacks
    try:
        print(text, flush=True)
    except OSError as error:
        # Otherwise the interpreter would try, and fail, to flush the rest as it exits.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        if isinstance(error, BrokenPipeError):
            return UNREAD
        checks.refuse("the result must have somewhere to go", error, "send it to another place")
    return 0


@contextmanager
def _sigterm_raises() -> Iterator[None]:
    """Turn SIGTERM into an exception, so that no half-written file stays."""

    def leave(*_: object) -> None:
        raise SystemExit(ENDED)

    before = signal.signal(signal.SIGTERM, leave)
    try:
        yield
    finally:
        signal.signal(signal.SIGTERM, before)


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command.

    Parameters
    ----------
    argv : sequence of str, optional
        Arguments; by default those of the process.

    Returns
    -------
    int
        0, 2 for bad input, `STOPPED` or `UNREAD`; SIGTERM exits with `ENDED`.
    """
    os.environ.setdefault("OMP_WAIT_POLICY", "passive")  # threads between loops sleep and do not spin
    args = _arguments(argv)
    try:
        with _sigterm_raises():
            result, words = args.run(args)
            return _deliver(json.dumps(result) if args.json else words)
    except checks.InputError as error:
        print(f"blendlab: {error}", file=sys.stderr)
        return 2
    except KeyboardInterrupt:
        return STOPPED
