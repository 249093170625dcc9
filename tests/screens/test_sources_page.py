"""The sources page shows every entry of every table, found here by walking the files again."""

import csv
import re
import tomllib
from collections.abc import Iterator
from html import unescape
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from streamlit.dataframe_util import convert_arrow_bytes_to_pandas_df
from streamlit.testing.v1 import AppTest

from blendlab.tables import entries
from blendlab.workshop.cautions import cautions

from .opening import opened, sound

PAGE = "blendlab/screens/pages/sources.py"
TABLES = sorted(Path(str(files("blendlab.tables"))).glob("*/*.toml"))


@pytest.fixture
def app() -> AppTest:
    return opened(page=PAGE)


def named(found: Any, shared: dict[str, Any]) -> Iterator[dict[str, Any]]:
    """Whatever has a name, anywhere within, with the words that stand on top of its file."""
    if isinstance(found, list):
        for each in found:
            yield from named(each, shared)
    elif isinstance(found, dict):
        if "name" in found:
            yield shared | found
        else:
            yield from named(list(found.values()), shared)


def entries_of(path: Path) -> list[dict[str, Any]]:
    whole = tomllib.loads(path.read_text("utf-8"))
    return list(named(whole, {key: value for key, value in whole.items() if isinstance(value, str)}))


def rows(app: AppTest) -> dict[str, str]:
    """Value and source of each row by its name, as read."""
    found = {}
    for element in app.get("html"):
        of_facts = 'class="facts"' in element.proto.body
        for row in re.findall("<tr>(.*?)</tr>", element.proto.body) if of_facts else ():
            name, *rest = re.findall("<t[hd][^>]*>(.*?)</t[hd]>", row)
            words = " ".join(re.sub("<[^>]*>", "", part.replace("<br>", " ")) for part in rest)
            found[unescape(name)] = unescape(words).replace("−", "-")
    return found


def missing(shown: dict[str, str], path: Path) -> list[str]:
    """What a table holds and the page does not show."""
    words_of = {caution.title: caution.text for caution in cautions()}
    lost = []
    for entry in entries_of(path):
        name = entry["name"][0].upper() + entry["name"][1:]
        row = shown.get(name, "")
        lists = [value if isinstance(value, list) else [value] for value in entry.values()]
        wanted = [f"{n:.10g}" for values in lists for n in values if not isinstance(n, str)]
        wanted += [entry["source"], words_of.get(name, ""), *entry.get("columns", ())]
        lost += [f"{name}: {words}" for words in wanted if words not in row]
    return lost


@pytest.mark.parametrize("path", TABLES, ids=lambda path: path.stem)
def test_every_entry_of_a_table_is_shown_with_its_numbers_and_its_source(app: AppTest, path: Path) -> None:
    assert entries_of(path)
    assert missing(rows(app), path) == []


def test_a_forgotten_entry_would_be_missed(monkeypatch: pytest.MonkeyPatch) -> None:
    """The test above must be able to fail."""
    whole = entries.entries()
    monkeypatch.setattr(entries, "entries", lambda: whole[:-1])
    shown = rows(opened(page=PAGE))
    lost = [line for path in TABLES for line in missing(shown, path)]
    assert {line.split(":")[0] for line in lost} == {whole[-1].name}


def test_columns_are_drawn_point_by_point_and_can_be_saved(app: AppTest) -> None:
    drawn = set()
    for chart in app.get("vega_lite_chart"):
        points = convert_arrow_bytes_to_pandas_df(chart.proto.data.data)
        drawn |= set(points[["of", "x", "y"]].itertuples(index=False, name=None))
    stored = set()
    for path in (path for table in TABLES for path in table.parent.glob("*.csv")):
        (_, *names), *lines = csv.reader(path.read_text("utf-8").splitlines())
        stored |= {
            (name, float(at), float(value))
            for at, *values in lines
            for name, value in zip(names, values, strict=True)
        }
        assert any(button.label == f"Save {path.name}" for button in app.get("download_button"))
    assert drawn == stored


def test_the_card_of_every_table_can_be_read(app: AppTest) -> None:
    written = [text.value for text in app.markdown]
    for table in TABLES:
        body = table.with_name("SOURCE.md").read_text("utf-8").split("\n", 1)[1].strip()
        assert any(body in text for text in written), table


def test_words_and_standing_narrow_the_list(app: AppTest) -> None:
    app.text_input(key="sources words").set_value("SILICONE limit").run()
    assert set(rows(sound(app))) == {"Silicone mat", "Liners have limits"}
    app.text_input(key="sources words").set_value("").run()
    everything = rows(app)
    app.button_group(key="sources marks").set_value(["estimate", "common practice"]).run()
    assert 0 < len(rows(app)) < len(everything)
    assert all("estimate" in row or "common practice" in row for row in rows(app).values())
    app.text_input(key="sources words").set_value("no such thing").run()
    assert rows(sound(app)) == {}
    assert "Search for less" in app.text[0].value


def test_the_measured_test_stands_on_the_page_and_says_what_it_was_made_on() -> None:
    app = opened(page=PAGE)
    assert any("oil paints" in caption.value and "not HDPE" in caption.value for caption in app.caption)
    assert any(box.value.startswith("Median CIEDE2000") for box in app.markdown)
    assert any("<td>one let-down, stock that hides</td>" in element.proto.body for element in app.get("html"))
    assert any("Unproved for want of open data" in box.value for box in app.markdown)


def test_a_list_of_its_topics_leads_to_each_of_them(app: AppTest) -> None:
    def listed() -> list[tuple[str, str]]:
        (topics,) = (box.value for box in app.markdown if box.value.startswith("- ["))
        return re.findall(r"^- \[(.*)\]\(#(.*)\)$", topics, re.MULTILINE)

    assert len(listed()) == 11
    assert listed() == [(heading.value, heading.anchor) for heading in app.subheader]
    app.text_input(key="sources words").set_value("SILICONE limit").run()
    assert [title for title, _ in listed()] == [heading.value for heading in app.subheader]
    assert [anchor for _, anchor in listed()] == ["heat", "safety", "measured"]
