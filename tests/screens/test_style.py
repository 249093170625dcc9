import ast
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from blendlab.screens.parts import draft
from blendlab.screens.parts.style import plain

SCREENS = Path(draft.__file__).parents[1]
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
def test_plain_text_escapes_each_sign_markdown_may_act_on(text: str, markdown: str) -> None:
    """CommonMark 0.31.2, section 2.4: any ASCII punctuation sign may be escaped with a backslash."""
    assert plain(text) == markdown


def test_no_download_takes_its_name_from_what_a_maker_typed() -> None:
    """A file's name is the page's own words: a recipe called ../../evil is saved as mix.toml all the same."""
    named = []
    for page in SCREENS.rglob("*.py"):
        for call in ast.walk(ast.parse(page.read_text("utf-8"))):
            if isinstance(call, ast.Call) and ast.unparse(call.func).endswith("download_button"):
                given = {word.arg: word.value for word in call.keywords}
                name = given["file_name"] if "file_name" in given else call.args[2]
                for part in name.values if isinstance(name, ast.JoinedStr) else [name]:
                    if not isinstance(part, ast.Constant):
                        typed = part.value if isinstance(part, ast.FormattedValue) else part
                        named.append((page.stem, ast.unparse(typed)))
    # One of our own words, a number, and one of our own tables.
    assert sorted(named) == [("folds", "asked.face"), ("folds", "folds"), ("sources", "name")]
