"""A colour chart in a photo: the table, the fit, and photos of real and simulated cameras."""

import csv
import warnings
from pathlib import Path

import numpy as np
import numpy.typing as npt
import pytest

from blendlab.checks import InputError
from blendlab.colour.difference import delta_e00
from blendlab.colour.spaces import lab_from_xyz1, linear_from_srgb1, xyz1_from_linear
from blendlab.photo import chart_fit, photo_advice
from blendlab.photo.chart_fit import ChartFit, fit_chart
from blendlab.photo.colour_chart import read_chart
from blendlab.photo.face import Marks, take_face
from blendlab.photo.falloff import fall_at, relative
from blendlab.photo.flake_colour import flake_colour
from blendlab.photo.light import adapt
from blendlab.photo.rectify import develop
from blendlab.recipe.recipe import Sheet
from blendlab.tables import read_toml

from . import chart_scene as scene
from . import derive_chart

with warnings.catch_warnings():
    warnings.simplefilter("ignore")
    import colour

Floats = npt.NDArray[np.float64]
ALL = np.ones(24, bool)
PHOTOS = Path(__file__).parents[1] / "reference" / "chart" / "photos.csv"
LAMPLIGHT = scene.Shot(scene.CAMERAS[0], "A", (0.95, 1.0, 1.08), saturation=1.1, contrast=0.2)


def photographed(name: str) -> Floats:
    """The patches of a real photo, linear light of sRGB."""
    with PHOTOS.open(encoding="utf-8") as text:
        rows = [row for row in csv.DictReader(text) if row["photo"] == name]
    return linear_from_srgb1(
        np.array([[float(row[c]) / 255 for c in ("red", "green", "blue")] for row in rows])
    )


def test_the_table_is_derived_from_published_charts() -> None:
    """Source: both charts as colour-science distributes them."""
    table = read_toml("chart/chart.toml")
    for edition, labs in derive_chart.derive().items():
        found = {key: row for key, row in table[edition].items() if isinstance(row, list)}
        assert list(found) == derive_chart.keys()
        assert np.abs(np.array(list(found.values())) - labs).max() <= 0.005 + 1e-9


def test_a_chart_measured_by_others_is_near_the_table() -> None:
    """Source: the single chart of ISO 17321-1, by its spectra."""
    other = lab_from_xyz1(derive_chart.xyz1_of("ISO 17321-1"))
    off = delta_e00(other, chart_fit._REFERENCES["older"])
    assert off.mean() < 0.9
    assert off.max() < 2.0


@pytest.mark.parametrize(("name", "by_white", "by_chart"), [("small", 5.0, 2.2), ("large", 4.2, 2.4)])
def test_real_photos_are_read_better_by_the_chart(name: str, by_white: float, by_chart: float) -> None:
    """Source: tests/reference/chart, two photographs; each patch is left out of the fit that reads it."""
    seen = photographed(name)
    fitted = fit_chart(seen, ALL)
    truth = chart_fit._REFERENCES[fitted.edition]
    white = xyz1_from_linear(seen[18]) / xyz1_from_linear(1.0 * np.ones(3))[1] / 0.88
    with_white = delta_e00(lab_from_xyz1(adapt(xyz1_from_linear(seen), white)), truth)
    print(f"{name}: by white {with_white.mean():.2f}, by chart {fitted.left_out.mean():.2f}, {fitted.form}")
    assert with_white.mean() > by_white - 0.2
    assert fitted.left_out.mean() < by_chart
    assert fitted.left_out.mean() < 3


def test_the_error_on_a_patch_left_out_is_that_of_a_fit_without_it() -> None:
    seen = photographed("large")
    whole = fit_chart(seen, ALL)
    for patch in (2, 12, 17):
        others = np.arange(24) != patch
        alone = chart_fit._fit(whole.form, whole.edition, seen[others], np.ones(23), others)
        truth = chart_fit._REFERENCES[whole.edition][patch]
        off = float(delta_e00(lab_from_xyz1(alone.xyz1(seen[patch])), truth))
        assert whole.left_out[patch] == pytest.approx(off, abs=0.15)


