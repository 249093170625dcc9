"""Long work on a page: kept once found, stopped until it is started again, with progress while it runs."""

import pytest
import streamlit as st
from streamlit.testing.v1 import AppTest

from blendlab.runtime.progress import each
from blendlab.screens.parts import long_task


def page(key: str) -> None:
    import streamlit as st

    from blendlab.checks import refuse
    from blendlab.screens.parts.long_task import worked

    def work(on_progress):  # type: ignore[no-untyped-def]
        st.session_state["runs"] = st.session_state.get("runs", 0) + 1
        if key == "refused":
            refuse("a number must be whole", 0.5, "round it")
        for part in (0.0, 0.5):
            on_progress(part)
        return f"found for {key}"

    try:
        st.title(str(worked("sums", (key,), "Adding up …", work)))
    except ValueError as error:
        st.error(str(error))


def run(key: str) -> AppTest:
    app = AppTest.from_function(page, args=(key,)).run()
    assert not app.exception
    return app


def test_work_is_done_once_for_all_sessions() -> None:
    first, second = run("once"), run("once")
    assert [app.title[0].value for app in (first, second)] == ["found for once"] * 2
    assert "runs" not in second.session_state


def test_only_slow_work_shows_a_bar_and_clears_it_away(monkeypatch: pytest.MonkeyPatch) -> None:
    drawn: list[tuple[float, str]] = []
    bar = st.progress
    monkeypatch.setattr(st, "progress", lambda *shown: drawn.append(shown) or bar(*shown))  # type: ignore[func-returns-value]
    run("quick")
    assert not drawn
    monkeypatch.setattr(long_task, "QUICK_S", 0.0)
    app = run("slow")
    assert drawn == [(0.0, "Adding up …")]
    assert not app.button
    assert not app.get("progress")


def test_stopped_work_is_not_begun_again_before_it_is_asked_for() -> None:
    app = AppTest.from_function(page, args=("stopped",))
    app.session_state["stopped sums"] = ("stopped",)
    app.run()
    assert app.title[0].value == "None"
    assert app.text[0].value == "Stopped before it finished."
    app.button(key="again sums").click().run()
    assert app.title[0].value == "found for stopped"


def test_another_question_is_worked_on_though_the_last_one_was_stopped() -> None:
    app = AppTest.from_function(page, args=("other",))
    app.session_state["stopped sums"] = ("stopped",)
    assert app.run().title[0].value == "found for other"


def test_what_is_refused_is_not_kept() -> None:
    for _ in range(2):
        app = run("refused")
        assert "a number must be whole" in app.error[0].value
        assert app.session_state["runs"] == 1


def test_each_item_reports_before_its_turn() -> None:
    said: list[float | str] = []
    for letter in each("abcd", said.append):
        said.append(letter)
    assert said == [0.0, "a", 0.25, "b", 0.5, "c", 0.75, "d"]
