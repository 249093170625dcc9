import io
import re
from dataclasses import replace
from datetime import date, datetime
from functools import cache

import numpy as np
import pypdf
import pytest

from blendlab.checks import InputError
from blendlab.io.pictures import png_bytes
from blendlab.recipe.recipe import Flake, Folding, Recipe, Sheet
from blendlab.units import OZ_IN
from blendlab.workshop.batch_plan import plan
from blendlab.workshop.card.batch_card import card_pdf, card_picture
from blendlab.workshop.card.pdf_page import MARGIN_MM, PAPERS, Box, Paper
from blendlab.workshop.cautions import cautions
from blendlab.workshop.closing import Closing
from blendlab.workshop.order import Order
from blendlab.workshop.press_setup import PressSetup
from blendlab.workshop.wording import duration

DAY = date(2026, 3, 14)
POINTS_A_MM = 72 / 25.4
COLOURS = ("#efece2", "#1d4f8f", "#f0b323", "#4a5560", "#b4452f", "#5b7a3a")


def batch_of(flakes=3, folds=4, order=None, name="Harbour tile", **press):
    charge = tuple(Flake(f"colour {n + 1}", COLOURS[n % 6], 10 + 7 * n) for n in range(flakes))
    recipe = Recipe(name, Sheet(), charge, Folding(folds=folds))
    return plan(recipe, order or Order(180, 150, 6), PressSetup(**press))


PICTURE = png_bytes(np.full((30, 36, 3), (200, 40, 40), dtype=np.uint8), px_per_mm=1)


@cache
def usual():
    return batch_of()


@cache
def largest():
    return batch_of(12, 16, Order(340, 240, 14), "W" * 60, largest_load_g=180)


def read(pdf):
    document = pypdf.PdfReader(io.BytesIO(pdf))
    assert len(document.pages) == 1
    return document.pages[0]


def words(pdf):
    return " ".join(read(pdf).extract_text().split())


def test_the_card_says_it_in_ounces_and_inches():
    # NIST Special Publication 811 (2008), appendix B.8: 1 in is 25.4 mm, 1 oz is 28.349523125 g.
    found = words(card_pdf(replace(usual(), units=OZ_IN), picture=PICTURE, made_on=DAY))
    for part in usual().portions:
        assert f"{part.load_g / 28.349523125:.{3 if part.load_g < 100 else 2}f} oz" in found
    assert f"{usual().spacer_mm.usual / 25.4:.3f} in" in found
    assert "2 in; dashed" in found  # the ruler, in whole inches
    assert not re.search(r"\d (g|mm)\b", found)


@pytest.mark.parametrize("paper", PAPERS)
def test_the_card_says_what_the_batch_says(paper):
    found = words(card_pdf(usual(), picture=PICTURE, made_on=DAY, paper=paper))
    assert "Harbour tile" in found
    assert "14 March 2026" in found
    for part in usual().portions:
        assert part.flake.name in found
        assert f"{part.load_g:.1f} g" in found
        assert f"{part.pieces.usual} pieces" in found
    assert f"{usual().spacer_mm.usual:.1f} mm" in found
    assert f"{usual().hot_length_mm.usual:.0f} × {usual().hot_width_mm.usual:.0f} mm" in found
    assert "180 × 150 × 6 mm" in found
    assert "before: 190 × 160 × 6 mm" in found
    assert "180 °C" in found
    assert duration(usual().times["usual"].release_s) in found
    assert all(f" {fold} " in found for fold in range(1, 5))


@pytest.mark.parametrize("paper", PAPERS)
def test_the_card_carries_every_caution_whole(paper):
    found = words(card_pdf(largest(), picture=PICTURE, made_on=DAY, paper=paper))
    for caution in cautions():
        assert f"{caution.title}. {caution.text}" in found


@pytest.mark.parametrize("paper", PAPERS)
@pytest.mark.parametrize("made", [usual, largest, lambda: batch_of(1, 0, Order(30, 30, 1, trim_mm=0))])
def test_everything_lies_within_the_margins(paper, made):
    """Also seen as pixels: the border of the page is white all round."""
    pdf = card_pdf(made(), picture=PICTURE, made_on=DAY, paper=paper)
    width, height = (float(side) / POINTS_A_MM for side in read(pdf).mediabox[2:])
    assert (width, height) == pytest.approx(PAPERS[paper], abs=0.01)
    page = card_picture(pdf, px_per_mm=4)
    assert page.shape[:2] == pytest.approx((height * 4, width * 4), abs=1)
    edge = int((MARGIN_MM - 0.6) * 4)
    assert page.min() < 60
    for border in (page[:edge], page[-edge:], page[:, :edge], page[:, -edge:]):
        assert border.min() == 255


def test_the_card_says_what_ages_and_what_closes():
    """Time at temperature, minutes a press and pressure."""
    found = words(card_pdf(usual(), picture=PICTURE, made_on=DAY))
    used = round(usual().ageing.used_minutes)
    assert f"at 200 °C the melt lasts 9 to 39 min: this uses up {used}" in found
    assert "slowest press" not in found
    hands = replace(usual(), closing=plan(usual().recipe, usual().order, closing=Closing("hands")).closing)
    found = words(card_pdf(hands, picture=PICTURE, made_on=DAY))
    assert f"slowest press: {duration(hands.closing.slowest.seconds.usual)}, " in found
    assert " kPa" in found


