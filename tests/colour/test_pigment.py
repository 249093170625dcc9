"""Blends: published mixes, strength of flakes, and the laws of mixing."""

import tomllib
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from blendlab.colour import film, pigment, saunderson, spectra
from blendlab.colour.difference import delta_e00
from blendlab.colour.pigment import Palette, palette
from blendlab.colour.spaces import Colour, lab_from_xyz1
from blendlab.recipe.recipe import Flake

MIX = tomllib.loads(
    (Path(__file__).parents[1] / "reference" / "colour" / "kubelka_munk.toml").read_text(encoding="utf-8")
)["mix"]

WHITE = Flake("white", "#f2f0e8", 1)
YELLOW = Flake("yellow", "#f0d020", 1)
RED = Flake("red", "#c8202a", 1)
BLUE = Flake("blue", "#14409a", 1)
BLACK = Flake("black", "#1a1a1a", 1)
NATURAL = Flake("natural", "#e8e4d8", 1, hide_mm=14)

flakes = st.builds(
    Flake,
    name=st.just("any"),
    srgb=st.integers(0, 0xFFFFFF).map(lambda value: f"#{value:06x}"),
    grams=st.just(1.0),
    hide_mm=st.none() | st.floats(0.01, 200),
)
some = settings(max_examples=40)  # palettes take a few milliseconds each
charges = st.integers(1, 6).flatmap(
    lambda n: st.tuples(
        st.lists(flakes, min_size=n, max_size=n), st.lists(st.floats(0.01, 1), min_size=n, max_size=n)
    )
)


def lab_of(found, shares):
    return lab_from_xyz1(spectra.xyz1_from_reflectance(pigment.blend(found, shares)))


def as_pigments(k, s):
    k, s = np.array(k, dtype=float), np.array(s, dtype=float)
    return Palette(("a", "b", "c"), film.thick(k, s), k, s, refractive_index=1.0)


def test_five_band_mix_of_single_constants():
    # test vectors of the open-source colour library Unicolour
    rows = film.k_over_s(MIX["rows"])
    found = pigment.blend(as_pigments(rows, np.ones_like(rows)), MIX["shares"])
    assert found == pytest.approx(MIX["single_constant"]["blend"], abs=5e-15)


def test_five_band_mix_of_two_constants():
    # test vectors of the open-source colour library Unicolour, then with Saunderson's correction
    two = MIX["two_constants"]
    found = pigment.blend(as_pigments(MIX["rows"], two["scattering"]), MIX["shares"])
    assert found == pytest.approx(two["blend"], abs=5e-15)
    assert saunderson.saunderson(found, two["k1"], two["k2"]) == pytest.approx(two["seen"], abs=5e-15)


@given(flakes, st.floats(1, 2))
def test_a_flake_alone_is_its_own_colour(flake, n):
    found = palette([flake], refractive_index=n)
    assert pigment.blend(found, [1.0]) == pytest.approx(found.reflectance[0], rel=1e-9)
    assert delta_e00(lab_of(found, [1.0]), Colour.from_hex(flake.srgb).lab) < 0.05


@given(flakes, st.floats(0.01, 0.99))
def test_a_colour_blended_with_itself_is_itself(flake, share):
    found = palette([flake, flake])
    assert pigment.blend(found, [share, 1 - share]) == pytest.approx(found.reflectance[0], rel=1e-9)


@some
@given(charges, st.randoms(use_true_random=False))
def test_the_order_of_flakes_is_irrelevant(charge, shuffler):
    rows, shares = charge
    order = list(range(len(rows)))
    shuffler.shuffle(order)
    straight = pigment.blend(palette(rows), shares)
    shuffled = pigment.blend(palette([rows[i] for i in order]), [shares[i] for i in order])
    assert shuffled == pytest.approx(straight, rel=1e-9)


@some
@given(charges, st.floats(0.01, 100))
def test_only_proportions_count(charge, scale):
    rows, shares = charge
    found = palette(rows)
    assert pigment.blend(found, np.array(shares) * scale) == pytest.approx(
        pigment.blend(found, shares), rel=1e-9
    )


