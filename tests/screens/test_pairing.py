"""Pairing: the code, its slow-down, and the gate that asks for it."""

import asyncio
from collections.abc import MutableMapping
from concurrent.futures import ThreadPoolExecutor
from typing import Any
from urllib.parse import urlencode

import pytest

from blendlab.screens.pairing import Pairing
from blendlab.screens.pairing_gate import COOKIE, Gate

HOST = "192.168.1.20:8501"
PHONE, OTHER = "192.168.1.31", "192.168.1.32"


class Clock:
    def __init__(self) -> None:
        self.now = 100.0

    def __call__(self) -> float:
        return self.now


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def pairing(clock: Clock) -> Pairing:
    return Pairing("12345678", clock)


def wrong(pairing: Pairing, times: int, clock: Clock, address: str = PHONE) -> None:
    """Enter wrong codes, each as soon as it is looked at."""
    for _ in range(times):
        clock.now += pairing.wait_s(address)
        assert pairing.enter(address, "00000000") is None


def test_each_server_has_a_code_of_its_own() -> None:
    codes = {Pairing().code for _ in range(50)}
    assert len(codes) > 45
    assert all(len(code) == 8 and code.isdigit() for code in codes)


def test_the_right_code_is_read_with_and_without_its_gap(pairing: Pairing) -> None:
    tokens = {pairing.enter(PHONE, typed) for typed in (pairing.shown_code(), "12345678", " 1234 5678 ")}
    assert len(tokens) == 3
    assert all(pairing.knows(token) for token in tokens)
    assert not pairing.knows(None)
    assert not pairing.knows("12345678")


@pytest.mark.parametrize("typed", ["", "1234567", "123456789", "１２３４５６７８", "\ud800"])
def test_any_other_code_is_wrong(pairing: Pairing, typed: str) -> None:
    assert pairing.enter(PHONE, typed) is None


def test_a_restarted_server_knows_no_browser(pairing: Pairing) -> None:
    token = pairing.enter(PHONE, "12345678")
    assert not Pairing("12345678").knows(token)


def test_waits_of_one_address_double_up_to_five_minutes(pairing: Pairing, clock: Clock) -> None:
    waits = []
    for _ in range(14):
        wrong(pairing, 1, clock)
        waits.append(pairing.wait_s(PHONE))
    assert waits == [0, 0, 0, 1, 2, 4, 8, 16, 32, 64, 128, 256, 300, 300]


def test_the_right_code_before_its_time_is_not_looked_at(pairing: Pairing, clock: Clock) -> None:
    wrong(pairing, 5, clock)
    assert pairing.enter(PHONE, "12345678") is None
    assert pairing.wait_s(PHONE) == 2  # nor does it lengthen the wait
    clock.now += 2
    assert pairing.enter(PHONE, "12345678")
    assert pairing.wait_s(PHONE) == 0


def test_many_addresses_together_wait_too_but_never_long(pairing: Pairing, clock: Clock) -> None:
    for guest in range(2000):
        wrong(pairing, 1, clock, f"10.0.{guest // 250}.{guest % 250}")
    assert pairing.wait_s(OTHER) == 10
    assert len(pairing._wrong) == len(pairing._until) == 1000
    clock.now += 10
    assert pairing.enter(OTHER, "12345678")


class Answered:
    """What the gate sent, and whether the app behind it was reached."""

    def __init__(self, pairing: Pairing, scope: dict[str, Any], body: bytes = b"") -> None:
        self.sent: list[MutableMapping[str, Any]] = []
        self.passed = False

        async def app(*_: Any) -> None:
            self.passed = True

        async def receive() -> dict[str, Any]:
            return {"type": "http.request", "body": body, "more_body": False}

        async def send(message: MutableMapping[str, Any]) -> None:
            self.sent.append(message)

        with ThreadPoolExecutor() as aside:  # a browser's tests may have a loop in this thread
            aside.submit(asyncio.run, Gate(app, pairing, HOST)(scope, receive, send)).result()

    @property
    def status(self) -> int:
        return int(self.sent[0]["status"])

    @property
    def headers(self) -> dict[str, str]:
        return {name.decode(): value.decode() for name, value in self.sent[0]["headers"]}

    @property
    def body(self) -> str:
        return bytes(self.sent[1]["body"]).decode()


