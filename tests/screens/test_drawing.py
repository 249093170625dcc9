import json
import tomllib
from types import SimpleNamespace

import pytest
import streamlit as st
from streamlit.testing.v1 import AppTest

from .opening import APP

THEMES = tomllib.loads(APP.with_name(".streamlit").joinpath("config.toml").read_text("utf-8"))["theme"]


@pytest.mark.parametrize("theme", ["light", "dark", None])
def test_a_chart_is_drawn_in_the_colours_of_the_theme_that_is_seen(
    theme: str | None, monkeypatch: pytest.MonkeyPatch
) -> None:
    """That these colours stand out enough is asked of the settings, in tests/test_settings.py."""

    def page() -> None:
        import altair as alt

        from blendlab.screens.drawing import draw, ink

        values = alt.Data(values=[{"x": 1, "y": 2}])
        draw(alt.Chart(values).mark_line(color=ink()).encode(x="x:Q", y="y:Q"), "A line of one point")

    monkeypatch.setattr(type(st.context), "theme", SimpleNamespace(type=theme))
    app = AppTest.from_function(page).run()
    assert not app.exception
    (chart,) = app.get("vega_lite_chart")
    spec = json.loads(chart.proto.spec)
    colours = THEMES[theme or "light"]
    assert spec["mark"]["color"] == colours["linkColor"]
    for part in ("axis", "legend", "header"):
        assert spec["config"][part]["labelColor"] == colours["textColor"]
        assert spec["config"][part]["titleColor"] == colours["textColor"]
    assert spec["config"]["text"]["color"] == colours["textColor"]
    assert chart.proto.alt == "A line of one point"
