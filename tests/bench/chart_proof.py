"""How well colours are read by a colour chart, and by white alone: simulated photos, and a report. By hand:

    nice -n 15 python -m tests.bench.chart_proof [photos of each camera and lamp]

Two real cameras under seven lamps photograph a measured chart beside 41 measured paints (tests/photo/
chart_scene.py), with the errors of a phone's own processing and light that falls off. Printed last: what a
matrix leaves without any of these, set on the chart's patches and on the paints themselves, as a camera sees
spectra that agree in daylight as different colours.
"""

import sys

import numpy as np
from scipy.optimize import least_squares

from blendlab.colour.difference import delta_e00
from blendlab.colour.spaces import lab_from_xyz1
from blendlab.photo.colour_chart import read_chart
from blendlab.photo.falloff import fall_at, relative
from blendlab.photo.light import WhiteBalance
from blendlab.photo.rectify import develop
from tests.photo import chart_scene as scene

SEED = 2041


def read(camera: str, lamp: str, number: int) -> dict[str, float]:
    """Photograph the chart and the paints once, and read them."""
    rng = np.random.default_rng([SEED, scene.CAMERAS.index(camera), scene.LAMPS.index(lamp), number])
    shot = scene.draw_shot(rng, camera, lamp)
    fall = (*rng.normal(0, 0.08, 2), -float(rng.uniform(0, 0.25)))
    srgb8 = scene.picture(shot, scene.paints(), rng, fall)
    photo = develop(srgb8)
    fitted, found = read_chart(photo, scene.CORNERS, None)
    truth = lab_from_xyz1(scene.xyz1_in_daylight(scene.paints()))
    squares = scene.SQUARES[: len(truth)]
    seen = np.array(
        [photo.linear_rgb[y + 8 : y + 22, x + 8 : x + 22].mean(axis=(0, 1)) for x, y, _ in squares]
    )
    at = relative(np.array([[x + 14.5, y + 14.5] for x, y, _ in squares]), srgb8.shape)
    by_chart = delta_e00(lab_from_xyz1(fitted.xyz1(seen, fall_at(found, at))), truth)
    white = WhiteBalance(photo.linear_rgb[310:390, 50:230].mean(axis=(0, 1)), 0.0)
    by_white = delta_e00(lab_from_xyz1(white.xyz1(seen)), truth)
    return {
        "left out": float(fitted.left_out.mean()),
        "chart, mean": float(by_chart.mean()),
        "chart, median": float(np.median(by_chart)),
        "chart, worst": float(by_chart.max()),
        "band": fitted.band90_delta_e00,
        "held": float((by_chart <= fitted.band90_delta_e00).mean()),
        "white, mean": float(by_white.mean()),
        "white, worst": float(by_white.max()),
        "white, 90 %": float(np.quantile(by_white, 0.9)),
    }


def floors(camera: str, lamp: str) -> tuple[float, float]:
    """Return the mean dE00 of paints by the best matrix for the patches, and by that for the paints."""
    shot = scene.Shot(camera, lamp)

    def seen(reflectance: np.ndarray) -> np.ndarray:
        return np.clip(shot.linear(reflectance) / shot.exposure, 0, 1)

    paints = lab_from_xyz1(scene.xyz1_in_daylight(scene.paints()))

    def off(reflectance: np.ndarray) -> float:
        light, xyz1 = seen(reflectance), scene.xyz1_in_daylight(reflectance)
        lab = lab_from_xyz1(xyz1)
        chroma = np.hypot(lab[:, 1], lab[:, 2])[:, None]

        def read(own: np.ndarray, matrix: np.ndarray) -> np.ndarray:
            return lab_from_xyz1(np.maximum(own @ matrix.reshape(3, 3), 1e-5))

        start = np.linalg.lstsq(light, xyz1, rcond=None)[0].ravel()
        best = least_squares(lambda m: ((read(light, m) - lab) / (1 + 0.045 * chroma)).ravel(), start).x
        return float(delta_e00(read(seen(scene.paints()), best), paints).mean())

    return off(scene.chart()), off(scene.paints())


def main() -> None:
    """Print means over the photos of each lamp, and of all, and what no matrix can better."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 3
    found = {
        lamp: [read(camera, lamp, n) for camera in scene.CAMERAS for n in range(count)]
        for lamp in scene.LAMPS
    }
    found["all"] = [row for rows in found.values() for row in rows]
    for lamp, rows in found.items():
        print(f"{lamp:8}" + "  ".join(f"{key} {np.mean([row[key] for row in rows]):.2f}" for key in rows[0]))
    left = np.mean([floors(camera, lamp) for camera in scene.CAMERAS for lamp in scene.LAMPS], axis=0)
    print(f"a matrix without noise or processing, set on patches {left[0]:.2f}, on the paints {left[1]:.2f}")


if __name__ == "__main__":
    main()
