"""Bring what was just opened into sight."""

import streamlit as st

_JS = """
export default function(component) {
  const { parentElement, data } = component;
  const mark = parentElement.querySelector('.mark');
  if (mark.dataset.key === data.key) return;
  mark.dataset.key = data.key;
  mark.scrollIntoView({block: 'start'});
}
"""
_CSS = ".mark {scroll-margin-top: 4rem; height: 0;}"
_mount = st.components.v2.component("blendlab_scroll", html='<div class="mark"></div>', css=_CSS, js=_JS)


def here(key: str) -> None:
    """Scroll to this place once.

    Parameters
    ----------
    key : str
        Changes with every opening.
    """
    _mount(key="scroll", data={"key": key})
