"""The command that opens the app: `app`."""

import argparse
import os
import subprocess
import sys
from pathlib import Path
from typing import NoReturn

from .. import checks
from ..io.shipped_files import APP
from .arguments import AddCommand, whole


def app(args: argparse.Namespace) -> NoReturn:
    """Serve the app until it is stopped: to this computer, or with --lan to its network."""
    if args.port is not None:
        checks.whole("--port", args.port, 1024, 65535, "leave it out, or choose a free one")
    with subprocess.Popen(_command(args), env=_environment()) as server:
        try:
            raise SystemExit(server.wait())
        finally:
            server.terminate()  # it finishes what it is sending or saving


def _command(args: argparse.Namespace) -> list[str]:
    if args.lan is not None:
        port = [] if args.port is None else [str(args.port)]
        return [sys.executable, "-m", "blendlab.screens.lan_server", args.lan, *port]
    command = [sys.executable, "-m", "streamlit", "run", str(APP), "--server.fileWatcherType=none"]
    if args.port is not None:
        command.append(f"--server.port={args.port}")
    if args.no_browser:
        command.append("--server.headless=true")
    return command


def _environment() -> dict[str, str]:
    """Return the environment of the server, with the current folder in place of a missing home."""
    try:
        Path.home()
    except RuntimeError:  # a user without HOME and without an entry in the system's list
        return os.environ | {"HOME": str(Path.cwd())}
    return dict(os.environ)


_APP = """\
Serves the app to this computer only, and opens it in the browser, with the invented
examples to begin with. Prints its address. Ctrl-C ends it.

With --lan it also serves phones and tablets on the home network: it prints an address, a
square to scan that leads there, and a code that each browser enters once. Nothing is
encrypted, so use it only on a network whose users you trust.

examples:
  blendlab app
  blendlab app --lan
"""


def add(command: AddCommand) -> None:
    """Add the command to the parser."""
    option = command("app", app, "Open the app in the browser.", _APP, json=False).add_argument
    option("--port", type=whole, metavar="N", help="port, by default 8501 or the next free one")
    option(
        "--lan",
        nargs="?",
        const="",
        metavar="ADDRESS",
        help="serve the home network too, behind a code, by default at this computer's address there",
    )
    option("--no-browser", action="store_true", help="serve without opening a browser")
