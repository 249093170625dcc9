"""What a command prints: its result, and lines on standard error."""

import errno
import io
import os
import sys
from contextlib import suppress
from typing import Any

from .. import checks
from ..runtime.progress import ProgressCallback, no_progress
from ..units import percent

UNREAD = 141  # exit status after a closed pipe (SIGPIPE), as shells count it

Result = tuple[dict[str, Any], str]  # for --json, and in words


def check_output() -> None:
    """Refuse a closed standard output before the work begins, as the result would be lost."""
    if sys.stdout is None:
        closed = checks.Raw("a closed standard output")
        checks.refuse("the result must have somewhere to go", closed, "open it, or send it to a file")


def print_result(text: str) -> int:
    """Print a result and return the exit status."""
    if isinstance(sys.stdout, io.TextIOWrapper):
        sys.stdout.reconfigure(errors="backslashreplace")  # for characters that the console lacks
    try:
        print(text, flush=True)
    except OSError as error:
        # Otherwise the interpreter would try, and fail, to flush the rest as it exits.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        if error.errno in (errno.EPIPE, errno.EINVAL):  # Windows gives EINVAL for a closed pipe
            return UNREAD
        checks.refuse("the result must have somewhere to go", error, "send it to another place")
    return 0


def notify(line: str) -> None:
    """Print a line to standard error, where that is open."""
    if sys.stderr is not None:  # `print` would take standard output in its place
        with suppress(OSError):
            print(f"blendlab: {line}", file=sys.stderr, flush=True)


def progress_lines(silent: bool) -> ProgressCallback:
    """Return a callback that says on standard error when each quarter of long work is done, or nothing."""
    if silent:
        return no_progress
    quarters = iter((0.25, 0.5, 0.75))
    coming = next(quarters)

    def on_progress(part: float) -> None:
        nonlocal coming
        if part >= coming:
            notify(f"{percent(part)} done …")
            coming = next((quarter for quarter in quarters if quarter > part), 2.0)

    return on_progress


def announce_compiling() -> None:
    """Say so if the first picture has to wait for the compiler."""
    from ..look.light_paths import is_warm

    if not is_warm():
        notify("compiling the folding code, once for this version (20 seconds to 2 minutes, by machine) …")


def colour_line(label: str, colour: dict[str, Any]) -> str:
    """Format a colour as a line: hex and CIELAB."""
    lightness, a, b = colour["lab"]
    return f"{label:12} {colour['srgb']}   L* {lightness:6.2f}   a* {a:7.2f}   b* {b:7.2f}"
