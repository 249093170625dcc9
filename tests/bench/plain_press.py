"""A press and a camera plainer than the program's, to prove the matcher on photos it was not made for.

Nothing of folding/, look/ or tests/photo/scene.py is used; flakes only have the program's own pigments, as a
match presumes that they are known. Flakes are squares in layers, each layer on a grid of its own. A press
squeezes the folded slab between plug flow and a parabola, integrated in steps, then stirs it along a few
random waves. What leaves the plan is reflected. Light fades exponentially with depth. The camera is a
projective map with a gain for each channel, noise of one level, and sRGB.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt
from scipy.ndimage import gaussian_filter, map_coordinates

from blendlab.colour.pigment import light_depth_mm, light_of, palette_of
from blendlab.recipe.flake import Flake
from blendlab.recipe.recipe import Folding, Recipe, Sheet

from ..photo.scene import BOXES

Floats = npt.NDArray[np.float64]

PX_PER_MM = 1.6
PHOTO_PX = (900, 1200)
DEPTHS = 10  # points of a light path
STEPS = 3  # of midpoint integration, for each flow
BANDS = 3  # rows of pixels are followed in so many strips, to bound memory
# IEC 61966-2-1, from memory.
XYZ_TO_RGB = np.array([[3.2406, -1.5372, -0.4986], [-0.9689, 1.8758, 0.0415], [0.0557, -0.204, 1.057]])
# Spreads of what stirs, so that contrast at each scale after 1, 3 and 5 folds is about that of the program's
# press of any drag and unevenness: folds can be counted only where it is known how much one of them mixes.
WAVE_MM, ROLL_MM = 9.0, 12.0
TABLE_RGB = (0.16, 0.12, 0.08)
PAPER_RGB = (0.86, 0.86, 0.86)


@dataclass(frozen=True, eq=False)
class PlainShot:
    """A photo of a plainly pressed sheet, and the truth about it."""

    srgb8: npt.NDArray[np.uint8]
    corners_px: Floats
    paper_px: tuple[float, float, float, float]
    recipe: Recipe
    boxes: tuple[Flake, ...]
    mean_xyz1: Floats
    face_shares: Floats  # of the recipe's flakes in the plastic that light passes


def shoot(folds: int, rng: np.random.Generator) -> PlainShot:
    """Press a sheet of two to four kinds of flake folds times in half, and photograph it by white paper."""
    names = list(rng.choice(list(BOXES), 6, replace=False))
    boxes = tuple(Flake(name, BOXES[name], 100.0) for name in names)
    used = int(rng.integers(2, 5))
    shares = 0.1 + (1 - 0.1 * used) * rng.dirichlet(np.full(used, 2.0))
    flakes = tuple(Flake(n, BOXES[n], float(200 * s)) for n, s in zip(names[:used], shares, strict=True))
    sheet = Sheet(float(rng.integers(150, 221)), float(rng.integers(150, 221)), float(rng.uniform(5, 7)))
    recipe = Recipe("plainly pressed", sheet, flakes, Folding("half", folds))
    face, face_shares = pressed_face(recipe, rng)
    corners, paper, srgb8 = _photographed(face, sheet, rng)
    return PlainShot(srgb8, corners, paper, recipe, boxes, face.reshape(-1, 3).mean(axis=0), face_shares)


def pressed_face(recipe: Recipe, rng: np.random.Generator) -> tuple[Floats, Floats]:
    """Return XYZ of the upper face, shape (rows, columns, 3), the upper row first, and the shares in it."""
    sheet, pigments = recipe.sheet, palette_of(recipe)
    columns, rows = round(sheet.length_mm * PX_PER_MM), round(sheet.width_mm * PX_PER_MM)
    charge = _Charge.laid(recipe, rng)
    drag = float(rng.uniform(0.2, 0.8))
    presses = [_Press.drawn(sheet, n % 2, drag, rng) for n in range(recipe.folding.folds)]
    depth_mm = light_depth_mm(pigments, recipe.shares) / 2
    # The middles of parts of a path that count alike.
    below = -depth_mm * np.log(1 - (np.arange(DEPTHS) + 0.5) / DEPTHS)
    z_mm = np.maximum(sheet.thickness_mm - below, 0.0)
    strips, passed = [], np.zeros(len(recipe.flakes))
    for some in np.array_split(np.arange(rows), BANDS):
        light = np.zeros((len(some), columns, 3))
        for i, j in ((0.25, 0.25), (0.75, 0.25), (0.25, 0.75), (0.75, 0.75)):
            x, y = np.meshgrid((np.arange(columns) + i) / PX_PER_MM, (some + j) / PX_PER_MM)
            point = [np.broadcast_to(c[..., None], (*x.shape, DEPTHS)) for c in (x, y)]
            point.append(np.broadcast_to(z_mm, (*x.shape, DEPTHS)))
            for press in reversed(presses):
                point = list(press.undone(*point))
            kinds = charge.kind_at(*point)
            parts = np.stack([(kinds == k).mean(axis=-1) for k in range(len(recipe.flakes))], axis=-1)
            passed += parts.sum(axis=(0, 1))
            light += light_of(parts.reshape(-1, len(recipe.flakes)).astype(np.float32), pigments).reshape(
                light.shape
            )
        strips.append(light / 4)
    return np.concatenate(strips), passed / passed.sum()


@dataclass(frozen=True, eq=False)
class _Charge:
    """Square flakes in layers, each layer on a grid of its own angle and place."""

    flake_mm: tuple[float, float, float]
    turns: Floats
    shifts_mm: Floats
    kinds: npt.NDArray[np.intp]

    @classmethod
    def laid(cls, recipe: Recipe, rng: np.random.Generator) -> "_Charge":
        """Deal kinds to the squares of every layer by chance, each in its share."""
        long, wide, thick = recipe.flakes[0].size_mm
        layers = max(round(recipe.sheet.thickness_mm / thick), 1)
        side = 2 * int(np.hypot(recipe.sheet.length_mm, recipe.sheet.width_mm) / min(long, wide) + 2)
        cells = layers * side * side
        dealt = np.searchsorted(np.cumsum(recipe.shares), (np.arange(cells) + 0.5) / cells)
        kinds = rng.permutation(dealt.clip(0, len(recipe.flakes) - 1)).reshape(layers, side, side)
        height = recipe.sheet.thickness_mm / layers
        return cls(
            (long, wide, height), rng.uniform(0, np.pi, layers), rng.uniform(0, 99, (layers, 2)), kinds
        )

    def kind_at(self, x: Floats, y: Floats, z: Floats) -> npt.NDArray[np.intp]:
        """Return the kind of flake at points of the slab, mm from a lower corner."""
        layers, side, _ = self.kinds.shape
        layer = (z / self.flake_mm[2]).astype(int).clip(0, layers - 1)
        turn, shift = self.turns[layer], self.shifts_mm[layer]
        u = np.cos(turn) * x + np.sin(turn) * y + shift[..., 0]
        v = np.cos(turn) * y - np.sin(turn) * x + shift[..., 1]
        i, j = (np.floor(a / mm).astype(int) % side for a, mm in zip((u, v), self.flake_mm, strict=False))
        found: npt.NDArray[np.intp] = self.kinds[layer, i, j]
        return found


@dataclass(frozen=True, eq=False)
class _Press:
    """A fold in half along one axis, squeezed out to the slab's size, then stirred by waves and by rolls."""

    size_mm: tuple[float, float, float]
    axis: int
    drag: float
    waves: Floats
    roll: tuple[float, float, float]

    @classmethod
    def drawn(cls, sheet: Sheet, axis: int, drag: float, rng: np.random.Generator) -> "_Press":
        """Draw four waves in the plane and the rolls: mm at most, wave number per mm, phase."""
        per_mm = rng.uniform(0.5, 2.5, 4) * 2 * np.pi / 180
        waves = np.stack([rng.normal(0, WAVE_MM, 4), per_mm, rng.uniform(0, 6.3, 4)], axis=1)
        roll = (float(rng.normal(0, ROLL_MM)), float(rng.uniform(0.02, 0.08)), float(rng.uniform(0, 6.3)))
        return cls((sheet.length_mm, sheet.width_mm, sheet.thickness_mm), axis, drag, waves, roll)

    def undone(self, x: Floats, y: Floats, z: Floats) -> tuple[Floats, Floats, Floats]:
        """Return where points came from."""
        for n, (mm, per_mm, phase) in enumerate(self.waves):
            if n % 2:
                x = x + mm * np.sin(per_mm * y + phase)
            else:
                y = y + mm * np.sin(per_mm * x + phase)
        long, wide, high = self.size_mm
        x, y, side = _reflected(x, long), _reflected(y, wide), self.size_mm[self.axis]
        along, up = self._unrolled((x, y)[self.axis], z / high)
        along, up = self._unsqueezed(_reflected(along, side) - side / 2, up.clip(0, 1))
        # Half the slab lay folded on the other half, in the middle between the liners.
        along = _reflected(along + side / 4, side / 2)
        lower = up < 0.5
        along = np.where(lower, along, side - along)
        z = high * np.where(lower, 2 * up, 2 - 2 * up)
        return (along, y, z) if self.axis == 0 else (x, along, z)

    def _unrolled(self, along: Floats, up: Floats) -> tuple[Floats, Floats]:
        """Undo rolls that turn up and down across the fold: a cellular flow, in midpoint steps."""
        slide_mm, per_mm, phase = self.roll

        def speed(a: Floats, u: Floats) -> tuple[Floats, Floats]:
            turn, tip = per_mm * a + phase, slide_mm * per_mm / np.pi
            return (
                slide_mm / STEPS * np.sin(turn) * np.cos(np.pi * u),
                -tip / STEPS * np.cos(turn) * np.sin(np.pi * u),
            )

        for _ in range(STEPS):
            da, du = speed(along, up)
            da, du = speed(along - da / 2, up - du / 2)
            along, up = along - da, up - du
        return along, up

    def _unsqueezed(self, along: Floats, up: Floats) -> tuple[Floats, Floats]:
        """Undo a squeeze to half the height; drag 0 is plug flow, 1 the parabola of a fluid that sticks."""
        step = np.log(2) / STEPS

        def speed(a: Floats, u: Floats) -> tuple[Floats, Floats]:
            stream = 3 * u**2 - 2 * u**3
            slope = 6 * u * (1 - u)
            return (step * a * (1 - self.drag + self.drag * slope), step * self.drag * (u - stream))

        for _ in range(STEPS):
            da, du = speed(along, up)
            da, du = speed(along - da / 2, up - du / 2)
            along, up = along - da, up - du
        return along, up