@some
@given(charges, st.floats(0.1, 0.9))
def test_splitting_a_flake_in_two_rows_changes_nothing(charge, part):
    rows, shares = charge
    split = pigment.blend(palette([*rows, rows[0]]), [shares[0] * part, *shares[1:], shares[0] * (1 - part)])
    assert split == pytest.approx(pigment.blend(palette(rows), shares), rel=1e-9)


@some
@given(charges)
def test_a_blend_is_between_its_flakes(charge):
    rows, shares = charge
    found = palette(rows)
    blended = pigment.blend(found, shares)
    slack = 1e-9
    assert np.all(blended >= found.reflectance.min(axis=0) - slack)
    assert np.all(blended <= found.reflectance.max(axis=0) + slack)


@some
@given(charges)
def test_compiled_path_equals_the_plain_one(charge):
    rows, shares = charge
    found = palette(rows)
    corners = np.vstack([shares, np.eye(len(rows))]).astype(np.float32)
    expected = spectra.xyz1_from_reflectance(pigment.blend(found, corners))
    assert pigment.light_of(corners, found) == pytest.approx(expected, abs=1e-4)


def test_compiled_path_takes_any_number_of_rows():
    found = palette([WHITE, BLUE])
    shares = np.random.default_rng(1).dirichlet([1, 1], 5000).astype(np.float32)
    expected = spectra.xyz1_from_reflectance(pigment.blend(found, shares))
    assert pigment.light_of(shares, found) == pytest.approx(expected, abs=1e-4)
    assert pigment.light_of(shares[:0], found).shape == (0, 3)


@pytest.mark.parametrize("given_mm", [0.05, 0.6, 14.0])
def test_a_given_hiding_thickness_passes_the_hiding_test(given_mm):
    found = palette([Flake("blue", "#14409a", 1, hide_mm=given_mm)])
    k, s = found.k_per_mm[0], found.s_per_mm[0]
    black, paper = (
        spectra.luminance(saunderson.seen_from_inside(film.over(rg, k, s, given_mm), found.inner_reflection))
        for rg in (0.0, 0.8)
    )
    assert black / paper == pytest.approx(0.98, abs=1e-8)
    assert pigment.hide_mm(found) == pytest.approx([given_mm], rel=1e-7)


def test_estimated_hiding_thickness_is_realistic():
    # Common practice: moulded caps and crates, some 1 to 2 mm thick, hide what is behind; dark ones sooner.
    white, yellow, red, blue, black = pigment.hide_mm(palette([WHITE, YELLOW, RED, BLUE, BLACK]))
    assert 0.8 < white < 1.5
    assert 0.5 < yellow < 1.5
    assert 0.5 < red < 1.6
    assert 0.4 < blue < 0.9
    assert 0.08 < black < 0.15


def test_a_perfect_black_has_finite_strength():
    pure, usual = palette([Flake("pure", "#000000", 1)]), palette([BLACK])
    assert pigment.hide_mm(pure) == pytest.approx([0.1], rel=1e-7)
    assert pure.k_per_mm.max() < 3 * usual.k_per_mm.max()


def test_a_little_black_swamps_white_and_natural_hardly_dilutes():
    darkened = lab_of(palette([WHITE, BLACK]), [0.95, 0.05])[0]
    assert darkened < lab_of(palette([WHITE]), [1.0])[0] - 25
    blue = lab_of(palette([BLUE]), [1.0])
    diluted = lab_of(palette([BLUE, NATURAL]), [0.5, 0.5])
    whitened = lab_of(palette([BLUE, WHITE]), [0.5, 0.5])
    assert delta_e00(blue, diluted) < delta_e00(blue, whitened) / 2


def test_yellow_with_blue_turns_green():
    # common practice in pigment mixing, unlike the grey of light mixing
    _, a, b = lab_of(palette([YELLOW, BLUE]), [0.8, 0.2])
    assert a < -15
    assert b > 0


