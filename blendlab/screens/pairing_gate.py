"""The gate before the app on a network: nothing passes to a browser that has not entered the code."""

from math import ceil
from urllib.parse import parse_qs

from starlette.datastructures import Headers
from starlette.requests import HTTPConnection, Request
from starlette.responses import HTMLResponse, PlainTextResponse, RedirectResponse, Response
from starlette.types import ASGIApp, Receive, Scope, Send

from .pairing import Pairing

COOKIE = "blendlab-pairing"
_LONGEST_FORM = 200  # bytes
_HEADERS = {
    "Cache-Control": "no-store",
    "Content-Security-Policy": "default-src 'none'; style-src 'unsafe-inline'; form-action 'self'",
    "X-Frame-Options": "DENY",
}
_PAGE = """<!doctype html><html lang="en"><meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1"><title>blendlab: enter the code</title>
<style>
:root {{ color-scheme: light dark }}
body {{ font: 1.1rem sans-serif; max-width: 24rem; margin: 12vh auto; padding: 0 1rem;
  background: light-dark(#faf6ee, #1b1814); color: light-dark(#171310, #eee6d8) }}
input, button {{ font: inherit; box-sizing: border-box; width: 100%; min-height: 3rem; margin-top: .75rem;
  padding: 0 .75rem; border: 1px solid light-dark(#968869, #74664f); border-radius: .3rem }}
input {{ background: light-dark(#fff, #28231d); color: inherit; letter-spacing: .15em }}
button {{ background: #8a4b16; color: #fff }}
</style>
<h1>blendlab</h1>
<form method="post" action="/pair">
<label for="code">Code, as shown where blendlab runs</label>
<input id="code" name="code" inputmode="numeric" autocomplete="off" autofocus required maxlength="20">
<button>Open</button></form>
<p role="status">{said}</p></html>"""


class Gate:
    """Let paired browsers through to the app, and show all others a field for the code.

    Parameters
    ----------
    app
        The app behind the gate.
    host : str
        Address and port as browsers give them. Requests to another name are refused, so that no foreign page
        reaches the app by a name of its own that leads here; so are web sockets that another page opens.
    """

    def __init__(self, app: ASGIApp, pairing: Pairing, host: str) -> None:
        self._app, self._pairing, self._host = app, pairing, host

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request, or hand it on."""
        if scope["type"] == "lifespan":
            await self._app(scope, receive, send)
            return
        asked = HTTPConnection(scope)
        paired = self._pairing.knows(asked.cookies.get(COOKIE))
        socket = scope["type"] == "websocket"
        if self._at_home(asked.headers, socket) and paired:
            await self._app(scope, receive, send)
        elif socket:
            await send({"type": "websocket.close", "code": 1008})  # before it is accepted: status 403
        else:
            answer = await self._answer(Request(scope, receive))
            await answer(scope, receive, send)

    def _at_home(self, headers: Headers, socket: bool) -> bool:
        """Tell whether a request is to this address and from a page of this address.

        Browsers name the page that opens a web socket; whatever does not is no browser.
        """
        origin = headers.get("origin", "" if socket else f"http://{self._host}")
        return headers.get("host") == self._host and origin == f"http://{self._host}"

    async def _answer(self, asked: Request) -> Response:
        if not self._at_home(asked.headers, socket=False):
            return PlainTextResponse("blendlab answers only to its own address", 403, _HEADERS)
        if asked.method != "POST" or asked.url.path != "/pair":
            return _page("", 401)
        address = asked.client.host if asked.client else ""
        token = self._pairing.enter(address, await _code(asked))
        if token is not None:
            answer = RedirectResponse("/", 303, _HEADERS)
            answer.set_cookie(COOKIE, token, httponly=True, samesite="strict")
            return answer
        wait_s = ceil(self._pairing.wait_s(address))
        if not wait_s:
            return _page("This is not the code. Try again.", 403)
        said = f"This is not the code, or it came too early. Wait {wait_s} s, then try again."
        return _page(said, 429, {"Retry-After": str(wait_s)})


def _page(said: str, status: int, headers: dict[str, str] | None = None) -> Response:
    return HTMLResponse(_PAGE.format(said=said), status, _HEADERS | (headers or {}))


async def _code(asked: Request) -> str:
    """Read the code from the form; a longer form than ours holds none."""
    body = b""
    async for part in asked.stream():
        body += part
        if len(body) > _LONGEST_FORM:
            return ""
    return parse_qs(body.decode("ascii", "replace")).get("code", [""])[0]
