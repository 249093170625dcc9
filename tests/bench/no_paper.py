"""How well the mean colour of sheets is read without white paper: synthetic photos, and a report. By hand:

    nice -n 15 python -m tests.bench.no_paper [photos] [seed]

Sheets, light and benches are drawn by tests/photo/scene.py; what a camera makes of colours beyond that is
what real ones do (tests/photo/chart_scene.py): two of them under seven lamps, their errors in paints and
chart as a matrix, and a phone's saturation and contrast. The flakes are fitted at the true fold count, so
that this judges the light and not the marbling; a bench taken for paper counts as the program judges it.
"""

import sys
from dataclasses import replace

import numpy as np

from blendlab.colour.difference import delta_e00
from blendlab.colour.spaces import lab_from_xyz1, linear_from_xyz1, xyz1_from_linear
from blendlab.photo.face import Face, Marks, take_face
from blendlab.photo.false_paper import settled
from blendlab.photo.mean_band import mean_band90
from blendlab.photo.move_fit import Case
from blendlab.photo.share_fit import fit_afresh
from blendlab.photo.surrogate_sheets import ANY_PRESS
from tests.photo import chart_scene
from tests.photo.scene import Shot, draw_camera, draw_recipe, face_of, take

SEED = 3033  # its first 28 photos set how wide bands are; 4044 is held out


def draw(number: int, seed: int) -> Shot:
    """Draw a photo without paper, of 0 to 8 folds in turn."""
    rng = np.random.default_rng([seed, number])
    recipe, boxes = draw_recipe(rng, number % 9)
    face, light = face_of(recipe), draw_camera(rng, "none")
    lamp = chart_scene.LAMPS[number % len(chart_scene.LAMPS)]
    phone = chart_scene.draw_shot(rng, str(rng.choice(chart_scene.CAMERAS)), lamp)
    seen = np.maximum(linear_from_xyz1(face) @ colours_of(phone), 0.0)
    shot = take(recipe, boxes, light, rng, xyz1_from_linear(seen).astype(np.float32))
    signal = shot.srgb8 / 255
    signal = signal - phone.contrast * np.sin(2 * np.pi * signal) / (2 * np.pi)
    mean = face.reshape(-1, 3).mean(axis=0, dtype=np.float64)
    return replace(shot, srgb8=np.rint(255 * signal).astype(np.uint8), mean_xyz1=mean)


def colours_of(phone: chart_scene.Shot) -> np.ndarray:
    """Return what balanced light of paints and chart becomes in a camera: a matrix of linear sRGB."""
    spectra = np.concatenate([chart_scene.chart(), chart_scene.paints()])
    balanced = replace(phone, cast=(1.0, 1.0, 1.0), exposure=1.0)
    true, seen = linear_from_xyz1(chart_scene.xyz1_in_daylight(spectra)), balanced.linear(spectra)
    evenly = 1 / np.maximum(true.mean(axis=1, keepdims=True), 0.05)
    return np.linalg.lstsq(true * evenly, seen * evenly, rcond=None)[0]


def try_one(shot: Shot) -> tuple[float, float, float, float, bool]:
    """Return dE00 of the mean: at usual light, fitted without the ground and with it; the band; a bench?"""
    sheet, folds = shot.recipe.sheet, shot.recipe.folding.folds

    def bare() -> Face:
        return take_face(shot.srgb8, sheet, Marks(shot.corners_px), look_for_paper=False)

    found = take_face(shot.srgb8, sheet, Marks(shot.corners_px))
    face = settled(Case(found, shot.boxes, "half", ANY_PRESS), bare).face
    case = Case(face, shot.boxes, "half", ANY_PRESS)
    problem = case.problem(case.colours, shot.boxes)
    seen = face.xyz1[face.clear].mean(axis=0, dtype=np.float64)
    truth = lab_from_xyz1(shot.mean_xyz1)

    def off(mean_xyz1: np.ndarray) -> float:
        return float(delta_e00(lab_from_xyz1(mean_xyz1), truth))

    usual = off(seen)
    if face.light.paper != "none":  # the bench passed for paper
        return usual, usual, usual, mean_band90(face.light, seen, np.zeros((3, 3))), True
    plain = fit_afresh(replace(problem, ground_xyz1=None), folds)
    best = fit_afresh(problem, folds)
    mean = seen / np.exp(best.gains)
    band = mean_band90(face.light, mean, best.gain_covariance)
    return usual, off(seen / np.exp(plain.gains)), off(mean), band, False


def main() -> None:
    """Print a line for each photo, then means and how often the band held."""
    rows = []
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 24
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else SEED
    for number in range(count):
        rows.append(try_one(draw(number, seed)))
        print(number, *(f"{value:.1f}" for value in rows[-1]), flush=True)
    usual, plain, ground, band, bench = np.array(rows).T
    held = float((ground <= band).mean())
    print(f"mean dE00 {usual.mean():.1f}, fitted {plain.mean():.1f}, with the ground {ground.mean():.1f}")
    print(f"medians {np.median(usual):.1f}, {np.median(plain):.1f}, {np.median(ground):.1f}")
    print(f"bands of {band.mean():.1f} held {held:.0%}; benches taken for paper: {int(bench.sum())}")


if __name__ == "__main__":
    main()
