"""The upper face as a surface: which points its pixels show."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from blendlab.look.surfaces import top_face
from blendlab.recipe.recipe import Sheet

SHEET = Sheet(120.0, 80.0, 6.0)

sheets = st.builds(Sheet, st.floats(20, 300), st.floats(20, 300), st.floats(1, 100))
scales = st.floats(0.01, 1)


def parts(surface):
    """Middle, right, down and inward of every pixel, each of shape (rows, columns, 3)."""
    rows, columns = surface.shape
    return np.moveaxis(surface.frames(0, rows).reshape(rows, columns, 4, 3), 2, 0)


@given(sheets, scales)
def test_pixels_tile_the_whole_face(sheet, px_per_mm):
    surface = top_face(sheet, px_per_mm)
    middle, right, down, inward = parts(surface)
    rows, columns = surface.shape
    assert abs(columns - sheet.length_mm * px_per_mm) <= max(0.5, 1 - sheet.length_mm * px_per_mm)
    assert abs(rows - sheet.width_mm * px_per_mm) <= max(0.5, 1 - sheet.width_mm * px_per_mm)
    assert right[0, 0] * columns == pytest.approx([sheet.length_mm, 0, 0])
    assert down[0, 0] * rows == pytest.approx([0, -sheet.width_mm, 0])
    assert middle.mean(axis=(0, 1)) == pytest.approx([0, 0, sheet.thickness_mm], abs=1e-9)
    assert np.all(middle[..., 2] == pytest.approx(sheet.thickness_mm))
    assert np.all(np.abs(middle[..., :2]) < [sheet.length_mm / 2, sheet.width_mm / 2])
    assert np.all(inward == [0, 0, -1])


def test_it_is_seen_from_above_with_the_length_across():
    middle, right, down, _ = parts(top_face(SHEET, 1.0))
    assert middle.shape == (80, 120, 3)
    assert middle[0, 0] == pytest.approx([-59.5, 39.5, 6.0])
    assert middle[-1, -1] == pytest.approx([59.5, -39.5, 6.0])
    assert np.diff(middle, axis=1) == pytest.approx(right[:, 1:])
    assert np.diff(middle, axis=0) == pytest.approx(down[1:])


@given(st.integers(0, 79), st.integers(1, 80))
def test_rows_come_in_any_portion(first, count):
    surface = top_face(SHEET, 1.0)
    last = min(first + count, 80)
    assert np.array_equal(surface.frames(first, last), surface.frames(0, 80)[first * 120 : last * 120])
