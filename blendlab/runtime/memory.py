"""How much memory this process may still use, as far as the system tells."""

import math
import re
from pathlib import Path

try:
    import resource
except ImportError:  # Windows
    resource = None  # type: ignore[assignment]

MEMINFO, STATM = Path("/proc/meminfo"), Path("/proc/self/statm")  # of Linux: proc(5)


def free_bytes() -> float:
    """Return the bytes left on the machine or within the process's limit; infinity if unknown."""
    return min(_left_on_the_machine(), _left_of_the_limit())


def _left_on_the_machine() -> float:
    """Return what the system can give without swapping."""
    found = re.search(r"^MemAvailable:\s*(\d+) kB$", _text(MEMINFO), re.MULTILINE)
    return 1024 * int(found[1]) if found else math.inf


def _left_of_the_limit() -> float:
    """Return what is left of the address space that `ulimit -v` allows."""
    if resource is None:
        return math.inf
    limit, _ = resource.getrlimit(resource.RLIMIT_AS)
    if limit == resource.RLIM_INFINITY:
        return math.inf
    pages, *_rest = _text(STATM).split() or ["0"]
    return limit - int(pages) * resource.getpagesize()


def _text(path: Path) -> str:
    """Return a system file's text, empty where there is no such file."""
    try:
        return path.read_text("ascii")
    except OSError:
        return ""
