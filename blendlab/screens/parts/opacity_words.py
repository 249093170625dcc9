"""How opaque a flake is, with a picture of the printed-line test, and what it was cut from: in words."""

from dataclasses import replace

import streamlit as st

from ...checks import InputError
from ...colour import strength
from ...recipe.flake import KINDS, STOCKS, Flake
from . import draft, session
from .session import Value

WORDS = {
    "opaque": "Hides: a printed line under a piece as thick as a cap cannot be read.",
    "tinted": "Coloured, but light shows through: the line can be read through 2 mm.",
    "natural": "Milky, without pigment, like a milk bottle: the line shows through several millimetres.",
}
_COVERS = {"opaque": 0.99, "tinted": 0.72, "natural": 0.4}  # of the drawn piece, for show
_WATER = "Lay a piece on a printed line with a drop of water between:"
_CARD = (
    '<div class="case"><div class="card" role="img" aria-label="{words}"><i></i>'
    '<b style="background:{srgb};opacity:{cover}"></b></div>{kind}</div>'
)


def must_choose(row: int) -> bool:
    """Tell whether only its maker can say if a row's flake is white or natural."""
    try:
        return strength.must_choose(draft.flake_of(row))
    except InputError:
        return False


def ask(row: int, flake: Flake) -> None:
    """Ask for a flake's class, which counts where its strength was not measured, and for its stock."""
    cards = "".join(
        _CARD.format(srgb=flake.srgb, cover=_COVERS[kind], kind=kind, words=f"{kind}: {WORDS[kind]}")
        for kind in KINDS
    )
    st.caption(_WATER)
    st.html(f'<div class="printed">{cards}</div>')
    key = f"kind{row} {flake.kind}"  # starts again when the flake changes
    st.segmented_control(
        "How opaque it is", KINDS, default=flake.kind, key=key, on_change=_take, args=(row, key)
    )
    if flake.kind:
        st.caption(WORDS[flake.kind])
    key = f"stock{row} {flake.stock}"
    st.segmented_control(
        "What it was cut from",
        STOCKS,
        default=flake.stock,
        key=key,
        on_change=_take,
        args=(row, key),
        help="Bottles melt stiffly and stay coarser among caps and crates; the pictures show it.",
    )


def _take(row: int, key: str) -> None:
    chosen: Value[str | None] = Value(key, None)
    flake = session.ROW_FLAKE(row)
    if key.startswith("kind"):
        flake.put(replace(flake.get(), kind=chosen.get()))
    else:
        flake.put(replace(flake.get(), stock=chosen.get()))
