"""Find the four corners of a sheet that stands out from its background.

A few colours along the photo's rim describe the background, be it table, paper or both. The largest region
that differs from all of them is the sheet; its convex hull is reduced to the four straight edges that a flat
sheet has in a photo.
"""

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy import ndimage
from skimage.draw import polygon2mask
from skimage.filters import threshold_otsu
from skimage.morphology import convex_hull_image

from ..colour.spaces import lab_from_xyz1, xyz1_from_linear
from .rectify import MIN_SHEET_AREA, Photo
from .white_paper import bright_even, small_linear

Floats = npt.NDArray[np.float64]
Mask = npt.NDArray[np.bool_]

RIM = 0.04  # of the smaller side; this strip counts as background
BLOCKS = 6  # pieces of each side of the rim, each described by its median colour
CLOSING_PX = (5, 2, 0)  # gaps to close between pieces of the sheet, tried in turn
MIN_FIT = 0.96  # intersection over union of the quadrilateral and the hull
MARGIN = 1.2  # times the rim's own colour spread, beyond which a pixel counts as sheet


@dataclass(frozen=True)
class Found:
    """Corners found in a photo.

    Attributes
    ----------
    corners_px : ndarray, shape (4, 2)
        Upper left, upper right, lower right, lower left, in photo pixels.
    fit : float
        Intersection over union of the quadrilateral and the sheet's hull, 0-1.
    """

    corners_px: Floats
    fit: float


def find_corners(photo: Photo) -> Found | None:
    """Find the sheet's corners; None where nothing with four straight edges stands out."""
    linear, step = small_linear(photo)
    lab = lab_from_xyz1(xyz1_from_linear(linear))
    for off in _standing_out(lab, bright_even(linear)):
        for closing_px in CLOSING_PX:
            mask = _largest_region(off, closing_px)
            found = None if mask is None else _four_edges(mask)
            if found is not None:
                corners = np.clip((found.corners_px + 0.5) * step * photo.shrunk, 0, photo.size_px)
                return Found(_from_upper_left(corners), found.fit)
    return None


def _standing_out(lab: Floats, paper: Mask) -> Iterator[Mask]:
    """Yield masks of what differs from the background, for several models of it, the likeliest first.

    The models: rim and paper; the rim alone, for a sheet as pale as paper; the rim without the paper that
    reaches it, for a sheet with white in it beside paper.
    """
    rows, columns = lab.shape[:2]
    rim = max(2, round(RIM * min(rows, columns)))
    edge = np.ones((rows, columns), bool)
    edge[rim:-rim, rim:-rim] = False
    parts, count = ndimage.label(paper)
    papers = [np.median(lab[parts == part + 1], axis=0) for part in range(count)]
    blocks = [np.median(block, axis=0) for block in _blocks(lab, np.ones_like(paper), rim)]
    beyond = ndimage.binary_dilation(np.isin(parts, np.unique(parts[edge & paper])) & paper, iterations=2)
    bare = [np.median(block, axis=0) for block in _blocks(lab, ~beyond, rim)]
    yield _far_from(blocks + papers, lab, edge)
    yield _far_from(blocks, lab, edge)
    if beyond.any() and bare:
        yield _far_from(bare, lab, edge & ~beyond) & ~beyond


def _far_from(colours: list[Floats], lab: Floats, edge: Mask) -> Mask:
    """Mark pixels farther from every given colour than the background itself varies."""
    far = np.linalg.norm(lab[..., None, :] - np.array(colours), axis=-1).min(axis=-1)
    threshold = 0.5 * float(threshold_otsu(far))  # type: ignore[no-untyped-call]
    mask: Mask = far > max(threshold, MARGIN * float(np.quantile(far[edge], 0.97)), 4.0)
    return mask


def _largest_region(off: Mask, closing_px: int) -> Mask | None:
    """Return the largest region that stands out, or None where every region is too small.

    Opening first removes thin lines, such as the rim of a paper. Closing then joins pieces of the sheet
    across gaps that match the background; the gaps themselves stay outside the region.
    """
    firm = ndimage.binary_opening(off, iterations=2)
    joined = np.pad(firm, closing_px)
    if closing_px:
        joined = ndimage.binary_closing(joined, iterations=closing_px)
        joined = joined[closing_px:-closing_px, closing_px:-closing_px]
    parts, count = ndimage.label(joined)
    if count == 0:
        return None
    sizes = np.bincount(parts.ravel())
    sizes[0] = 0
    region = firm & (parts == sizes.argmax())
    return region if sizes.max() >= MIN_SHEET_AREA * off.size else None


