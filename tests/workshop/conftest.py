from datetime import date

import pytest

from blendlab.logbook.log import Logged
from blendlab.recipe.flake_list import Stocked
from blendlab.recipe.recipe import Flake, Folding, Recipe, Sheet

RECIPE = Recipe(
    "Harbour tile",
    Sheet(215.8, 215.8, 7.09),
    (Flake("white", "#f2f0e8", 150.25), Flake("bottle-crate blue", "#14409a", 50.1, hide_mm=0.6)),
    Folding(folds=4),
)


@pytest.fixture
def sheet():
    return Logged(
        pressed_on=date(2026, 3, 14),
        recipe=RECIPE,
        programme=("melt 3 min", "fold 1, press 90 s"),
        length_mm=200.5,
        weight_g=198.25,
        notes="a little lively\nkeep the blue",
        rating=4,
        prediction={"folds": 4, "mean": {"lab": [71.25, -1.5, -9.75], "srgb": "#a4b0bf"}},
    )


@pytest.fixture
def flakes():
    return (
        Stocked("white", "#f2f0e8", grams=1000.125, piece_g=2.3, source="caps, the café"),
        Stocked("bottle-crate blue", "#14409a", hide_mm=0.6, grams=400),
        Stocked("=SUM(A1:A9)", "#101010", grams=0.001, source="+1 crate"),
    )
