"""Places of lays: their mirrors and turns, their widths, and what does not fit."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from blendlab.folding.charge import lay_charge
from blendlab.folding.places import Turn, distance_mm, heap_middles, score, turns
from blendlab.recipe.lay import Lay
from blendlab.recipe.recipe import Flake, Recipe, Sheet

SIZE = (160.0, 100.0, 8.0)
SPOTS = np.random.default_rng(0).uniform((-80, -50, 0), (80, 50, 8), (500, 3))
MIRRORS = [(-1, 1, 1), (1, -1, 1), (-1, -1, 1)]


def away(spots, place, turn=None, size=SIZE, **options):
    return distance_mm(Lay(("any",), place, **options), turn or Turn(), spots, size)


@pytest.mark.parametrize("mirror", MIRRORS)
@pytest.mark.parametrize(
    ("place", "options"),
    [
        ("border", {}),
        *(("heaps", {"count": count}) for count in range(1, 13)),
        *(("stripes", {"count": 5, "angle_deg": angle}) for angle in (0, 90, 180)),
        ("quarters", {"count": 3}),
    ],
)
def test_a_place_is_its_own_mirror_image(place, options, mirror):
    assert away(SPOTS * mirror, place, **options) == pytest.approx(away(SPOTS, place, **options))


@pytest.mark.parametrize("angle", [-30.0, 17.0, 60.0])
def test_slanting_stripes_turn_into_themselves_by_half_a_turn_and_mirror_to_the_other_slant(angle):
    half_turned, mirrored = SPOTS * (-1, -1, 1), SPOTS * (1, -1, 1)
    here = away(SPOTS, "stripes", angle_deg=angle)
    assert away(half_turned, "stripes", angle_deg=angle) == pytest.approx(here)
    assert away(mirrored, "stripes", angle_deg=-angle) == pytest.approx(here)


def test_a_quarter_turn_of_a_square_slab_turns_stripes_and_leaves_the_rest():
    square, turned = (120.0, 120.0, 8.0), SPOTS[:, [1, 0, 2]] * (-1, 1, 1)
    crossed = away(turned, "stripes", size=square, angle_deg=90)
    assert crossed == pytest.approx(away(SPOTS, "stripes", size=square, angle_deg=0))
    for place, options in (("border", {}), ("heaps", {"count": 4}), ("quarters", {"count": 3})):
        assert away(turned, place, size=square, **options) == pytest.approx(
            away(SPOTS, place, size=square, **options)
        )


def test_the_fields_of_two_lays_swap_in_a_mirror_and_cover_the_board():
    for count in (2, 4, 6):
        first, second = (away(SPOTS, "quarters", Turn(n, 2), count=count) for n in (0, 1))
        assert away(SPOTS * (-1, 1, 1), "quarters", Turn(0, 2), count=count) == pytest.approx(second)
        assert np.array_equal(first < 0, second > 0)


def test_each_of_four_lays_has_a_quarter():
    found = np.array([away(SPOTS, "quarters", Turn(n, 4)) < 0 for n in range(4)])
    assert (found.sum(axis=0) == 1).all()
    assert np.array_equal(found[2], (SPOTS[:, 0] < 0) & (SPOTS[:, 1] > 0))


def test_a_gradient_turned_about_is_the_other_way_round():
    chance = np.random.default_rng(1).random(len(SPOTS))
    ways = [score(Lay(("any",), "gradient", angle_deg=a), Turn(), SPOTS, SIZE, chance) for a in (0, 180)]
    mirrored = score(Lay(("any",), "gradient"), Turn(), SPOTS * (-1, 1, 1), SIZE, chance)
    assert mirrored == pytest.approx(ways[1])
    assert not np.allclose(ways[0], ways[1])


def test_stripes_lie_in_the_order_of_laying_and_fill_their_pitch():
    lays = [Lay((name,), "stripes", count=3) for name in "abc"] + [Lay(("d",))]
    found = turns(lays, np.array([0.2, 0.4, 0.3, 0.1]))
    assert [turn.middle for turn in found[:3]] == pytest.approx([0.05 + 0.1, 0.05 + 0.4, 0.05 + 0.75])


@pytest.mark.parametrize("count", range(1, 13))
def test_heaps_are_as_many_as_asked_and_within_the_slab(count):
    found = heap_middles(Lay(("any",), "heaps", count=count), SIZE)
    assert len({tuple(middle) for middle in found.tolist()}) == count
    assert (np.abs(found) < np.array(SIZE[:2]) / 2).all()


def laid(*lays, grams=(70, 30), sheet=None, size=(3.0, 3.0, 0.5)):
    flakes = tuple(
        Flake(name, "#808080", g, size_mm=size) for name, g in zip("abcd"[: len(grams)], grams, strict=True)
    )
    sheet = sheet or Sheet(60.0, 60.0, 6.0)
    return lay_charge(Recipe("Tile", sheet, flakes, lays=lays), np.random.default_rng(4))


def spots_of(charge, kind, count=40_000):
    spots = np.random.default_rng(5).uniform((-30, -30, 0), (30, 30, 6), (count, 3))
    return spots[charge.kinds_at(spots) == kind]


def test_a_border_is_as_wide_as_its_grams_make_it():
    """The ring of width w on a square of side L has the part 1 - (1 - 2w/L)**2 of its area."""
    found = spots_of(laid(Lay(("b",), "border"), Lay(("a",))), 1)
    width = 30.0 * (1 - np.sqrt(0.7))
    rim = 30.0 - np.abs(found[:, :2]).max(axis=1)
    assert np.quantile(rim, 0.97) == pytest.approx(width, abs=1.0)
    assert rim.mean() == pytest.approx(width / 2, rel=0.1)


def test_a_heap_without_a_width_is_a_disc_through_the_slab():
    found = spots_of(laid(Lay(("a",)), Lay(("b",), "heaps")), 1)
    radius = 60.0 * np.sqrt(0.3 / np.pi)
    assert np.hypot(*found[:, :2].T).mean() == pytest.approx(2 / 3 * radius, rel=0.03)
    assert found[:, 2].mean() == pytest.approx(3.0, abs=0.1)


def test_what_has_a_width_lies_as_deep_as_its_grams_need_over_what_was_laid_before():
    """A heap 50 mm wide of 30 % of the slab is 0.3 * 60 * 60 * 6 / (pi * 25**2) = 3.3 mm deep."""
    deep = 0.3 * 60 * 60 * 6 / (np.pi * 25**2)
    over = spots_of(laid(Lay(("a",)), Lay(("b",), "heaps", width_mm=50)), 1)
    under = spots_of(laid(Lay(("b",), "heaps", width_mm=50), Lay(("a",))), 1)
    assert 6.0 - over[:, 2].mean() == pytest.approx(deep / 2, abs=0.15)
    assert under[:, 2].mean() == pytest.approx(deep / 2, abs=0.15)
    assert np.quantile(np.hypot(*over[:, :2].T), 0.99) < 27.0


def test_what_does_not_fit_goes_to_the_spots_next_to_it():
    """A heap of 30 mm holds a fifth of the slab; a third of the slab needs a disc of 37 mm."""
    found = spots_of(laid(Lay(("a",)), Lay(("b",), "heaps", width_mm=30)), 1)
    wide = 2 * 60.0 * np.sqrt(0.3 / np.pi)
    assert np.quantile(np.hypot(*found[:, :2].T), 0.97) == pytest.approx(wide / 2, abs=1.5)
    assert len(found) / 40_000 == pytest.approx(0.3, abs=0.01)


def test_layers_lie_in_their_order_and_their_heights_are_their_grams():
    charge = laid(*(Lay((name,), "layer") for name in "cab"), grams=(20, 50, 30))
    heights = [spots_of(charge, kind)[:, 2].mean() for kind in (2, 0, 1)]
    assert heights == pytest.approx([0.9, 2.4, 4.5], abs=0.1)


@settings(max_examples=10)
@given(st.floats(0.1, 0.9), st.sampled_from([0, 90, -90, 180]))
def test_a_gradient_thins_as_its_power_law_says(part, angle):
    """Its part at u from the thick side is (1 - u)**k with k = (1 - part)/part, the mean place 1/(k + 2)."""
    found = spots_of(laid(Lay(("b",), "gradient", angle_deg=angle), Lay(("a",)), grams=(1 - part, part)), 1)
    c, s = np.cos(np.radians(angle)), np.sin(np.radians(angle))
    u = (found[:, 0] * c + found[:, 1] * s) / 60.0 + 0.5
    assert u.mean() == pytest.approx(1 / ((1 - part) / part + 2), abs=0.03)


def test_chips_strewn_before_the_first_press_lie_in_the_face():
    found = spots_of(laid(Lay(("a",)), Lay(("b",), "scatter"), grams=(96, 4)), 1)
    assert found[:, 2].min() > 4.5
    assert np.abs(found[:, :2].mean(axis=0)).max() < 2.5
