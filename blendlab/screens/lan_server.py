"""Serve the app to a home network, behind the gate of `pairing_gate`: the program that `app --lan` runs.

Streamlit's own server is used, with the gate as the outermost layer: pages, media, downloads, uploads and web
sockets all pass through it.
"""

import argparse
import ipaddress
import socket
import sys
from contextlib import suppress
from io import StringIO

import segno
from starlette.middleware import Middleware
from streamlit.starlette import App

from .. import checks
from ..io.shipped_files import APP
from .pairing import Pairing
from .pairing_gate import Gate

_FIRST_PORT, _PORTS = 8501, 100
_NOWHERE = (
    "192.0.2.1",
    9,
)  # reserved for documentation (RFC 5737): only the way there is asked for, nothing is sent


def own_address() -> str:
    """Return this computer's address on its network."""
    with socket.socket(socket.AF_INET, socket.SOCK_DGRAM) as way:
        try:
            way.connect(_NOWHERE)
        except OSError:
            checks.refuse("--lan needs a network", checks.Raw("none"), "join the home network first")
        return str(way.getsockname()[0])


def checked(address: str) -> str:
    """Return an address of a private network (RFC 1918), in the usual digits.

    Raises
    ------
    InputError
        Where it is none: on a public address the whole internet could knock.
    """
    try:
        found = ipaddress.IPv4Address(address)
    except ValueError:
        found = None
    if found is None or not found.is_private or found.is_unspecified:
        checks.refuse(
            "--lan must be this computer's own address on a home network",
            address,
            "leave it out, or give one such as 192.168.1.20",
        )
    return str(found)


def free_port(address: str, wanted: int | None) -> int:
    """Return the wanted port, or the first free one from 8501 on."""
    for port in [wanted] if wanted else range(_FIRST_PORT, _FIRST_PORT + _PORTS):
        with socket.socket() as tried, suppress(OSError):
            if sys.platform != "win32":  # where this would let two programs share a port
                tried.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            tried.bind((address, port))
            return port
    got = f"{address}:{wanted or _FIRST_PORT} in use or not this computer's"
    return checks.refuse("--lan needs a free port at an own address", checks.Raw(got), "choose another")


def _welcome(address: str, code: str) -> str:
    drawn = StringIO()
    segno.make(address, error="m", micro=False).terminal(out=drawn, compact=True)
    return (
        f"{drawn.getvalue()}\nOn a phone in the same network, open {address} or scan the square.\n"
        f"Each browser is asked once for this code: {code}\n"
        "What is sent is not encrypted: use it only in a home network whose users you trust.\n"
        "Ctrl-C ends it, and every browser enters a new code the next time.\n"
    )


def _print(text: str) -> None:
    """Print; an output that cannot show the square's blocks gets the words."""
    try:
        print(text, flush=True)
    except UnicodeEncodeError:
        print(text[text.rindex("On a phone") :], flush=True)


def serve(address: str, port: int) -> None:
    """Print address and code, and serve until the program is ended."""
    pairing, host = Pairing(), f"{address}:{port}"
    _print(_welcome(f"http://{host}", pairing.shown_code()))
    sys.argv = [str(APP)]  # beside it are the settings
    settings = {
        "server.address": address,
        "server.port": port,
        "server.allowedHosts": [address],
        "server.headless": True,
        "server.fileWatcherType": "none",
    }
    App(APP, middleware=[Middleware(Gate, pairing=pairing, host=host)]).run(config=settings)


def main() -> int:
    """Run from the words of the command line."""
    parser = argparse.ArgumentParser()
    parser.add_argument("address")
    parser.add_argument("port", type=int, nargs="?")
    args = parser.parse_args()
    try:
        address = checked(args.address or own_address())
        port = free_port(address, args.port)
    except checks.InputError as error:
        print(f"blendlab: {error}", file=sys.stderr)
        return 2
    serve(address, port)
    return 0


if __name__ == "__main__":
    sys.exit(main())
