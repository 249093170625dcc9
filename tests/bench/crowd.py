"""How long concurrent sessions on one server wait, compared with one alone. Run by hand:

    python -m tests.bench.crowd [sessions] [pause]

Sessions speak to the app as its page does in a browser, and fetch its pictures, but draw nothing: a browser
draws the tab in front only, and here all cores are left to the server.
Each has a mix of its own, changes its grams, waits until all has come, and looks at it: 3 s on average.
"""

import random
import statistics
import sys
import tempfile
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from itertools import chain
from pathlib import Path
from typing import Any

from streamlit.proto.BackMsg_pb2 import BackMsg
from streamlit.proto.ForwardMsg_pb2 import ForwardMsg
from websockets.sync.client import connect

from blendlab.colour.means import area_mean
from blendlab.recipe.recipe import Recipe
from blendlab.screens.parts import draft
from tests.bench.felt import grams, say
from tests.screens.browsing import started

SESSIONS, PAUSE_S, CHANGES = 8, 3.0, 8
PATIENCE_S = 120
SHEET = "Top face after"


@dataclass(frozen=True)
class Waits:
    """Seconds from a change to the new mean, to the new sheet's sketch, and until all has come."""

    mean: float
    sketch: float
    whole: float


class Session:
    """The flakes page of one maker."""

    def __init__(self, address: str, mix: Recipe) -> None:
        self.address, self.mix = address, mix
        self.query = f"{draft.ADDRESS}={draft._packed(mix)}"
        self.page = self.field = ""  # ids from the server's first answer
        to = address.replace("http:", "ws:") + "/_stcore/stream"
        self.wire = connect(to, subprotocols=["streamlit"], max_size=None, legacy=True)  # type: ignore[list-item]
        self.known: dict[str, ForwardMsg] = {}
        for _ in self._answers({}):
            pass

    def change(self, value: float) -> Waits:
        """Type other grams for the first flake; the mean that comes must be this mix's own."""
        own = area_mean(grams(self.mix, value)).srgb
        start, mean, sketch = time.perf_counter(), 0.0, 0.0
        for kind, element in self._answers({self.field: value}):
            now = time.perf_counter() - start
            if kind == "html" and "Seen from afar" in element.body:
                assert f"<code>{own}</code>" in element.body, "another session's mean"
                mean = now
            elif kind == "imgs" and element.imgs[0].alt.startswith(SHEET) and not sketch:
                sketch = now
        assert mean, "the page came without its mean"
        assert sketch, "the page came without its sheet"
        return Waits(mean, sketch, time.perf_counter() - start)

    def _answers(self, widgets: dict[str, float]) -> Iterator[tuple[str, Any]]:
        """Run the page and yield what it draws, fetching its pictures, until it rests."""
        asked = BackMsg()
        asked.rerun_script.query_string = self.query
        asked.rerun_script.page_script_hash = self.page
        for name, value in widgets.items():
            asked.rerun_script.widget_states.widgets.add(id=name, double_value=value)
        self.wire.send(asked.SerializeToString())
        while True:
            answer = ForwardMsg.FromString(self.wire.recv(PATIENCE_S))  # type: ignore[arg-type]
            if answer.ref_hash:
                answer = self.known[answer.ref_hash]
            elif answer.hash:
                self.known[answer.hash] = answer
            if answer.HasField("new_session"):
                self.page = answer.new_session.page_script_hash
            if answer.HasField("script_finished"):
                return
            element = answer.delta.new_element
            kind = element.WhichOneof("type") or ""
            if kind == "text_input" and element.text_input.label.startswith("Grams") and not self.field:
                self.field = element.text_input.id
            if kind == "imgs":
                self._fetch(element.imgs.imgs[0].url)
            if kind:
                yield kind, getattr(element, kind)

    def _fetch(self, url: str) -> None:
        try:
            with urllib.request.urlopen(self.address + url, timeout=PATIENCE_S) as got:
                got.read()
        except urllib.error.HTTPError as error:
            if error.code != 404:  # a sketch replaced by its fine picture
                raise


def at_work(address: str, number: int, pause_s: float) -> list[Waits]:
    """What one session waits, from its second change on."""
    session = Session(address, replace(grams(draft.demo(), 200 + number), name=f"mix {number}"))
    waits = []
    for n in range(CHANGES):
        waits.append(session.change(10.0 + 17 * number + n))
        time.sleep(2 * pause_s * random.random())
    return waits[1:]


def main(sessions: int, pause_s: float) -> None:
    with tempfile.TemporaryDirectory() as folder, started(Path(folder)) as (address, _):
        alone = at_work(address, 0, pause_s)
        with ThreadPoolExecutor(sessions) as crew:
            crowd = list(crew.map(lambda n: at_work(address, n + 1, pause_s), range(sessions)))
    for what in ("mean", "sketch", "whole"):
        one, many = ([getattr(wait, what) for wait in waits] for waits in (alone, chain(*crowd)))
        say(f"to the {what}, alone", one)
        say(f"to the {what}, {sessions} at once", many)
        worst = max(statistics.median(getattr(wait, what) for wait in waits) for waits in crowd)
        print(f"the session served worst waits {worst / statistics.median(one):.1f} times as long as alone")


if __name__ == "__main__":
    given = sys.argv[1:]
    main(int(given[0]) if given else SESSIONS, float(given[1]) if given[1:] else PAUSE_S)
