"""Fields whose limits follow other fields: what was chosen before is pulled inside, and nothing breaks."""

import logging

import pytest
from streamlit.elements.lib import policies

from blendlab.screens.parts import draft

from .opening import COMPARE, opened, sound


def test_cuts_stay_within_a_sheet_made_smaller_and_thinner() -> None:
    app = opened()
    sound(app.button_group(key="face").set_value("planed").run())
    sound(app.slider(key="depth").set_value(5.0).run())
    sound(app.button_group(key="face").set_value("sawn").run())
    app.slider(key="sawx").set_value(35.0)
    sound(app.slider(key="sawy").set_value(-9.0).run())
    app.text_input(key="thickness_mm").set_value("2.5408")  # cold: 3 mm hot
    sound(app.text_input(key="length_mm").set_value("39.65").run())  # with trim and hot, 50 mm
    assert app.slider(key="sawx").value == pytest.approx(25.0)
    assert app.slider(key="sawy").value == -9.0
    sound(app.button_group(key="face").set_value("planed").run())
    assert 2.5 < app.slider(key="depth").value <= 3.001


def test_folds_end_with_a_shorter_list_of_moves() -> None:
    app = opened(page=COMPARE)
    sound(app.slider(key="compare folds 0").set_value(9).run())
    sound(app.selectbox(key="compare move 0").set_value(draft.OWN_LIST).run())
    assert app.slider(key="compare folds 0").value == 2


@pytest.mark.parametrize("page", ["blanks", "compare"])
def test_no_field_is_given_a_start_beside_its_value(
    page: str, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    """Streamlit says so once, and only where it is served."""
    monkeypatch.setattr(policies, "_shown_default_value_warning", False)
    app = opened(page=f"blendlab/screens/pages/{page}.py")
    monkeypatch.setattr(policies.runtime, "exists", lambda: True)
    logging.getLogger("streamlit.elements.lib.policies").addHandler(caplog.handler)
    sound(app.run())
    assert "default value" not in caplog.text
