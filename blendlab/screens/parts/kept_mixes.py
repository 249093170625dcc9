"""Mixes kept under a name in the log's file: keep the present one, open, rename, remove with undo."""

from collections.abc import Sequence

import streamlit as st

from ... import checks
from ...logbook import mixes
from ...recipe.recipe import Recipe
from . import draft, refusals, session
from .autosave import home
from .number_fields import units
from .session import Value
from .style import capital, label, plain, some


def every() -> tuple[Recipe, ...]:
    """Return the kept mixes, after naming those that cannot be read."""
    found, unread = mixes.every(home())
    for one in unread:
        st.warning(plain(f"{capital(one.what)} cannot be read ({one.reason}). It is kept as it is."))
    return found


def show() -> None:
    """Show the kept mixes, and a field to keep the present one."""
    with refusals.shown():
        found = every()
        _keep_present([mix.name for mix in found])
        for mix in found:
            _row(mix)
    refusals.show(session.MIX_REFUSED.pop(), "Nothing was changed.")
    removed = session.MIX_REMOVED.get()
    if removed is not None:
        with st.container(horizontal=True, vertical_alignment="center"):
            st.text(f"{removed.name} was removed.", width="content")
            st.button("Undo", key="undo mix", on_click=_put_back, args=(removed,))


def _keep_present(names: Sequence[str]) -> None:
    present = draft.recipe()[0]
    with st.container(horizontal=True, vertical_alignment="bottom"):
        key = f"keep as {present.name}"  # starts again with the mix's own name
        name = st.text_input("Keep the present mix as", present.name, key=key, max_chars=60, width=260)
        over = (name or "").strip() in names
        words = "Replace the one kept" if over else "Keep it"
        st.button(words, key="keep mix", type="primary", on_click=_keep, args=(key, over))


def _keep(key: str, over: bool) -> None:
    with refusals.kept(session.MIX_REFUSED):
        name = checks.label("the mix's name", Value(key, "").get())
        session.TITLE.put(name)
        mixes.keep(home(), draft.recipe()[0], over)


def _row(mix: Recipe) -> None:
    with st.container(horizontal=True, vertical_alignment="center", gap="small"):
        inks = "".join(
            f'<span style="background:{flake.srgb};flex:{flake.grams:.6g}"></span>' for flake in mix.flakes
        )
        st.html(f'<div class="shares" aria-hidden="true">{inks}</div>', width=88)
        grams = sum(flake.grams for flake in mix.flakes)
        st.text(f"{mix.name}: {units().mass.text(grams)}, {some(mix.folding.folds, 'fold')}", width=260)
        st.button(label(f"Open {mix.name}"), key=f"open mix {mix.name}", on_click=_open, args=(mix,))
        with st.popover("Rename"):
            key = f"rename {mix.name}"
            st.text_input(label(f"New name of {mix.name}"), mix.name, key=key, max_chars=60)
            st.button("Rename", key=f"do {key}", on_click=_rename, args=(mix.name, key))
        words = label(f"Remove {mix.name}")
        st.button(words, key=f"remove mix {mix.name}", type="tertiary", on_click=_remove, args=(mix,))


def _open(mix: Recipe) -> None:
    draft.land(mix, f"{mix.name} was opened.")


def _rename(name: str, key: str) -> None:
    with refusals.kept(session.MIX_REFUSED):
        mixes.rename(home(), name, Value(key, "").get())


def _remove(mix: Recipe) -> None:
    with refusals.kept(session.MIX_REFUSED):
        mixes.remove(home(), mix.name)
        session.MIX_REMOVED.put(mix)


def _put_back(mix: Recipe) -> None:
    with refusals.kept(session.MIX_REFUSED):
        mixes.keep(home(), mix)
        session.MIX_REMOVED.forget()