@some
@given(charges)
def test_reach_is_where_63_percent_has_returned(charge):
    rows, shares = charge
    found = palette(rows)
    k, s = pigment.mixed(found, shares)
    inside = film.over(0.0, k, s, pigment.light_depth_mm(found, shares))
    part = spectra.luminance(saunderson.seen_from_inside(inside, found.inner_reflection))
    assert part == pytest.approx(0.63 * spectra.luminance(pigment.blend(found, shares)), rel=1e-6)


def test_light_reaches_deeper_into_natural_than_into_black():
    depths = [pigment.light_depth_mm(palette([flake]), [1.0]) for flake in (BLACK, BLUE, WHITE, NATURAL)]
    assert depths == sorted(depths)
    assert depths[0] < 0.1
    assert depths[3] > 1


FLAT = tuple((float(nm), 0.3) for nm in range(400, 701, 10))


def test_a_measured_spectrum_replaces_the_colour():
    measured = palette([Flake("measured", "#ff0000", 1, spectrum=FLAT, hide_mm=0.8)])
    assert measured.reflectance[0] == pytest.approx(np.full(32, 0.3), rel=1e-9)
    assert pigment.hide_mm(measured) == pytest.approx([0.8], rel=1e-7)


def test_a_spectrum_of_a_colour_blends_like_that_colour():
    seen = palette([BLUE]).reflectance[0]
    points = tuple(zip(spectra.WAVELENGTH_NM.tolist(), seen.tolist(), strict=True))
    blended = [
        lab_of(palette([WHITE, each]), [0.8, 0.2])
        for each in (BLUE, Flake("spectrum", "#14409a", 1, spectrum=points))
    ]
    # Bands average the straight lines between the points: a little smoother than the points themselves.
    assert delta_e00(*blended) < 1.5


def test_no_face_no_correction():
    bare = palette([BLUE], refractive_index=1.0)
    assert bare.inner_reflection == 0
    assert bare.k_per_mm / bare.s_per_mm == pytest.approx(film.k_over_s(bare.reflectance), rel=1e-9)


@pytest.mark.parametrize(
    ("first", "second"),
    [("#f0d020", "#14409a"), ("#f0d020", "#1d6fb8"), ("#c8202a", "#f2f0e8"), ("#14409a", "#f2f0e8")],
)
def test_hue_agrees_with_another_librarys_pigment_mixing(first, second):
    # coloraide-extras, "spectral" interpolation (single-constant Kubelka-Munk), halfway
    coloraide = pytest.importorskip("coloraide")
    mixing = pytest.importorskip("coloraide_extras.interpolate.spectral")

    class Other(coloraide.Color):
        pass

    Other.register(mixing.Spectral())
    _, a, b = Other(first).mix(second, 0.5, method="spectral").convert("lab-d65").coords()
    found = palette([Flake("first", first, 1), Flake("second", second, 1)])
    track = lab_of(found, np.stack([np.linspace(0.05, 0.95, 19), np.linspace(0.95, 0.05, 19)], -1))
    turned = np.abs(np.angle((track[:, 1] + 1j * track[:, 2]) / (a + 1j * b), deg=True))
    # Theirs has no strength of pigments, so some share of ours must have their hue, within a hue family.
    assert turned.min() < 15


@pytest.mark.parametrize("srgb", ["#c8202a", "#1f7a45", "#14409a", "#f0d020"])
def test_white_lightens_and_keeps_the_hue_family(srgb):
    # common practice in pigment mixing
    found = palette([Flake("colour", srgb, 1), WHITE])
    labs = lab_of(found, np.array([[1.0, 0.0], [0.7, 0.3], [0.4, 0.6]]))
    assert np.all(np.diff(labs[:, 0]) > 0) or srgb == "#f0d020"
    hue = np.angle(labs[:, 1] + 1j * labs[:, 2], deg=True)
    assert np.abs((hue - hue[0] + 180) % 360 - 180).max() < 45
