"""From any surface to screen pixels in one call: lit, on a plain ground."""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from .. import checks
from ..colour.spaces import Colour
from ..recipe.recipe import Sheet
from .block import Block
from .camera import lit
from .faces import FACES
from .lathe import Blank, blank
from .prepared_sheet import PreparedSheet
from .profile import Profile, rod
from .render import render, srgb8
from .solid_view import SolidView, solid_view
from .surfaces import Surface, planed, saw_cut
from .unrolled import unrolled

PAPER = 0.9  # lightness of the ground beside a solid or a slanting cut, Y


@dataclass(frozen=True)
class SurfaceSpec:
    """Which surface is looked at; numbers that do not apply to its face have no effect.

    Parameters
    ----------
    face : str
        One of `FACES`.
    depth_mm : float
        Depth planed off the top, mm.
    at_mm : tuple of float
        A point of the saw cut on the upper face, from its middle, mm.
    angle_deg, tilt_deg : float
        Direction of the saw cut on the upper face, and tilt of the blade.
    profile : Profile, optional
        What is turned; by default the thickest rod the slab allows.
    axis : str
        Direction of the turned blank's axis: one of `AXES`.
    """

    face: str = "top"
    depth_mm: float = 1.0
    at_mm: tuple[float, float] = (0.0, 0.0)
    angle_deg: float = 0.0
    tilt_deg: float = 0.0
    profile: Profile | None = None
    axis: str = "length"

    def surface(self, sheet: Sheet, px_per_mm: float) -> Surface:
        """Return the surface of a slab.

        InputError where a number breaks its rule or the surface misses the slab.

        Parameters
        ----------
        sheet : Sheet
            The slab as it is after the folds looked at.
        px_per_mm : float
            Pixels per mm; for solids in perspective, of the slab's longest side across the picture.
        """
        checks.one_of("face", self.face, FACES)
        width_px = max(1, round(max(sheet.size_mm) * px_per_mm))
        match self.face:
            case "planed":
                return planed(sheet, px_per_mm, self.depth_mm)
            case "sawn":
                return saw_cut(sheet, px_per_mm, self.at_mm, self.angle_deg, self.tilt_deg)
            case "block":
                return solid_view(Block(sheet), width_px)
            case "turned":
                return solid_view(self._blank(sheet), width_px)
            case "unrolled":
                return unrolled(self._blank(sheet), px_per_mm)
            case side:  # a face of no side is refused there
                return planed(sheet, px_per_mm, 0.0, side)

    def _blank(self, sheet: Sheet) -> Blank:
        if self.profile is not None:
            return blank(self.profile, sheet, self.axis)
        long = max(sheet.length_mm, sheet.width_mm)
        axis = "length" if sheet.length_mm >= sheet.width_mm else "width"
        return blank(rod(long, min(sheet.size_mm) / 2), sheet, axis)


@dataclass(frozen=True, eq=False)
class View:
    """What is seen of a surface, ready for a screen.

    Attributes
    ----------
    srgb8 : ndarray of uint8, shape (rows, columns, 3)
        Screen pixels.
    mean : Colour
        Mean colour of the surface, evenly lit, the ground left out.
    percent : ndarray of float64, shape (kinds,)
        Share of each kind of flake that is seen, summing to 100.
    """

    srgb8: npt.NDArray[np.uint8]
    mean: Colour
    percent: npt.NDArray[np.float64]


def look_at(surface: Surface, prepared: PreparedSheet, folds: int) -> View:
    """Look at a surface of the sheet.

    Parameters
    ----------
    surface : Surface
        A face, a cut, or a solid before a camera, which is then shaded.
    """
    picture = render(surface, prepared, folds)
    shade = surface.shade() if isinstance(surface, SolidView) else np.ones(surface.shape, np.float32)
    mean = Colour.from_xyz1(np.nanmean(picture.xyz1, axis=(0, 1), dtype=np.float64))
    return View(srgb8(lit(picture.xyz1, shade, PAPER)), mean, 100 * picture.seen)
