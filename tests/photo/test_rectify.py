import numpy as np
import numpy.typing as npt
import pytest

from blendlab.checks import InputError
from blendlab.photo.rectify import check_corners, develop, homography, project, straighten
from blendlab.photo.sheet_corners import find_corners

SQUARE = [[10.0, 10.0], [210.0, 20.0], [200.0, 180.0], [20.0, 170.0]]


def photo_of(
    picture: npt.NDArray[np.float64], corners: npt.NDArray[np.float64], rows: int, columns: int
) -> npt.NDArray[np.uint8]:
    """Project a picture into a photo by nearest neighbours, on a dark table."""
    height, width = picture.shape[:2]
    square = np.array([[0.0, 0.0], [width, 0.0], [width, height], [0.0, height]])
    y, x = np.indices((rows, columns)) + 0.5
    at = project(homography(corners, square), np.stack([x, y], axis=-1))
    inside = ((at >= 0) & (at < [width, height])).all(axis=-1)
    photo = np.full((rows, columns, 3), 40, np.uint8)
    i, j = at[inside].astype(int).T[::-1]
    photo[inside] = picture[i, j]
    return photo


def test_a_homography_maps_its_points_and_back() -> None:
    here, there = np.array(SQUARE), np.array([[0.0, 0.0], [3.0, 0.0], [3.0, 2.0], [0.0, 2.0]])
    matrix = homography(here, there)
    np.testing.assert_allclose(project(matrix, here), there, atol=1e-9)
    np.testing.assert_allclose(project(matrix.inverse, there), here, atol=1e-6)


def test_a_worked_perspective() -> None:
    # A camera 1 m above a plane, tilted by 30° about the x axis, focal length 1, sees the point (x, y) of the
    # plane at x / (1 + y/2), (y·√3/2) / (1 + y/2), by similar triangles.
    plane = np.array([[-1.0, -1.0], [1.0, -1.0], [1.0, 1.0], [-1.0, 1.0]])
    deep = 1 + plane[:, 1] / 2
    seen = np.stack([plane[:, 0] / deep, plane[:, 1] * np.sqrt(3) / 2 / deep], axis=-1)
    inside = project(homography(seen, plane), np.array([[0.25 / 1.25, 0.5 * np.sqrt(3) / 2 / 1.25]]))
    np.testing.assert_allclose(inside, [[0.25, 0.5]], atol=1e-12)


def test_a_rectified_face_has_its_true_scale() -> None:
    stripes = np.zeros((160, 240, 3))
    stripes[:, :60] = stripes[:, 120:180] = 200
    corners = np.array([[60.0, 50.0], [520.0, 90.0], [500.0, 380.0], [90.0, 330.0]])
    photo = develop(photo_of(stripes, corners, 450, 600))
    straight = straighten(photo, corners, (120.0, 80.0), 1.0)
    assert straight.linear_rgb.shape == (80, 120, 3)
    assert straight.mm_per_px == 1.0
    across = straight.linear_rgb[5:-5, :, 0].mean(axis=0)
    edges = np.flatnonzero(np.diff(across > across.mean()))
    np.testing.assert_allclose(edges + 1, [30, 60, 90], atol=1)


def test_large_photos_are_averaged_in_linear_light() -> None:
    checker = np.zeros((2600, 2600, 3), np.uint8)
    checker[::2, ::2] = checker[1::2, 1::2] = 255
    photo = develop(checker)
    assert photo.shrunk == 2
    np.testing.assert_allclose(photo.linear_rgb, 0.5, atol=1e-6)


@pytest.mark.parametrize(
    ("corners", "says"),
    [
        ([[0, 0], [1, 1]], "must be four points"),
        ("nothing", "must be four points"),
        ([[0, 0], [float("nan"), 0], [9, 9], [0, 9]], "must be four points"),
        ([[-5, 0], [200, 0], [200, 150], [0, 150]], "must lie in the photo of 320 × 240 pixels, got '-5,0'"),
        ([[0, 0], [200, 150], [200, 0], [0, 150]], "without crossing"),
        ([[0, 0], [0, 150], [200, 150], [200, 0]], "without crossing"),
        ([[0, 0], [200, 0], [50, 40], [0, 150]], "without crossing"),
        ([[0, 0], [20, 0], [20, 15], [0, 15]], "must fill at least 2 %"),
    ],
)
def test_impossible_corners_are_refused(corners: object, says: str) -> None:
    with pytest.raises(InputError) as refusal:
        check_corners(corners, (320, 240))
    assert says in str(refusal.value)


def test_corners_of_a_sheet_on_a_table_are_found() -> None:
    rng = np.random.default_rng(4)
    marbled = np.kron(rng.integers(90, 256, (16, 24, 3)), np.ones((10, 10, 1)))
    corners = np.array([[110.0, 60.0], [520.0, 110.0], [480.0, 400.0], [70.0, 330.0]])
    photo = photo_of(marbled, corners, 450, 600)
    found = find_corners(develop(photo))
    assert found is not None
    assert found.fit > 0.97
    assert np.abs(found.corners_px - corners).max() < 5


def test_nothing_is_found_where_nothing_stands_out() -> None:
    rng = np.random.default_rng(5)
    assert find_corners(develop(np.full((300, 400, 3), 120, np.uint8))) is None
    assert find_corners(develop(rng.integers(0, 256, (300, 400, 3), dtype=np.uint8))) is None
