"""The laying in a batch: grams for each lay and load, steps at their minute, and the view on the card."""

import io
import re
from datetime import date

import numpy as np
import pypdf
import pytest

from blendlab.checks import InputError
from blendlab.folding.overflow import overflow
from blendlab.io.pictures import png_bytes
from blendlab.recipe.lay import PLACES, Lay
from blendlab.recipe.lay_words import lay_words
from blendlab.recipe.recipe import Flake, Folding, Recipe, Sheet
from blendlab.workshop.batch_plan import as_json, plan
from blendlab.workshop.card.batch_card import card_pdf
from blendlab.workshop.laying import laid_grams, lay_lines, spread_lines
from blendlab.workshop.order import Order
from blendlab.workshop.press_setup import PressSetup
from blendlab.workshop.wording import plan_lines, programme

FLAKES = (Flake("white", "#f1eee4", 90), Flake("blue", "#1d4f8f", 60), Flake("gold", "#f0ac2b", 20))
LAYS = (
    Lay(("white",), "layer", grams=(("white", 60.0),)),
    Lay(("white", "blue"), "layer"),
    Lay(("gold",), "scatter", before_press=2),
)


def batch(lays=LAYS, folding=None, **press):
    recipe = Recipe("Tile", Sheet(200, 200, 6), FLAKES, folding or Folding(folds=3), lays=lays)
    return plan(recipe, Order(170, 170, 6), PressSetup(**press))


@pytest.mark.parametrize("loads", [1, 2])
def test_the_grams_of_all_lays_are_those_of_a_load(loads):
    found = batch(largest_load_g=200 if loads == 1 else 100)
    assert found.loads == loads
    laid = laid_grams(found.recipe, found.load_g)
    for part in found.portions:
        assert sum(grams.get(part.flake.name, 0) for _, grams in laid) == pytest.approx(part.load_g)
    assert laid[0][1]["white"] == pytest.approx(60 / 90 * found.portions[0].load_g)
    rows = as_json(found)["lays"]
    assert [row["place"] for row in rows] == ["layer", "layer", "scatter"]
    assert sum(sum(row["grams"].values()) for row in rows) == pytest.approx(found.load_g, abs=0.03)


def test_a_stirred_batch_says_nothing_of_lays():
    found = batch(lays=())
    assert "lays" not in as_json(found)
    assert lay_lines(found.recipe, found.load_g) == ()
    assert not [line for line in plan_lines(found) if line.startswith("Lay")]


def test_the_plan_lists_the_lays_in_their_order():
    lines = plan_lines(batch())
    at = lines.index("Lay in this order:")
    assert [line[:4] for line in lines[at + 1 : at + 4]] == ["  1.", "  2.", "  3."]
    assert lines[at + 1].endswith(" g white: in a level layer")
    assert lines[at + 3].endswith(" g gold: strewn on fold 2 before its press")


def test_steps_name_chips_and_turns_at_their_minute():
    folds = [line for line in programme(batch()) if "fold (half)" in line]
    assert [("strew" in line, "turn it a quarter" in line) for line in folds] == [
        (False, False),
        (True, True),
        (False, True),
    ]
    assert " g gold over it and close again within " in folds[1]
    listed = Folding(moves=("half", "flip", "half", "turn", "thirds", "flip"))
    folds = [line for line in programme(batch(folding=listed)) if "fold (" in line]
    assert "turn it" not in folds[0]
    assert "Open, turn it over, fold (half), strew " in folds[1]
    assert "Open, turn it a quarter, fold (thirds) and close again within " in folds[2]
    assert folds[2].endswith("; once it is pressed, turn it over")


def test_chips_for_a_press_that_does_not_happen_are_refused():
    with pytest.raises(InputError, match="a press of the recipe, 0 to 1, got 2; strew the chips before"):
        batch(folding=Folding(folds=1))


def test_the_card_names_every_lay_and_shows_the_laid_charge():
    picture = png_bytes(np.full((30, 30, 3), 200, dtype=np.uint8), px_per_mm=1)
    pages = [
        pypdf.PdfReader(io.BytesIO(card_pdf(found, picture=picture, made_on=date(2026, 3, 14)))).pages[0]
        for found in (batch(), batch(lays=()))
    ]
    laid, stirred = (" ".join(page.extract_text().split()) for page in pages)
    assert "LAY, IN THIS ORDER" in laid
    assert "strewn on fold 2 before its press" in laid
    assert "LAY, IN THIS ORDER" not in stirred
    assert [len(page.images) for page in pages] == [2, 1]


def test_what_a_place_cannot_hold_is_reported_in_grams():
    """A heap 40 mm wide through the whole slab holds pi*20**2/200**2 of its volume, 5.3 g of 170 g."""
    recipe = Recipe(
        "Tile", Sheet(), FLAKES, lays=(Lay(("white", "gold")), Lay(("blue",), "heaps", width_mm=40))
    )
    held = np.pi * 20**2 / 200**2 * 170
    assert overflow(recipe)[1] == pytest.approx(1 - held / 60, abs=0.005)
    (line,) = spread_lines(recipe, 170)
    said = re.fullmatch(
        r"Lay 2 is more than its place holds: ([\d.]+) g of it spread to its neighbours.", line
    )
    assert float(said[1]) == pytest.approx(60 - held, abs=0.3)
    chips = (Lay(("white", "blue")), Lay(("gold",), "scatter"))
    assert overflow(Recipe("Tile", Sheet(), FLAKES, lays=chips)) == {}
    thick = Recipe("Tile", Sheet(thickness_mm=20), FLAKES, lays=chips)  # 20/170 of 20 mm is 2.4 mm: over 1.6
    assert overflow(thick)[1] == pytest.approx(1 - 1.6 / (20 / 170 * 20))
    fits = (Lay(("white", "gold")), Lay(("blue",), "heaps", width_mm=140))
    assert overflow(Recipe("Tile", Sheet(), FLAKES, lays=fits)) == {}


def test_every_place_has_its_own_words():
    said = {lay_words(Lay(("any",), place)) for place in PLACES}
    assert len(said) == len(PLACES)
    assert lay_words(Lay(("any",), "stripes", angle_deg=90)) == "in 4 stripes across the length"
    assert (
        lay_words(Lay(("any",), "heaps", where_mm=((40, -3.5),)))
        == "in a heap at 40, -3.5 mm from the middle"
    )
    assert lay_words(Lay(("any",), "gradient", angle_deg=-90)) == "thinning from the back to the front"


def test_steps_and_card_name_the_spacers_where_presses_differ():
    folding = Folding(moves=("half", "half", "half"), spacers_mm=(5.0, 8.0, 6.0))
    found = batch(folding=folding)
    sheet = found.spacer_mm.usual
    heights = [f"on {sheet * ratio:.1f} mm spacers" for ratio in (1.0, 5 / 6, 8 / 6, 1.0)]
    lines = [line for line in programme(found) if "spacers" in line]
    assert [on for on, line in zip(heights, lines, strict=True) if on in line] == heights
    assert not [line for line in programme(batch()) if "spacers" in line]
    picture = png_bytes(np.full((30, 30, 3), 200, dtype=np.uint8), px_per_mm=1)
    card = card_pdf(found, picture=picture, made_on=date(2026, 3, 14))
    words = " ".join(pypdf.PdfReader(io.BytesIO(card)).pages[0].extract_text().split())
    assert "in the boxes: spacers, mm" in words
    assert " ".join(f"{sheet * ratio:.1f}" for ratio in (1.0, 5 / 6, 8 / 6, 1.0)) in words
