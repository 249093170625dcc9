"""An error that nothing caught: our own sentence, on a page and in a button's callback."""

from streamlit import config
from streamlit.testing.v1 import AppTest

from blendlab.screens.parts import broken

from .opening import opened


def page() -> None:
    import streamlit as st

    def fail() -> None:
        raise RuntimeError("in a callback")

    st.button("Fail", on_click=fail)
    if "fail" in st.session_state:
        raise RuntimeError("on the page")


def shown(app: AppTest) -> str:
    (box,) = app.exception
    return str(box.proto.message)


def test_a_broken_page_and_a_broken_button_say_so_in_our_own_words() -> None:
    opened()  # any page of the app
    app = AppTest.from_function(page).run()
    assert config.get_option("client.showErrorDetails") == "none"
    assert shown(app.button[0].click().run()) == broken.SENTENCE
    app = AppTest.from_function(page)
    app.session_state["fail"] = True
    assert shown(app.run()) == broken.SENTENCE
