"""The press calibration: learnt from the log's photos, and switched on, off or back."""

from dataclasses import replace

import numpy as np
import streamlit as st

from ... import checks
from ...io.photo_files import photo_from_bytes
from ...logbook import calibration_data, drafts, photos
from ...logbook.sheet_log import LoggedSheet
from ...photo.press_calibration import PressCalibration, calibrate, log_likelihood, uncalibrated
from ...recipe.folding_moves import USUAL_DRAG, USUAL_UNEVENNESS
from ...recipe.recipe import Recipe
from ...runtime.progress import ProgressCallback
from . import draft, number_fields, refusals, session
from .autosave import home
from .long_task import again, worked
from .style import plain, rows

PAGE = calibration_data.DRAFT
_ROWS = (
    ("drag", "sticking to the liners", USUAL_DRAG),
    ("unevenness", "uneven folding", USUAL_UNEVENNESS),
    ("reach_factor", "depth of light, times", 1.0),
)


def show(sheets: tuple[LoggedSheet, ...], changes: bool) -> None:
    """Show what was learnt, and offer to learn it.

    Parameters
    ----------
    changes : bool
        Whether the log may be changed.
    """
    teaching = [sheet for sheet in sheets if calibration_data.can_calibrate(sheet)]
    st.subheader("Your press")
    st.write(
        "Photos of logged sheets show how your liners grip, how evenly you fold, and how deep "
        "light goes, so that predictions are of your press and not of a usual one."
    )
    known = load()
    if known:
        _show_learnt(known)
        _switch(known)
    if not teaching:
        st.caption("It needs sheets with a photo and a size, of two flakes or more.")
        return
    words = f"Learn from {len(teaching)} photo{'s' if len(teaching) > 1 else ''}"
    if st.button(words, disabled=not changes, on_click=again, args=(PAGE,)):
        _learn(teaching)


def load() -> PressCalibration | None:
    """Return what was learnt last, None where nothing was."""
    return calibration_data.load(home())


def _show_learnt(learnt: PressCalibration) -> None:
    ranges = [(words, getattr(learnt, name), usual) for name, words, usual in _ROWS]
    rows(
        (
            [words, f"{r.usual:.2f}", f"{r.low:.2f} to {r.high:.2f}", f"{usual:g}"]
            for words, r, usual in ranges
        ),
        ["", "yours", "likely", "usual"],
        numbers=(1, 2, 3),
    )
    better = f"A photo is {learnt.likelier:.2g} times as likely with it as with a usual press"
    if learnt.sheets == 1:
        st.caption("Learnt from one photo: how much better it predicts shows from the second on.")
    elif learnt.likelier > 1:
        st.caption(f"{better}, each of {learnt.sheets} judged by what the others taught.")
    else:
        st.caption(f"{better}, so it predicts no better: leave it off until there are more photos.")


def _switch(learnt: PressCalibration) -> None:
    recipe = session.RECIPE.get()
    with st.container(horizontal=True, vertical_alignment="center"):
        _button("Use my press", learnt.applied_to(recipe), recipe)
        _button("Use a usual press", uncalibrated(recipe), recipe)
        before = session.CALIBRATION_BEFORE.get()
        if before:
            drag, unevenness, reach = before
            back = replace(recipe, reach_factor=reach).with_folding(drag=drag, unevenness=unevenness)
            _button("Back to what was set", back, recipe)
        st.button("Forget it", type="tertiary", on_click=drafts.clear, args=(home(), PAGE))


def _button(words: str, worked: Recipe, recipe: Recipe) -> None:
    st.button(words, disabled=worked == recipe, on_click=_take, args=(worked, recipe))


def _take(worked: Recipe, recipe: Recipe) -> None:
    folding = recipe.folding
    session.CALIBRATION_BEFORE.put((folding.drag, folding.unevenness, recipe.reach_factor))
    draft.put(worked)


def _likelihood(sheet: LoggedSheet, words: str) -> np.ndarray | None:
    """Return how likely a sheet's photo is under each calibration, None where stopped."""

    def work(on_progress: ProgressCallback) -> np.ndarray:
        name = str(sheet.photo)
        seen = calibration_data.read_sheet_photo(sheet, photo_from_bytes(photos.read(home(), name), name))
        return log_likelihood(seen, on_progress)

    return worked(PAGE, (sheet, str(home())), words, work)


def _learn(sheets: list[LoggedSheet]) -> None:
    """Weigh the calibrations by each photo; save the result, or nothing where stopped."""
    found, wrong = [], []
    for number, sheet in enumerate(sheets, start=1):
        words = f"Pressing sheet {number} of {len(sheets)} again in many ways …"
        try:
            likelihood = _likelihood(sheet, words)
        except checks.InputError as error:
            why = number_fields.units().sentence(str(error))
            wrong.append(f"{sheet.recipe.name}, {sheet.pressed_on.isoformat()}: {why}.")
            continue
        if likelihood is None:
            return
        found.append(likelihood)
    if wrong:
        st.warning(plain(" ".join(wrong)))
    if not found:
        return
    with refusals.shown():
        calibration_data.save(home(), calibrate(found))
        if not wrong:
            st.rerun()
