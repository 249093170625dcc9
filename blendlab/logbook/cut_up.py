"""Cutting up a logged sheet: what is left of it becomes a flake on the list."""

from pathlib import Path

from .. import checks
from ..recipe.flake_list import Stocked
from ..recipe.offcut import Offcut
from . import stock
from .logged_sheet import LoggedSheet

MAX_SIDE_MM = 100.0  # side of a piece


def left_g(sheet: LoggedSheet) -> float:
    """Return what may be left of a sheet: its weight, measured or predicted, or the flakes that went in."""
    predicted = sheet.prediction.get("cold_g")
    if sheet.weight_g:
        return sheet.weight_g
    if isinstance(predicted, int | float) and predicted > 0:
        return float(predicted)
    return sum(flake.grams for flake in sheet.recipe.flakes)


def pieces_of(sheet: LoggedSheet, name: str, grams: float, side_mm: float) -> Stocked:
    """Return a logged sheet as a flake on hand.

    Parameters
    ----------
    name : str
        Of the flake.
    grams : float
        What was cut up, g, above 0.
    side_mm : float
        Length and width of a piece, mm, 0.2-100; it is as thick as the sheet.

    Raises
    ------
    InputError
        Where a value breaks its rule, or the sheet holds offcuts of offcuts that are too deep already.
    """
    offcut = Offcut(sheet.recipe, sheet.recipe.folding.folds)
    return Stocked(
        name,
        offcut.srgb,
        grams=checks.positive("grams that are cut up", grams, "weigh what is left"),
        source=f"{sheet.recipe.name}, pressed on {sheet.pressed_on.isoformat()}",
        size_mm=(side_mm, side_mm, min(offcut.sheet_mm[2], MAX_SIDE_MM)),
        cut_from=offcut,
    )


def put(home: Path, pieces: Stocked) -> None:
    """Put pieces on the list, or to the same ones that are there already.

    InputError where another flake has their name, or the log cannot be written.
    """
    listed = {flake.name: flake for flake in stock.stock(home)}
    known = listed.get(pieces.name)
    if known is None:
        stock.put(home, [pieces])
    elif (known.cut_from, known.size_mm) == (pieces.cut_from, pieces.size_mm):
        stock.add(home, pieces.name, pieces.grams)
    else:
        checks.refuse(
            "offcuts need a name of their own", pieces.name, "another flake has it: choose a new one"
        )
