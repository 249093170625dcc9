"""The command line.

Bad input ends with exit status 2 and one line on standard error. A result goes to standard output, in words
or, with --json, as one JSON object and nothing else.
"""

import argparse
import json
import os
import signal
import sys
import threading
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import Any

from .. import __version__, checks
from ..io.shipped_files import SWATCHES
from . import app_command, batch_command, colour_commands, like_command, look_commands, photo_command
from .arguments import HelpWanted, Parser, Run, joined
from .output import UNREAD, check_output, notify, print_result

# Exit status after Ctrl-C (SIGINT) and after SIGTERM, as shells count them.
STOPPED, ENDED = 128 + signal.SIGINT, 128 + signal.SIGTERM

ABOUT = "Predict the look of pressed and folded HDPE flakes before anything is cut."
EPILOG = f"""\
Start with one of the invented examples, then copy its file and change it:
  blendlab blend swatches/harbour.toml
swatches/ is {SWATCHES}

blendlab COMMAND --help explains a command. Lengths are in mm, masses in g,
temperatures in °C; colours are #rrggbb and CIELAB (D65, 2°).

The exit status is 0 on success, 2 on bad input (one line on standard error: the
rule, the value, the remedy), {STOPPED} after Ctrl-C and {UNREAD} after a closed pipe. No file
is ever left half written.
"""


def _parser() -> Parser:
    parser = Parser(prog="blendlab", description=ABOUT, epilog=EPILOG)
    parser.add_argument("--version", action="store_true", help="print the version and nothing else")
    commands = parser.add_subparsers(dest="command", title="commands", metavar="COMMAND", parser_class=Parser)

    def command(name: str, run: Run, about: str, more: str, json: bool = True) -> argparse.ArgumentParser:
        made = commands.add_parser(name, help=about, description=about, epilog=more)
        if json:
            made.add_argument("--json", action="store_true", help="print one JSON object and nothing else")
        made.set_defaults(run=run, of=made)
        return made

    for group in (colour_commands, look_commands, photo_command, like_command, batch_command, app_command):
        group.add(command)
    return parser


def _arguments(words: Sequence[str]) -> argparse.Namespace:
    """Parse the arguments; an unknown one is reported by its own command."""
    parser = _parser()
    args, unknown = parser.parse_known_args(joined(words))
    if args.version:
        raise HelpWanted(f"blendlab {__version__}")
    if args.command is None:
        parser.error("a command must be given, such as blend")
    if unknown:
        args.of.error(f"unrecognized arguments: {' '.join(unknown)}")
    return args


def _answer(words: Sequence[str]) -> str:
    """Run a command and return what it prints."""
    try:
        args = _arguments(words)
    except HelpWanted as wanted:
        return str(wanted)
    result, in_words = args.run(args)
    return json.dumps(result) if args.json else in_words


@contextmanager
def _signals_raise() -> Iterator[None]:
    """Turn Ctrl-C and SIGTERM into exceptions, so that no half-written file is left."""

    def end(*_: object) -> None:
        raise SystemExit(ENDED)

    if threading.current_thread() is not threading.main_thread():  # others may not set handlers
        yield
        return
    handlers: dict[signal.Signals, Any] = {signal.SIGTERM: end, signal.SIGINT: signal.default_int_handler}
    before = {number: signal.getsignal(number) for number in handlers}
    try:
        for number, handler in handlers.items():
            if before[number] is not signal.SIG_IGN:
                signal.signal(number, handler)
        yield
    finally:
        for number, handler in before.items():
            signal.signal(number, handler)


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
    try:
        with _signals_raise():
            check_output()
            return print_result(_answer(sys.argv[1:] if argv is None else argv))
    except checks.InputError as error:
        notify(str(error))
        return 2
    except MemoryError as error:
        notify(f"the work must fit in this computer's memory, got {checks.shown(error)}; make it smaller")
        return 2
    except KeyboardInterrupt:
        return STOPPED
