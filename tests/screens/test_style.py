import re
from dataclasses import replace
from typing import Any

import pytest
import streamlit as st
from streamlit.testing.v1 import AppTest

from blendlab.screens.pages import TITLES
from blendlab.screens.parts.style import plain

from .opening import HOSTILE, opened

PAGES = [f"blendlab/screens/pages/{name}.py" for name in TITLES]
OFFERING = [f"blendlab/screens/pages/{name}.py" for name in ("make", "shed", "sources")]
MARKUP = "<img src=x onerror=alert(1)> & 'b'"


def test_a_swatch_shows_its_words_as_text() -> None:
    def page(words: str) -> None:
        from blendlab.colour.spaces import Colour
        from blendlab.screens.parts.style import swatch

        swatch(words, Colour.from_hex("#14409a"), note=words)

    app = AppTest.from_function(page, args=(MARKUP,)).run()
    assert not app.exception
    body = app.get("html")[0].proto.body
    assert body.count("&lt;img src=x onerror=alert(1)&gt; &amp; &#x27;b&#x27;") == 2
    assert "<img" not in body
    assert 'aria-label="#14409a"' in body


@pytest.mark.parametrize(
    ("text", "markdown"),
    [
        ("harbour blue 5", "harbour blue 5"),
        ("![a](b)", r"\!\[a\]\(b\)"),
        ("a_b *c* `d`", r"a\_b \*c\* \`d\`"),
        (":red[e] $f$", r"\:red\[e\] \$f\$"),
        ("<g> & \\h", r"\<g\> \& \\h"),
        ("# i", r"\# i"),
        ("ü 金", "ü 金"),
    ],
)
def test_plain_text_escapes_each_character_markdown_may_act_on(text: str, markdown: str) -> None:
    """CommonMark 0.31.2, section 2.4: any ASCII punctuation character may be escaped with a backslash."""
    assert plain(text) == markdown


@pytest.mark.parametrize("page", PAGES)
def test_no_download_takes_its_name_from_what_was_typed(page: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """A file's name is the page's own words: a recipe called ../../evil is saved as mix.toml all the same."""
    named: list[str] = []
    offer = st.download_button

    def noted(label: str, data: Any, file_name: str, *rest: Any, **options: Any) -> bool:
        named.append(file_name)
        return offer(label, data, file_name, *rest, **options)

    monkeypatch.setattr(st, "download_button", noted)
    app = opened(replace(HOSTILE, name="../../evil"), page)
    if page == PAGES[0]:
        app.button(key="open card").click().run()
    assert named or page not in OFFERING
    assert all(re.fullmatch("[a-z0-9_-]+[.](pdf|png|csv|toml)", name) for name in named)