def test_terms_and_differences_are_the_published_ones() -> None:
    """Source: colour-science's root-polynomial expansion and CIE94 difference."""
    rng = np.random.default_rng(3)
    rgb = rng.uniform(0.01, 1, (6, 3))
    expanded = colour.characterisation.polynomial_expansion_Finlayson2015(rgb, 2, True)
    assert chart_fit._terms(rgb, 6) == pytest.approx(expanded)
    lab = rng.uniform((20, -60, -60), (90, 60, 60), (6, 3))
    near = lab + rng.normal(0, 1e-4, (6, 3))
    scaled = np.einsum("nij,nj->ni", chart_fit._cie94_scale(lab), near - lab)
    difference = colour.delta_E(lab, near, method="CIE 1994")
    assert np.linalg.norm(scaled, axis=1) == pytest.approx(difference, rel=1e-4)


def fitted(srgb8: npt.NDArray[np.uint8], corners: Floats = scene.CORNERS) -> tuple[ChartFit, Floats]:
    return read_chart(develop(srgb8), corners, None)


def squares_read(srgb8: npt.NDArray[np.uint8], camera: ChartFit, fall: Floats) -> Floats:
    """CIELAB of the scene's coloured squares by a fitted camera."""
    linear = develop(srgb8).linear_rgb
    middles = [linear[y + 8 : y + 22, x + 8 : x + 22].mean(axis=(0, 1)) for x, y, _ in scene.SQUARES[:41]]
    at = relative(np.array([[x + 14.5, y + 14.5] for x, y, _ in scene.SQUARES[:41]]), srgb8.shape)
    return lab_from_xyz1(camera.xyz1(np.array(middles), fall_at(fall, at)))


@pytest.mark.parametrize("camera", scene.CAMERAS)
def test_measured_paints_are_read_by_the_chart(camera: str) -> None:
    """Sources as in chart_scene.py: real cameras, measured paints; tests/bench/chart_proof.py has more."""
    truth = lab_from_xyz1(scene.xyz1_in_daylight(scene.paints()))
    rng = np.random.default_rng(4)
    photo = scene.picture(scene.draw_shot(rng, camera, "LED-B3"), scene.paints(), rng, (0.1, -0.05, -0.15))
    chart, fall = fitted(photo)
    off = delta_e00(squares_read(photo, chart, fall), truth)
    held = float((off < chart.band90_delta_e00).mean())
    print(f"{camera}: mean {off.mean():.2f}, left out {chart.left_out.mean():.2f}, held {held:.0%}")
    assert chart.left_out.mean() < 3
    assert np.median(off) < 3.5
    assert held > 0.75


def test_falling_light_is_followed() -> None:
    rng = np.random.default_rng(5)
    fall = np.array([0.2, -0.1, -0.2])
    camera = scene.Shot(scene.CAMERAS[0], "D65")
    _, found = fitted(scene.picture(camera, scene.paints(), rng, (0.2, -0.1, -0.2)))
    ends = np.array([[-0.6, -0.2], [0.3, 0.0]])
    assert np.log(fall_at(found, ends)) == pytest.approx(np.log(fall_at(fall, ends)), abs=0.06)


@pytest.fixture(scope="module")
def lamplit() -> npt.NDArray[np.uint8]:
    return scene.picture(LAMPLIGHT, scene.paints(), np.random.default_rng(6))


@pytest.mark.parametrize("turn", [1, 2, 3])
def test_corners_may_start_anywhere(lamplit: npt.NDArray[np.uint8], turn: int) -> None:
    straight, fall = fitted(lamplit)
    turned, _ = fitted(lamplit, np.roll(scene.CORNERS, turn, axis=0))
    assert squares_read(lamplit, turned, fall) == pytest.approx(
        squares_read(lamplit, straight, fall), abs=0.05
    )


def test_flakes_are_read_by_a_chart_or_by_white_but_not_both(lamplit: npt.NDArray[np.uint8]) -> None:
    paper, off = (60.0, 320.0, 100.0, 50.0), []
    for n in (7, 12, 22, 37):
        x, y, side = scene.SQUARES[n]
        at = (x + side / 2, y + side / 2)
        truth = lab_from_xyz1(scene.xyz1_in_daylight(scene.paints()[n]))
        by_chart, by_white = (
            flake_colour(lamplit, at, chart_px=scene.CORNERS),
            flake_colour(lamplit, at, paper),
        )
        off.append([float(delta_e00(one.colour.lab, truth)) for one in (by_chart, by_white)])
        assert by_chart.band90_delta_e00 < by_white.band90_delta_e00
    chart, white = np.mean(off, axis=0)
    print(f"four paints: by chart {chart:.2f}, by white {white:.2f}")
    assert chart < 0.7 * white
    with pytest.raises(InputError, match="either white paper or a chart must show the light, got both"):
        flake_colour(lamplit, at, paper, scene.CORNERS)


