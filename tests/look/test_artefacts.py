"""Nothing of the method shows: invented fields of light, whose true pixels are known, drawn by its cells.

Each fault that a test looks for is also made on purpose, and must be found.
"""

import numpy as np
import pytest

from blendlab.colour.spaces import lab_from_xyz1
from blendlab.look import adaptive
from blendlab.look.adaptive import draw_block
from blendlab.look.surfaces import Flat

SIDE = 64  # pixels
FINE = 16  # points along each side of a true pixel
NEVER = 1e9  # a difference that no light paths have


def drawn(field, px_per_mm):
    """Lightness of each pixel; `field` gives light, 0 to 1, at x and y in pixels."""
    step = 1.0 / px_per_mm
    face = Flat((SIDE, SIDE), (0.0, 0.0, 0.0), (step, 0, 0), (0, -step, 0), (0, 0, -1.0))
    frames = face.frames(0, SIDE).reshape(SIDE, SIDE, 12)
    left, top = frames[0, 0, :2] + np.array([-0.5, 0.5]) * step

    def follow(paths):
        light = field((paths[:, 0] - left) / step, (top - paths[:, 1]) / step)
        return np.repeat(light[:, None], 4, axis=1).astype(np.float32)

    return draw_block(frames, follow, 1, 0.0)[..., 1].astype(float)


def true(field):
    """The same from many points a pixel."""
    at = (np.arange(SIDE * FINE) + 0.5) / FINE
    fine = field(at[None, :], at[:, None]) * np.ones((SIDE * FINE, SIDE * FINE))
    return fine.reshape(SIDE, FINE, SIDE, FINE).mean(axis=(1, 3))


def ramp(x, y):
    """A slow rise that bends, as of a pale area."""
    return 0.5 + 0.2 * np.sin(0.05 * x + 0.02 * y)


def seam(x, y):
    """Two colours that meet at a line, one pixel up in nine."""
    return np.where(y < 21.37 + x / 9, 0.75, 0.15)


def streaks(x, y):
    """Layers cut at a slant, some of them finer than a pixel, with seams and pale areas between."""
    phase = 0.9 * x + 0.35 * y + 6.0 * np.sin(0.07 * y) * np.cos(0.05 * x)
    return 0.45 + 0.3 * np.sin(phase * (0.1 + 0.012 * x)) * (np.sin(0.11 * x - 0.06 * y) > -0.2)


def lightness(light):
    return lab_from_xyz1(np.repeat(light[..., None], 3, axis=-1))[..., 0]


def flat_cells(size):
    """Weights that give a whole cell the light of its middle."""
    return np.broadcast_to(np.array([0.0, 0, 0, 0, 1]), (size, size, 5))


def terraces(px_per_mm):
    """How much more the lightness of a ramp bends from pixel to pixel than the true one."""
    bends = [
        np.abs(np.diff(lightness(light), 2, axis=1)).max() for light in (drawn(ramp, px_per_mm), true(ramp))
    ]
    return bends[0] - bends[1]


def dashes(px_per_mm):
    """How far a seam's place wanders about its line from column to column, in pixels."""
    off = (drawn(seam, px_per_mm) - true(seam)).sum(axis=0) / 0.6
    return np.abs(off - off.mean()).max()


def frames_seen(px_per_mm):
    """How much the steps across some columns or rows, counted in eights, are off beside the others."""
    worst = 0.0
    light, right = lightness(drawn(streaks, px_per_mm)), lightness(true(streaks))
    for axis in (0, 1):
        steps = np.abs(np.diff(light, axis=axis)) - np.abs(np.diff(right, axis=axis))
        lines = steps.mean(axis=1 - axis)
        eights = np.array([lines[n::8].mean() for n in range(8)])
        worst = max(worst, np.abs(eights - np.median(eights)).max())
    return worst


def moire(px_per_mm):
    """Strongest line in the spectrum of what is off, in lightness."""
    off = lightness(drawn(streaks, px_per_mm)) - lightness(true(streaks))
    window = np.hanning(SIDE)[:, None] * np.hanning(SIDE)
    return np.abs(np.fft.rfft2((off - off.mean()) * window)).max() * 8 / SIDE**2


@pytest.fixture
def broken(monkeypatch):
    """Measure with parts of the renderer, their names separated by spaces, replaced."""

    def measured(measure, px_per_mm, names, fault):
        with monkeypatch.context() as patch:
            for name in names.split():
                patch.setattr(adaptive, name, fault)
            return measure(px_per_mm)

    return measured


scales = pytest.mark.parametrize("px_per_mm", [1.0, 4.0])  # cells of two pixels, and of eight


@scales
def test_no_terraces_show_along_a_ramp(px_per_mm, broken):
    """Seen to catch cells drawn in one colour."""
    assert terraces(px_per_mm) < 0.2
    assert broken(terraces, px_per_mm, "surface_weights", flat_cells) > 1


@scales
def test_no_dots_or_dashes_show_along_a_seam(px_per_mm, broken):
    """Seen to catch pixels drawn from their corners, and from these and their middle, alone."""
    assert dashes(px_per_mm) < 0.15
    assert broken(dashes, px_per_mm, "EVEN", NEVER) > 0.3
    assert broken(dashes, px_per_mm, "CALM", NEVER) > 0.18


@scales
def test_no_straight_frames_show_where_cells_meet(px_per_mm, broken):
    """Seen to catch cells taken for smooth that are not, and cells drawn in one colour."""
    assert frames_seen(px_per_mm) < 0.25
    assert broken(frames_seen, px_per_mm, "SMOOTH SMALL_SMOOTH", NEVER) > 0.4
    assert broken(frames_seen, px_per_mm, "surface_weights", flat_cells) > 1


@scales
def test_no_moire_shows_in_streaks(px_per_mm, broken):
    """Seen to catch cells drawn in one colour, and pixels drawn from their corners alone."""
    assert moire(px_per_mm) < 0.55
    assert broken(moire, px_per_mm, "surface_weights", flat_cells) > 1
    assert broken(moire, px_per_mm, "EVEN", NEVER) > 0.6


def test_where_forms_are_broad_larger_cells_show_as_little(broken):
    """Seen to fail where they are never drawn."""
    for measure, most in ((terraces, 0.2), (frames_seen, 0.25), (moire, 0.55)):
        small, large = (broken(measure, 1.0, "BROAD", flakes) for flakes in (NEVER, -1.0))
        assert large != small  # they are drawn
        assert large < most