def _reflected(a: Floats, side: float) -> Floats:
    """Keep a coordinate inside 0 to side, by reflection."""
    a = np.abs(a)
    return np.where(a > side, 2 * side - a, a)


def _photographed(
    face: Floats, sheet: Sheet, rng: np.random.Generator
) -> tuple[Floats, tuple[float, float, float, float], npt.NDArray[np.uint8]]:
    """Photograph a face with white paper to its right: its corners, a box on the paper, the photo."""
    high, wide = PHOTO_PX
    scale = 0.68 * min(high / sheet.width_mm, 0.8 * wide / sheet.length_mm)
    half = np.array([sheet.length_mm, sheet.width_mm]) * scale / 2
    middle = np.array([wide * 0.42, high / 2])
    corners = middle + np.array([[-1, -1], [1, -1], [1, 1], [-1, 1]]) * half + rng.normal(0, 12, (4, 2))
    rgb = np.full((high, wide, 3), TABLE_RGB)
    left = int(corners[:, 0].max()) + 30
    rgb[high // 4 : 3 * high // 4, left : left + 180] = PAPER_RGB
    x, y = np.meshgrid(np.arange(wide) + 0.5, np.arange(high) + 0.5)
    to_face = _projective(corners)
    u, v, w = (row[0] * x + row[1] * y + row[2] for row in to_face)
    u, v = u / w, v / w
    inside = (u > 0) & (u < 1) & (v > 0) & (v < 1)
    linear = face @ XYZ_TO_RGB.T
    for channel in range(3):
        at = [v[inside] * face.shape[0] - 0.5, u[inside] * face.shape[1] - 0.5]
        rgb[inside, channel] = map_coordinates(linear[..., channel], at, order=1, mode="nearest")
    gains = rng.uniform(0.85, 1.15, 3) * 0.6 * 2 ** rng.uniform(-0.5, 0.3)
    seen = gaussian_filter(
        rgb * gains * (1 + rng.uniform(-0.06, 0.06) * (x / wide - 0.5))[..., None], (0.7, 0.7, 0)
    )
    seen = np.clip(seen + rng.normal(0, 0.004, seen.shape), 0, 1)
    encoded = np.where(seen <= 0.0031308, 12.92 * seen, 1.055 * seen ** (1 / 2.4) - 0.055)
    box = (left + 40.0, high / 2 - 40, 100.0, 80.0)
    return corners, box, np.rint(255 * encoded).astype(np.uint8)


def _projective(corners: Floats) -> Floats:
    """Return the projective map from four corners of a photo to the unit square, shape (3, 3)."""
    square = np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]])
    rows, right = [], []
    for (x, y), (u, v) in zip(corners, square, strict=True):
        rows += [[x, y, 1, 0, 0, 0, -u * x, -u * y], [0, 0, 0, x, y, 1, -v * x, -v * y]]
        right += [u, v]
    return np.append(np.linalg.solve(np.array(rows), np.array(right)), 1.0).reshape(3, 3)
