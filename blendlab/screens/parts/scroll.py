"""Bring what was just opened or chosen into sight."""

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


_ALONG = """
export default function(component) {
  const { parentElement, data } = component;
  const strip = (parentElement.host ?? parentElement).closest('.st-key-strip');
  const tile = strip?.querySelector(`.st-key-fold${data.folds}`);
  if (!tile || strip.dataset.folds === String(data.folds)) return;
  strip.dataset.folds = data.folds;
  const [seen, all] = [tile.getBoundingClientRect(), strip.getBoundingClientRect()];
  const faded = parseFloat(getComputedStyle(strip).paddingRight);
  const hidden = Math.max(0, seen.right - all.right + faded) || Math.min(0, seen.left - all.left - 4);
  strip.scrollLeft += hidden;
}
"""
_along = st.components.v2.component("blendlab_scroll_strip", html="<i></i>", js=_ALONG)


def along(folds: int) -> None:
    """Scroll the strip of folds that this is drawn in, as far as to show the chosen one."""
    _along(key="scroll strip", data={"folds": folds})