def _blocks(lab: Floats, counted: Mask, rim: int) -> Iterator[Floats]:
    """Yield the colours of counted pixels in each of the `BLOCKS` pieces of the rim's four sides."""
    for strip in (np.s_[:rim], np.s_[-rim:], np.s_[:, :rim], np.s_[:, -rim:]):
        colours, kept = lab[strip], counted[strip]
        along = int(np.argmax(kept.shape))
        pieces = zip(
            np.array_split(colours, BLOCKS, axis=along), np.array_split(kept, BLOCKS, axis=along), strict=True
        )
        yield from (piece[own] for piece, own in pieces if own.any())


def _four_edges(mask: Mask) -> Found | None:
    """Fit a quadrilateral to a region's hull: four outline points, then a line through each edge."""
    hull = convex_hull_image(mask)  # type: ignore[no-untyped-call]
    points = np.argwhere(hull & ~ndimage.binary_erosion(hull))[:, ::-1].astype(np.float64)
    if len(points) < 40:
        return None
    quad = _largest_four(points)
    for _ in range(3):
        refined = _refit(quad, points)
        if refined is None:
            return None
        quad = refined
    inside = polygon2mask(mask.shape, quad[:, ::-1])  # type: ignore[no-untyped-call]
    fit = float((inside & hull).sum() / (inside | hull).sum())
    return Found(quad, fit) if fit >= MIN_FIT else None


def _largest_four(points: Floats) -> Floats:
    """Return the four outline points, in order, that span about the largest quadrilateral."""
    middle = points.mean(axis=0)
    ring = points[np.argsort(np.arctan2(*(points - middle).T[::-1]))]
    ring = ring[:: max(1, len(ring) // 90)]
    n, best, quad = len(ring), -1.0, ring[:4]
    x, y = ring.T
    for i in range(n):
        for k in range(i + 2, n - 1):
            dx, dy = x[k] - x[i], y[k] - y[i]
            side = dx * (y - y[i]) - dy * (x - x[i])
            one = i + 1 + int(np.abs(side[i + 1 : k]).argmax())
            rest = np.r_[k + 1 : n, 0:i]
            other = int(rest[np.abs(side[rest]).argmax()])
            area = abs(side[one]) + abs(side[other])
            if area > best:
                best, quad = area, ring[[i, one, k, other]]
    return quad


def _refit(quad: Floats, points: Floats) -> Floats | None:
    """Fit a line to the outline points along each edge and intersect neighbouring lines."""
    lines = []
    for here, there in zip(quad, np.roll(quad, -1, axis=0), strict=True):
        along = (there - here) / (np.linalg.norm(there - here) + 1e-9)
        t = (points - here) @ along / (np.linalg.norm(there - here) + 1e-9)
        off = (points - here) @ np.array([-along[1], along[0]])
        near = points[(t > 0.08) & (t < 0.92) & (np.abs(off) < 0.05 * np.linalg.norm(there - here) + 2)]
        if len(near) < 6:
            return None
        for _ in range(3):  # drop outliers, such as a chipped edge
            middle = near.mean(axis=0)
            normal = np.linalg.svd(near - middle, full_matrices=False)[2][1]
            miss = np.abs((near - middle) @ normal)
            near = near[miss <= max(1.0, 2.5 * float(np.median(miss)))]
        lines.append((normal, float(normal @ middle)))
    corners = []
    for (n1, c1), (n2, c2) in zip([lines[-1], *lines[:-1]], lines, strict=True):
        matrix = np.array([n1, n2])
        if abs(np.linalg.det(matrix)) < 0.2:
            return None
        corners.append(np.linalg.solve(matrix, np.array([c1, c2])))
    return np.array(corners)


def _from_upper_left(corners: Floats) -> Floats:
    """Order corners clockwise as seen, from the one nearest the photo's upper left."""
    middle = corners.mean(axis=0)
    ring = corners[np.argsort(np.arctan2(*(corners - middle).T[::-1]))]
    return np.roll(ring, -int(ring.sum(axis=1).argmin()), axis=0)