@pytest.mark.parametrize("width_mm", [30, 33, 36, 39])
def test_no_line_of_a_paragraph_breaks_before_a_unit(width_mm):
    page = Paper("A4", "units", datetime(2026, 3, 14))
    page.paragraph(Box(10, 10, width_mm, 60), "Limits", " ".join(["Stay below 220 °C or 12 mm."] * 6), 9)
    lines = read(page.bytes()).extract_text().splitlines()
    assert len(lines) > 4
    assert [line for line in lines if line.strip().startswith(("°C", "mm"))] == []


def test_text_at_the_press_is_legible_at_an_arms_length():
    """20/20 vision resolves 1 arc minute, a letter has 5: twice that at 0.6 m is a capital of 1.75 mm."""
    sizes = []

    def visit(text, _matrix, _text_matrix, _font, size):
        if text.strip():
            sizes.append(size)

    read(card_pdf(largest(), picture=PICTURE, made_on=DAY)).extract_text(visitor_text=visit)
    capital_mm = 0.727 * min(sizes) / POINTS_A_MM  # Inter's capitals are 0.727 of its size
    assert capital_mm > 2 * 5 * np.radians(1 / 60) * 600
    assert max(sizes) >= 14


def test_a_card_asks_for_part_of_a_piece_that_weighs_more_than_the_batch_needs():
    crate = usual().portions[0]
    batch = plan(usual().recipe, usual().order, piece_g={crate.flake.name: 1800.0})
    found = words(card_pdf(batch, picture=PICTURE, made_on=DAY))
    assert f"{crate.flake.name} part of one piece {crate.load_g:.1f} g" in found
    assert "1 piece" not in found


def test_flakes_can_be_distinguished_without_colour():
    """Each swatch has its letter, name and grams; in grey the page keeps its contrast."""
    pdf = card_pdf(largest(), picture=PICTURE, made_on=DAY)
    found = words(pdf)
    for letter, part in zip("ABCDEFGHIJKL", largest().portions, strict=True):
        row = rf"{letter} {part.flake.name} (\d+ pieces (\(\d+ to \d+\) )?)?{part.load_g:.1f} g"
        assert re.search(row, found)
    grey = card_picture(pdf, px_per_mm=4) @ np.array([0.2126, 0.7152, 0.0722])
    assert (grey < 90).mean() > 0.02
    assert (grey > 240).mean() > 0.6


def test_the_picture_is_there_to_scale():
    pdf = card_pdf(usual(), picture=PICTURE, made_on=DAY)
    page = card_picture(pdf, px_per_mm=4)
    red = (page[..., 0] > 180) & (page[..., 1] < 70)
    rows, columns = np.nonzero(red)
    tall, wide = np.ptp(rows) + 1, np.ptp(columns) + 1
    assert wide / tall == pytest.approx(190 / 160, rel=0.02)
    assert f"Predicted, 1 : {round(190 * 4 / wide, 1):g}" in words(
        card_pdf(usual(), picture=PICTURE, made_on=DAY)
    )


def test_a_small_sheet_is_shown_in_true_size():
    batch = batch_of(order=Order(50, 40, 4, trim_mm=0))
    pdf = card_pdf(batch, picture=PICTURE, made_on=DAY)
    assert "Predicted, true size" in words(pdf)
    page = card_picture(pdf, px_per_mm=4)
    columns = np.nonzero(((page[..., 0] > 180) & (page[..., 1] < 70)).any(axis=0))[0]
    assert (np.ptp(columns) + 1) / 4 == pytest.approx(50, abs=0.6)


def test_each_load_has_a_row_and_all_are_joined():
    found = words(card_pdf(largest(), picture=PICTURE, made_on=DAY))
    assert largest().loads > 1
    assert all(f"Load {load}" in found for load in range(1, min(largest().loads, 6) + 1))
    assert "join" in found


def test_the_same_batch_gives_the_same_card():
    assert card_pdf(usual(), picture=PICTURE, made_on=DAY) == card_pdf(usual(), picture=PICTURE, made_on=DAY)


@pytest.mark.parametrize(
    ("name", "shown"),
    [
        ("Żółty łuk №7", "Żółty łuk №7"),
        ("Ελιά и море", "Ελιά и море"),
        ("<b>bold</b> **x**", "<b>bold</b> **x**"),
        ("瓦 tile", "□ tile"),
    ],
)
def test_names_are_printed_as_they_are(name, shown):
    batch = batch_of(name=name)
    assert shown in words(card_pdf(batch, picture=PICTURE, made_on=DAY))


def test_unknown_paper_is_refused():
    with pytest.raises(InputError, match="paper must be one of those known"):
        card_pdf(usual(), picture=PICTURE, made_on=DAY, paper="A0")
