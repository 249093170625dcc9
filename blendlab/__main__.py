"""`python -m blendlab`, and the installed command."""

import os
import signal
import sys


def main() -> int:
    """Run the command line; Ctrl-C while it starts or ends stops it at once, without a traceback."""
    if signal.getsignal(signal.SIGINT) is signal.default_int_handler:  # else it is to be ignored
        signal.signal(signal.SIGINT, lambda *_: os._exit(128 + signal.SIGINT))
    from .cli import main as run

    return run()


if __name__ == "__main__":
    sys.exit(main())
