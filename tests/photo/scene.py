"""Synthetic photos of invented sheets: a pinhole camera over a table.

Nothing here is shared with the matcher: sheets are rendered finer than the matcher simulates, the camera
casts rays (no homography is fitted), light falls off by the fourth power of the cosine and across the table,
the cast acts in the camera's own channels, and lens blur, sensor noise and JPEG follow.
"""

from dataclasses import dataclass, field
from io import BytesIO

import numpy as np
import numpy.typing as npt
from PIL import Image
from scipy.ndimage import gaussian_filter, map_coordinates

from blendlab.colour.spaces import RGB_TO_XYZ, linear_from_xyz1, srgb1_from_linear, xyz1_from_hex
from blendlab.look.prepared_sheet import prepare
from blendlab.look.render import render
from blendlab.look.surfaces import top_face
from blendlab.recipe.recipe import Flake, Folding, Recipe, Sheet

Floats = npt.NDArray[np.float64]

# The Lantern Yard workshop's boxes of flakes, invented.
BOXES = {
    "cap white": "#f1efe6",
    "crate blue": "#17439b",
    "fender red": "#bb2a22",
    "lemon": "#efc31c",
    "soot": "#1a1a1b",
    "bottle green": "#1d7440",
    "ember": "#e4701f",
    "sky": "#58a3c6",
    "slate": "#868b90",
    "plum": "#672b6e",
    "sand": "#cdb38a",
    "rose": "#d98a9a",
}
PAPER_Y = (0.80, 0.90)  # luminance factor of copying papers, from memory


@dataclass(frozen=True)
class Camera:
    """Camera, light and paper of a synthetic photo."""

    tilt_deg: float = 10.0
    towards_deg: float = 40.0
    roll_deg: float = 3.0
    columns: int = 1280
    rows: int = 960
    fill: float = 0.72  # of the photo's smaller side that the sheet spans
    gains: tuple[float, float, float] = (1.0, 1.0, 1.0)  # cast, in the camera's channels
    stops: float = 0.0
    slope: tuple[float, float] = (0.0, 0.0)  # falloff across the table, per 100 mm
    vignetting: float = 1.0  # exponent of the cosine law, over 4
    blur_px: float = 0.8
    noise: float = 0.006  # of full scale at white
    jpeg: int = 88
    glare: float = 0.0
    paper: str = "under"  # "under" the sheet, "beside" it, or "none"
    paper_y: float = 0.86


@dataclass(frozen=True, eq=False)
class Shot:
    """A photo and the truth about it."""

    srgb8: npt.NDArray[np.uint8]
    corners_px: Floats
    paper_px: tuple[float, float, float, float] | None
    recipe: Recipe
    boxes: tuple[Flake, ...]
    mean_xyz1: Floats
    camera: Camera = field(repr=False)


def draw_recipe(rng: np.random.Generator, folds: int, box_count: int = 7) -> tuple[Recipe, tuple[Flake, ...]]:
    """Draw a recipe of two to five kinds of flake, and the boxes on hand."""
    names = list(rng.choice(list(BOXES), box_count, replace=False))
    used = int(rng.integers(2, 6))
    shares = 0.08 + (1 - 0.08 * used) * rng.dirichlet(np.full(used, 1.5))
    boxes = tuple(Flake(name, BOXES[name], 100) for name in names)
    flakes = tuple(Flake(n, BOXES[n], float(200 * s)) for n, s in zip(names[:used], shares, strict=True))
    sheet = Sheet(float(rng.integers(140, 251)), float(rng.integers(140, 221)), float(rng.uniform(4, 8)))
    drag, unevenness = rng.beta(2, 2, 2)
    folding = Folding("half", folds, float(drag), float(unevenness), int(rng.integers(2**31)))
    return Recipe("past sheet", sheet, flakes, folding), boxes


def draw_camera(rng: np.random.Generator, paper: str) -> Camera:
    """Draw a handheld camera and its lamp."""
    return Camera(
        tilt_deg=float(rng.uniform(0, 25)),
        towards_deg=float(rng.uniform(0, 360)),
        roll_deg=float(rng.uniform(-12, 12)),
        fill=float(rng.uniform(0.62, 0.8)),
        gains=(float(rng.uniform(0.78, 1.25)), 1.0, float(rng.uniform(0.7, 1.25))),
        stops=float(rng.uniform(-1, 1)),
        slope=tuple(rng.normal(0, 0.04, 2)),
        vignetting=float(rng.uniform(0.4, 1.2)),
        blur_px=float(rng.uniform(0.5, 1.6)),
        noise=float(rng.uniform(0.002, 0.012)),
        jpeg=int(rng.integers(75, 96)),
        glare=float(rng.choice([0.0, 0.0, rng.uniform(0.3, 1.0)])),
        paper=paper,
        paper_y=float(rng.uniform(*PAPER_Y)),
    )


