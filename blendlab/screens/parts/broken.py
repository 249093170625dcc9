"""What a page says where blendlab itself breaks."""

from streamlit.elements import exception

SENTENCE = (
    "Something in blendlab broke here. What you typed is kept: reload the page to go on. The terminal that "
    "blendlab runs in says what it was."
)


def say_so() -> None:
    """Put our own sentence in the box shown for an error that nothing caught.

    Streamlit's names its makers' hosting and a button that this app does not have. No setting changes it,
    and a button's callback that breaks leaves no page to catch it on.
    """
    vars(exception)["_GENERIC_UNCAUGHT_EXCEPTION_TEXT"] = SENTENCE
