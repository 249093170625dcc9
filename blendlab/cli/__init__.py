"""The command line.

Bad input ends with exit status 2 and one line on standard error. Results go to standard output, in words
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
from . import colour, look, photo, workshop
from .words import Result

# Exit status after Ctrl-C, after a closed pipe and after a request to end, as shells count.
STOPPED, UNREAD, ENDED = 130, 141, 143


class _Parser(argparse.ArgumentParser):
    """An argument parser whose complaints are one line, like every other refusal."""

    def error(self, message: str) -> Any:
        self.exit(2, f"blendlab: {' '.join(message.split())}; see {self.prog} --help\n")


def _parser() -> argparse.ArgumentParser:
    about = "Predict the look of pressed and folded HDPE flakes before anything is cut."
    parser = _Parser(prog="blendlab", description=about)
    parser.add_argument("--version", action="version", version=f"blendlab {__version__}")
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND", parser_class=_Parser)

    def command(
        name: str, run: Callable[[argparse.Namespace], Result], about: str
    ) -> argparse.ArgumentParser:
        made = commands.add_parser(name, help=about, description=about)
        made.add_argument("--json", action="store_true", help="print one JSON object and nothing else")
        made.set_defaults(run=run)
        return made

    for room in (colour, look, photo, workshop):
        room.add(command)
    return parser


def _deliver(text: str) -> int:
    """Print a result; return the exit status."""
    if isinstance(sys.stdout, io.TextIOWrapper):
        sys.stdout.reconfigure(errors="backslashreplace")  # for names the console has no letters for
    try:
        print(text, flush=True)
    except OSError as error:
        # The way out would else try, and fail, to send what is left.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        if isinstance(error, BrokenPipeError):
            return UNREAD
        checks.refuse("the result must have somewhere to go", error, "send it to another place")
    return 0


@contextmanager
def _ending_tidily() -> Iterator[None]:
    """Let a request to end (SIGTERM) leave as an exception does, so that no half-written file stays."""

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
        Arguments, by default those of the process.

    Returns
    -------
    int
        0, 2 for bad input, `STOPPED` or `UNREAD`; a request to end leaves with `ENDED`.
    """
    args = _parser().parse_args(argv)
    try:
        with _ending_tidily():
            result, words = args.run(args)
            return _deliver(json.dumps(result) if args.json else words)
    except checks.InputError as error:
        print(f"blendlab: {error}", file=sys.stderr)
        return 2
    except KeyboardInterrupt:
        return STOPPED