def asked(
    kind: str = "http", path: str = "/", method: str = "GET", address: str = PHONE, **headers: str
) -> dict[str, Any]:
    named = {"host": HOST} | headers
    raw = [(name.encode(), value.encode()) for name, value in named.items()]
    plain = {"type": kind, "path": path, "headers": raw, "query_string": b"", "client": (address, 50000)}
    return plain | ({"method": method, "scheme": "http"} if kind == "http" else {"scheme": "ws"})


def entered(pairing: Pairing, code: str, **headers: str) -> Answered:
    return Answered(
        pairing, asked(path="/pair", method="POST", **headers), urlencode({"code": code}).encode()
    )


@pytest.fixture
def cookie(pairing: Pairing) -> str:
    """What a paired browser sends."""
    return entered(pairing, "1234 5678").headers["set-cookie"].split(";")[0]


@pytest.mark.parametrize("path", ["/", "/make", "/media/a.png", "/_stcore/health", "/component/x", "/pair"])
@pytest.mark.parametrize("method", ["GET", "HEAD", "PUT", "OPTIONS"])
def test_nothing_passes_without_a_code(pairing: Pairing, path: str, method: str) -> None:
    for headers in ({}, {"cookie": f"{COOKIE}=12345678"}):
        answered = Answered(pairing, asked(path=path, method=method, **headers))
        assert (answered.status, answered.passed) == (401, False)
        assert answered.headers["cache-control"] == "no-store"


def test_the_right_code_gives_a_cookie_that_opens_the_app(pairing: Pairing, cookie: str) -> None:
    answered = entered(pairing, "12345678", origin=f"http://{HOST}")
    assert (answered.status, answered.headers["location"], answered.passed) == (303, "/", False)
    assert {"HttpOnly", "SameSite=strict", "Path=/"} <= set(answered.headers["set-cookie"].split("; "))
    assert "Max-Age" not in answered.headers["set-cookie"]
    assert Answered(pairing, asked(cookie=f"other=1; {cookie}")).passed


def test_a_wrong_code_says_so_and_then_to_wait(pairing: Pairing) -> None:
    first = entered(pairing, "1")
    assert (first.status, "This is not the code. Try again." in first.body) == (403, True)
    for _ in range(4):
        last = entered(pairing, "1")
    assert (last.status, last.headers["retry-after"]) == (429, "1")
    assert entered(pairing, "12345678").status == 429
    assert "set-cookie" not in first.headers | last.headers


@pytest.mark.parametrize("body", [b"x" * 10**6, b"\xff\xfe", b"code", b"code=12345678&code" * 50])
def test_a_strange_form_is_a_wrong_code(pairing: Pairing, body: bytes) -> None:
    assert Answered(pairing, asked(path="/pair", method="POST"), body).status == 403


def test_a_socket_opens_to_a_paired_page_of_this_address_only(pairing: Pairing, cookie: str) -> None:
    own = f"http://{HOST}"
    tried = {
        "paired": asked("websocket", cookie=cookie, origin=own),
        "no code": asked("websocket", origin=own),
        "another page": asked("websocket", cookie=cookie, origin="http://elsewhere.test"),
        "no page": asked("websocket", cookie=cookie),
        "another port": asked("websocket", cookie=cookie, origin="http://192.168.1.20:9000"),
        "another name": asked("websocket", cookie=cookie, origin=own, host="elsewhere.test:8501"),
    }
    answered = {name: Answered(pairing, scope) for name, scope in tried.items()}
    assert [name for name, one in answered.items() if one.passed] == ["paired"]
    for name in [*tried][1:]:
        assert answered[name].sent == [{"type": "websocket.close", "code": 1008}]


def test_another_name_or_page_is_refused_even_with_the_code(pairing: Pairing, cookie: str) -> None:
    for foreign in ({"host": "elsewhere.test:8501"}, {"origin": "null"}, {"origin": "http://elsewhere.test"}):
        assert entered(pairing, "12345678", **foreign).status == 403
        answered = Answered(pairing, asked(cookie=cookie, **foreign))
        assert (answered.status, answered.passed) == (403, False)
