"""Pairing: a code that each new browser enters once, with growing waits after wrong ones."""

import secrets
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from time import monotonic

_DIGITS = 8
_FREE = 3  # wrong codes that cost no wait: slips of the finger
# Longest waits, in seconds. From all addresses together at most one code in 10 s is looked at: 8,640 a day
# out of 100 million. A longest wait of minutes there would let one bad guest lock everybody out.
_LONGEST_S, _LONGEST_OVERALL_S = 300.0, 10.0
_ADDRESSES = 1000  # remembered at most; the waits overall hold for the rest


def _new_code() -> str:
    return f"{secrets.randbelow(10**_DIGITS):0{_DIGITS}}"


def _wait_s(wrong: int, longest_s: float) -> float:
    """Return 0, then 1 s, doubled with every further wrong code."""
    return 0.0 if wrong <= _FREE else min(2.0 ** min(wrong - _FREE - 1, 20), longest_s)


@dataclass
class Pairing:
    """The code and the browsers that entered it, in memory only: both end with the server.

    Attributes
    ----------
    clock : callable
        Seconds that never run back.
    """

    code: str = field(default_factory=_new_code)
    clock: Callable[[], float] = monotonic
    _tokens: set[str] = field(default_factory=set)
    _wrong: Counter[str] = field(default_factory=Counter)
    _until: dict[str, float] = field(default_factory=dict)
    _all_wrong: int = 0
    _all_until: float = 0.0

    def shown_code(self) -> str:
        """Return the code in two groups, easier to read across a shed."""
        return f"{self.code[: _DIGITS // 2]} {self.code[_DIGITS // 2 :]}"

    def wait_s(self, address: str) -> float:
        """Return how long a browser at this address still has to wait before its next code is looked at."""
        return max(0.0, max(self._all_until, self._until.get(address, 0.0)) - self.clock())

    def enter(self, address: str, code: str) -> str | None:
        """Return a new token where the code is right; None where it is wrong or came before its time.

        A code that comes too early is not even looked at, so trying faster finds nothing.
        """
        if self.wait_s(address) > 0:
            return None
        typed = "".join(code.split()).encode("utf-8", "replace")
        if not secrets.compare_digest(typed, self.code.encode()):  # takes as long wherever they differ
            self._count(address)
            return None
        self._wrong.pop(address, None)
        self._until.pop(address, None)
        token = secrets.token_urlsafe(32)
        self._tokens.add(token)
        return token

    def knows(self, token: str | None) -> bool:
        """Tell whether a browser with this token entered the code."""
        return token in self._tokens

    def _count(self, address: str) -> None:
        if address not in self._wrong and len(self._wrong) >= _ADDRESSES:
            oldest = next(iter(self._wrong))
            del self._wrong[oldest]
            self._until.pop(oldest, None)
        now = self.clock()
        self._wrong[address] += 1
        self._all_wrong += 1
        self._until[address] = now + _wait_s(self._wrong[address], _LONGEST_S)
        self._all_until = now + _wait_s(self._all_wrong, _LONGEST_OVERALL_S)