def test_a_sheet_is_seen_by_the_chart(lamplit: npt.NDArray[np.uint8]) -> None:
    bench = np.array([[388.0, 352.0], [588.0, 352.0], [588.0, 412.0], [388.0, 412.0]])  # grey, bar one paint
    face = take_face(lamplit, Sheet(200, 60, 6.0), Marks(bench, chart_px=scene.CORNERS))
    assert face.light.paper == "chart"
    truth = lab_from_xyz1(scene.xyz1_in_daylight(np.full(len(scene.NM), 0.22)))
    assert delta_e00(lab_from_xyz1(face.xyz1[30:, 100:].mean(axis=(0, 1))), truth) < 2.5


@pytest.mark.parametrize(
    ("corners", "says"),
    [
        (scene.CORNERS[:3], "the chart's corners must be four points"),
        (scene.CORNERS[[0, 2, 1, 3]], "the chart's corners must go round it without crossing"),
        (scene.CORNERS[::-1], "the chart's corners must go round it without crossing"),
        (scene.CORNERS + np.array([400.0, 0.0]), "the chart's corners must lie in the photo"),
        (
            scene.CORNERS[0] + [[0.0, 0.0], [30.0, 0.0], [30.0, 20.0], [0.0, 20.0]],
            "a patch of the chart must be at",
        ),
        (
            scene.CORNERS[0] + [[0.0, 0.0], [9.0, 0.0], [9.0, 9.0], [0.0, 9.0]],
            "the chart must fill at least 0.2 %",
        ),
        (scene.CORNERS + np.array([22.0, 18.0]), "the chart's patches must each be even"),
        (
            np.array([[380.0, 40.0], [630.0, 40.0], [630.0, 210.0], [380.0, 210.0]]),
            "must show the colours of a 24-p",
        ),
        (
            np.array([[50.0, 310.0], [230.0, 310.0], [230.0, 390.0], [50.0, 390.0]]),
            "must show the colours of a 24-p",
        ),
    ],
)
def test_corners_that_make_no_chart_are_refused(
    lamplit: npt.NDArray[np.uint8], corners: Floats, says: str
) -> None:
    with pytest.raises(InputError) as refusal:
        fitted(lamplit, corners)
    assert says in str(refusal.value)


def test_a_mirrored_a_burnt_and_a_dark_chart_are_refused() -> None:
    rng = np.random.default_rng(7)
    daylight = scene.Shot(scene.CAMERAS[0], "D65")
    with pytest.raises(InputError, match="must not be mirrored"):
        fitted(scene.picture(daylight, scene.paints(), rng, mirrored=True))
    for exposure in (2.2, 9.0):
        burnt = scene.Shot(scene.CAMERAS[0], "D65", exposure=exposure)
        with pytest.raises(InputError, match="at most 4 patches of the chart may be burnt out, got"):
            fitted(scene.picture(burnt, scene.paints(), rng))
    with pytest.raises(InputError, match="brightest patch must reach 5 % of the camera's range, got"):
        fitted(scene.picture(scene.Shot(scene.CAMERAS[0], "D65", exposure=0.04), scene.paints(), rng))


def test_patches_that_hardly_agree_are_advised_about() -> None:
    rng = np.random.default_rng(8)
    bench = np.array([[388.0, 352.0], [588.0, 352.0], [588.0, 412.0], [388.0, 412.0]])
    photo = scene.picture(scene.Shot(scene.CAMERAS[0], "D65"), scene.paints(), rng)
    worse = photo.copy()
    worse[90:130, 100:300] = np.clip(worse[90:130, 100:300] + 45.0, 0, 255)  # a window mirrored in the chart
    for srgb8, says in ((photo, False), (worse, True)):
        face = take_face(srgb8, Sheet(200, 60, 6.0), Marks(bench, chart_px=scene.CORNERS))
        assert any("nothing is mirrored in it" in line for line in photo_advice.for_photo(face)) == says
