import ctypes

import pytest

from blendlab.screens.parts import server_memory


def test_a_system_without_a_nameless_library_does_without(monkeypatch: pytest.MonkeyPatch):
    """Windows: `ctypes.CDLL(None)` raises TypeError there, and the app would not open."""

    asked: list[str | None] = []

    def nameless(name: str | None) -> None:
        asked.append(name)
        raise TypeError("argument of type 'NoneType' is not iterable")

    monkeypatch.setattr(ctypes, "CDLL", nameless)
    server_memory.give_back.clear()
    server_memory.give_back()
    server_memory.give_back.clear()
    assert asked == [None]


def test_an_allocator_without_the_setting_is_left_as_it_is(monkeypatch: pytest.MonkeyPatch):
    asked = []

    class Other:
        def __getattr__(self, name: str):
            asked.append(name)
            raise AttributeError(name)

    monkeypatch.setattr(ctypes, "CDLL", lambda name: Other())
    server_memory.give_back.clear()
    server_memory.give_back()
    server_memory.give_back.clear()
    assert asked == ["mallopt"]