def face_of(recipe: Recipe, px_per_mm: float = 2.5) -> npt.NDArray[np.float32]:
    """Render the sheet's upper face, finer than the matcher simulates."""
    prepared = prepare(recipe)
    return render(top_face(recipe.sheet, px_per_mm), prepared, recipe.folding.folds).xyz1


def take(
    recipe: Recipe,
    boxes: tuple[Flake, ...],
    camera: Camera,
    rng: np.random.Generator,
    face: npt.NDArray[np.float32] | None = None,
) -> Shot:
    """Photograph a sheet."""
    face = face_of(recipe) if face is None else face
    eye, axes, focal = _pose(recipe.sheet, camera)
    table = _table(rng)
    paper = _paper(recipe.sheet, camera.paper)
    light = np.zeros((camera.rows, camera.columns, 3))
    for i, j in ((0.25, 0.25), (0.75, 0.25), (0.25, 0.75), (0.75, 0.75)):
        light += 0.25 * _radiance(camera, recipe.sheet, face, table, paper, eye, axes, focal, (i, j))
    half = np.array([recipe.sheet.length_mm, recipe.sheet.width_mm]) / 2
    corners = np.array([[-1, 1], [1, 1], [1, -1], [-1, -1]]) * half
    paper_px = None
    if paper is not None:
        paper_px = _patch_px(paper, recipe.sheet, camera, eye, axes, focal)
    return Shot(
        _sensor(light, camera, rng),
        _projected(corners, eye, axes, focal, camera),
        paper_px,
        recipe,
        boxes,
        face.reshape(-1, 3).mean(axis=0, dtype=np.float64),
        camera,
    )


def _pose(sheet: Sheet, camera: Camera) -> tuple[Floats, Floats, float]:
    """Return the camera's position, its axes (right, down, ahead) and its focal length in pixels."""
    tilt, towards, roll = np.radians([camera.tilt_deg, camera.towards_deg, camera.roll_deg])
    back = np.array([np.sin(tilt) * np.cos(towards), np.sin(tilt) * np.sin(towards), np.cos(tilt)])
    diagonal = float(np.hypot(sheet.length_mm, sheet.width_mm))
    eye = back * 2.6 * diagonal
    ahead = -back
    right = np.cross(ahead, [0.0, 1.0, 0.0])
    right /= np.linalg.norm(right)
    down = np.cross(ahead, right)
    right, down = np.cos(roll) * right + np.sin(roll) * down, np.cos(roll) * down - np.sin(roll) * right
    focal = camera.fill * camera.rows * 2.6 * diagonal / max(sheet.width_mm, 0.75 * sheet.length_mm)
    return eye, np.array([right, down, ahead]), focal


def _projected(points_mm: Floats, eye: Floats, axes: Floats, focal: float, camera: Camera) -> Floats:
    """Project points of the table into the photo."""
    from_eye = np.concatenate([points_mm, np.zeros((len(points_mm), 1))], axis=1) - eye
    x, y, depth = (from_eye @ axes.T).T
    return np.stack([focal * x / depth + camera.columns / 2, focal * y / depth + camera.rows / 2], axis=-1)


def _table(rng: np.random.Generator) -> tuple[Floats, Floats]:
    """Draw the colour and grain of a table top."""
    colour = xyz1_from_hex(str(rng.choice(["#8a6f52", "#6d6a64", "#a89478", "#4c4f55", "#5b6b5a"])))
    grain = gaussian_filter(rng.standard_normal((400, 400)), (1.0, 12.0))
    return colour, 1 + 0.12 * grain / grain.std()


def _paper(sheet: Sheet, where: str) -> tuple[float, float, float, float] | None:
    """Return left, right, bottom and top of the paper on the table, mm."""
    a, b = sheet.length_mm / 2, sheet.width_mm / 2
    if where == "under":
        return (-a - 22, a + 28, -b - 20, b + 24)
    if where == "beside":
        return (a + 6, a + 60, -b * 0.5, b * 0.6)
    return None


