import json

from streamlit.testing.v1 import AppTest

from blendlab.screens.parts.charts import INK, WORDS


def test_a_chart_is_drawn_in_the_colours_that_the_page_gives() -> None:
    """Which change with its theme; that they stand out is measured in test_screen_reading.py."""

    def page() -> None:
        import altair as alt

        from blendlab.screens.parts.charts import INK, draw

        values = alt.Data(values=[{"x": 1, "y": 2}])
        chart = alt.Chart(values).mark_line(color=INK).encode(x="x:Q", y="y:Q")
        draw(lambda: chart, "one point", "A line of one point")

    app = AppTest.from_function(page).run()
    assert not app.exception
    (chart,) = app.get("vega_lite_chart")
    spec = json.loads(chart.proto.spec)
    assert spec["mark"]["color"] == INK
    for part in ("axis", "legend", "header"):
        assert {spec["config"][part][of] for of in ("labelColor", "titleColor")} == {WORDS}
    assert chart.proto.alt == "A line of one point"
