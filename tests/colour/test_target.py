"""A recipe for a wanted colour: against brute force, against forward blends, and in words."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from blendlab.checks import InputError
from blendlab.colour import simplex, spectra
from blendlab.colour.describe_difference import describe
from blendlab.colour.difference import delta_e00
from blendlab.colour.means import area_mean, as_light, as_pigment, full_blend
from blendlab.colour.pigment import palette
from blendlab.colour.spaces import Colour
from blendlab.colour.target import nearest, wanted_colour
from blendlab.recipe.flake_list import Stocked
from blendlab.recipe.recipe import Recipe, Sheet

WHITE = Stocked("white", "#f2f0e8", grams=900)
YELLOW = Stocked("yellow", "#f0d020", grams=300)
RED = Stocked("red", "#c8202a", grams=200)
BLUE = Stocked("blue", "#14409a", grams=250)
BLACK = Stocked("black", "#1a1a1a", grams=40)
STOCK = (
    WHITE,
    YELLOW,
    RED,
    BLUE,
    BLACK,
    Stocked("green", "#1f7a45"),
    Stocked("natural", "#e8e4d8", hide_mm=14),
)
MEANS = {"full": (full_blend, as_pigment), "area": (area_mean, as_light)}


def mixed(shares, mean="full"):
    flakes = tuple(flake.charged(shares[flake.name]) for flake in STOCK if flake.name in shares)
    return MEANS[mean][0](Recipe("made", Sheet(), flakes))


@pytest.mark.parametrize("mean", ["full", "area"])
@pytest.mark.parametrize("wanted", ["#7a8f55", "#ff00ff", "#202020", "#c0b090", "#8090a0"])
@pytest.mark.parametrize("flakes", [(WHITE, YELLOW, BLUE), (RED, BLACK, WHITE), (YELLOW, RED, BLUE)])
def test_no_mix_in_whole_per_cent_is_nearer(flakes, wanted, mean):
    colour = wanted_colour(wanted)
    every = simplex.grid(3, 100)
    average = MEANS[mean][1](palette([flake.charged(1) for flake in flakes]))
    brute = delta_e00(average.lab(every), colour.lab).min()
    best = nearest(colour, flakes, most=3, mean=mean).matches[0]
    # A mix of fewer flakes is preferred where a further flake brings less than 0.05.
    assert best.delta_e00 <= brute + 0.05
    assert best.delta_e00 >= brute - 4  # steps of 1 % are coarse where a flake is strong


@pytest.mark.parametrize("mean", ["full", "area"])
@pytest.mark.parametrize(
    "shares",
    [
        {"blue": 1.0},
        {"white": 0.7, "blue": 0.3},
        {"white": 0.95, "black": 0.05},
        {"yellow": 0.8, "blue": 0.15, "white": 0.05},
        {"white": 0.6, "red": 0.37, "black": 0.03},
    ],
)
def test_a_colour_mixed_from_the_stock_is_recovered(shares, mean):
    answer = nearest(mixed(shares, mean), [f for f in STOCK if f.name in shares], most=3, mean=mean)
    best = answer.matches[0]
    assert answer.remark.startswith("These flakes reach this colour")
    assert best.delta_e00 < 0.05
    assert best.shares == pytest.approx(shares, abs=0.01)


@settings(max_examples=8)
@given(st.permutations(STOCK).map(lambda row: row[:3]), st.lists(st.floats(0.05, 1), min_size=3, max_size=3))
def test_what_can_be_mixed_can_be_matched(flakes, parts):
    shares = {flake.name: part / sum(parts) for flake, part in zip(flakes, parts, strict=True)}
    answer = nearest(mixed(shares), STOCK, most=3)
    assert answer.remark.startswith("These flakes reach this colour")
    assert answer.matches[0].delta_e00 < 0.1


def test_matches_are_sorted_and_give_their_blend():
    answer = nearest(wanted_colour("#7a8f55"), STOCK, most=3, keep=5)
    distances = [round(match.delta_e00, 2) for match in answer.matches]
    assert distances == sorted(distances)
    assert len({frozenset(match.shares) for match in answer.matches}) == len(answer.matches) == 5
    for match in answer.matches:
        assert sum(match.shares.values()) == pytest.approx(1)
        assert 1 <= len(match.shares) <= 3
        assert delta_e00(mixed(match.shares).lab, match.blend.lab) < 1e-6
        assert delta_e00(answer.wanted.lab, match.blend.lab) == pytest.approx(match.delta_e00, abs=1e-9)


def test_more_flakes_are_never_worse():
    distances = [
        nearest(wanted_colour("#557066"), STOCK, most=most).matches[0].delta_e00 for most in (1, 2, 3, 4)
    ]
    assert distances == sorted(distances, reverse=True)


def test_no_flake_is_used_beyond_its_grams():
    free = nearest(wanted_colour("#303438"), STOCK, most=3).matches[0]
    answer = nearest(wanted_colour("#303438"), STOCK, most=3, mass_g=400)
    on_hand = {flake.name: flake.grams for flake in STOCK}
    assert any(share * 400 > on_hand[name] for name, share in free.shares.items())
    for match in answer.matches:
        assert all(share * 400 <= on_hand[name] * (1 + 1e-9) for name, share in match.shares.items())


def test_a_short_stock_is_named():
    shed = (Stocked("white", "#f2f0e8", grams=900), Stocked("blue", "#14409a", grams=3))
    answer = nearest(Colour.from_hex("#14409a"), shed, mass_g=200)
    assert answer.remark.startswith("These flakes cannot reach this colour")
    assert "With enough on hand of blue it would be 0.0." in answer.remark


def test_many_flakes_with_little_of_each_still_make_up_the_mass():
    rng = np.random.default_rng(2)
    shed = [
        Stocked(f"kind {n}", "#{:02x}{:02x}{:02x}".format(*rng.integers(20, 240, 3)), grams=26)
        for n in range(40)
    ]
    match = nearest(wanted_colour("#808080"), shed, most=4, mass_g=100).matches[0]
    assert len(match.shares) == 4
    with pytest.raises(
        InputError, match=r"at most 3 flakes on hand must make up the mass of 100 g, got \d+ g at most"
    ):
        nearest(wanted_colour("#808080"), shed, most=3, mass_g=100)


def test_a_colour_out_of_reach_is_answered_with_how_the_nearest_differs():
    greys = (WHITE, BLACK)
    vivid = nearest(wanted_colour("#d01020"), greys)
    assert vivid.remark.startswith("These flakes cannot reach this colour")
    assert "duller" in vivid.remark
    bright = nearest(wanted_colour("#ffffff"), (Stocked("grey", "#808080"),))
    assert bright.remark.endswith("darker.")


@pytest.mark.parametrize(
    ("wanted", "got", "word"),
    [
        ((50, 40, 0), (50, 28, 28), "yellower"),
        ((50, 40, 0), (50, 28, -28), "bluer"),
        ((50, 0, 40), (50, 28, 28), "redder"),
        ((50, 0, 40), (50, -28, 28), "greener"),
        ((50, 10, 0), (50, 40, 0), "more vivid"),
        ((50, 0, 0), (70, 0, 0), "lighter"),
        ((50, 0, 0), (50, 0, -20), "bluer"),
    ],
)
def test_each_kind_of_difference_has_its_word(wanted, got, word):
    assert word in describe(Colour.from_lab(wanted), Colour.from_lab(got), 9.0, 1.0)


@pytest.mark.parametrize(
    "text", ["", "blue", "#12", "14409a", "50, 10", "101, 0, 0", "50, x, 0", "50, 0, nan"]
)
def test_text_that_is_not_a_colour_is_refused(text):
    with pytest.raises(InputError, match="wanted colour"):
        wanted_colour(text)


def test_a_wanted_colour_is_hex_or_lab():
    assert wanted_colour(" #14409A ").srgb == "#14409a"
    assert wanted_colour("50, 10.5 -20").lab == pytest.approx((50, 10.5, -20))


@pytest.mark.parametrize(
    ("options", "said"),
    [
        ({"stock": ()}, "the flake list must hold a flake, got nothing"),
        ({"most": 0}, "the number of flakes to use must be a whole number from 1 to 4, got 0"),
        ({"most": 5}, "got 5"),
        ({"mass_g": 0}, "the total mass in grams must be a number above 0, got 0"),
        ({"mass_g": 5000}, "must make up the mass of 5000 g, got 1690 g"),
        ({"mean": "both"}, "the mean to match must be one of those known, got 'both'"),
    ],
)
def test_an_impossible_search_is_refused(options, said):
    with pytest.raises(InputError) as refusal:
        nearest(wanted_colour("#808080"), **{"stock": STOCK, **options})
    assert said in str(refusal.value)


def test_blends_of_the_search_are_those_of_the_recipe():
    flakes = palette([flake.charged(1) for flake in STOCK])
    shares = np.full(len(STOCK), 1 / len(STOCK))
    assert as_pigment(flakes).lab(shares) == pytest.approx(mixed({f.name: 1 for f in STOCK}).lab, abs=1e-9)
    assert as_light(flakes).amounts == pytest.approx(spectra.xyz1_from_reflectance(flakes.reflectance))