def _patch_px(
    paper: tuple[float, float, float, float],
    sheet: Sheet,
    camera: Camera,
    eye: Floats,
    axes: Floats,
    focal: float,
) -> tuple[float, float, float, float]:
    """Return a small box on the right of the paper, as a maker would mark it: x, y, width, height."""
    a = sheet.length_mm / 2
    middle = np.array([[(max(a, paper[0]) + paper[1]) / 2, (paper[2] + paper[3]) / 2]])
    x, y = _projected(middle, eye, axes, focal, camera)[0]
    return (float(np.clip(x, 12, camera.columns - 13)) - 10, float(y) - 10, 20.0, 20.0)


def _radiance(
    camera: Camera,
    sheet: Sheet,
    face: npt.NDArray[np.float32],
    table: tuple[Floats, Floats],
    paper: tuple[float, float, float, float] | None,
    eye: Floats,
    axes: Floats,
    focal: float,
    at: tuple[float, float],
) -> Floats:
    """Return the light along one ray per pixel, XYZ."""
    u, v = np.meshgrid(np.arange(camera.columns) + at[0], np.arange(camera.rows) + at[1])
    rays = np.stack(
        [(u - camera.columns / 2) / focal, (v - camera.rows / 2) / focal, np.ones_like(u)], axis=-1
    )
    cosine = 1 / np.linalg.norm(rays, axis=-1)
    way = rays @ axes
    far = -eye[2] / way[..., 2]
    x, y = eye[0] + far * way[..., 0], eye[1] + far * way[..., 1]
    colour, grain = table
    grained = map_coordinates(grain, [y / 1.5 + 200, x / 1.5 + 200], order=1, mode="wrap")
    seen = grained[..., None] * colour
    if paper is not None:
        on_paper = (x > paper[0]) & (x < paper[1]) & (y > paper[2]) & (y < paper[3])
        seen[on_paper] = camera.paper_y * RGB_TO_XYZ @ np.array([0.985, 1.0, 1.015])
    on_sheet = (np.abs(x) < sheet.length_mm / 2) & (np.abs(y) < sheet.width_mm / 2)
    rows, columns = face.shape[:2]
    j = (x[on_sheet] / sheet.length_mm + 0.5) * columns - 0.5
    i = (0.5 - y[on_sheet] / sheet.width_mm) * rows - 0.5
    for channel in range(3):
        seen[on_sheet, channel] = map_coordinates(face[..., channel], [i, j], order=1, mode="nearest")
    lamp = np.exp(camera.slope[0] * x / 100 + camera.slope[1] * y / 100)
    # A longer lens falls off less; the exponent compensates for the narrow view here.
    seen *= (lamp * cosine ** (4 * camera.vignetting))[..., None]
    spot = np.hypot(x - 0.2 * sheet.length_mm, y + 0.1 * sheet.width_mm) / 9.0
    seen += camera.glare * np.exp(-(spot**2))[..., None] * on_sheet[..., None] * np.array([0.95, 1.0, 1.09])
    return seen


def _sensor(xyz1: Floats, camera: Camera, rng: np.random.Generator) -> npt.NDArray[np.uint8]:
    """Apply cast, exposure, lens blur, noise, sRGB encoding and JPEG."""
    # The camera's channels overlap more than a screen's; the cast acts there.
    own = np.array([[0.82, 0.15, 0.03], [0.08, 0.84, 0.08], [0.02, 0.13, 0.85]])
    channels = (linear_from_xyz1(xyz1) @ own.T) * camera.gains
    linear = channels @ np.linalg.inv(own).T
    linear = 0.48 * 2.0**camera.stops * linear
    linear = gaussian_filter(linear, (camera.blur_px, camera.blur_px, 0))
    shot = rng.standard_normal(linear.shape) * camera.noise * np.sqrt(np.clip(linear, 0, 1) + 0.02)
    srgb1 = srgb1_from_linear(np.clip(linear + shot, 0, 1))
    buffer = BytesIO()
    Image.fromarray(np.rint(srgb1 * 255).astype(np.uint8)).save(buffer, format="JPEG", quality=camera.jpeg)
    return np.asarray(Image.open(buffer).convert("RGB"))
