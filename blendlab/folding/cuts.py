"""Where pieces of offcuts were cut from the older sheet, and their points in it."""

from typing import NamedTuple

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]
Integers = npt.NDArray[np.int64]


class Cuts(NamedTuple):
    """Where each piece of a charge was cut.

    Attributes
    ----------
    kinds : ndarray of int, shape (pieces,)
        Its kind of flake.
    middles_mm : ndarray, shape (pieces, 3)
        In the charge, as `Charge.middles_mm`.
    spots_mm : ndarray, shape (pieces, 3)
        The same points in the older sheet: x and y from its middle, z from its lower face.
    turns : ndarray, shape (pieces, 2)
        Cosine and sine of the angle from the older sheet to the charge.
    thicker : ndarray, shape (pieces,)
        How many times thicker the piece is in the charge than it was cut.
    sheets_mm : ndarray, shape (pieces, 3)
        Size of the older sheet.
    """

    kinds: Integers
    middles_mm: Floats
    spots_mm: Floats
    turns: Floats
    thicker: Floats
    sheets_mm: Floats

    def into_old(self, points_mm: Floats, pieces: npt.NDArray[np.integer]) -> Floats:
        """Return where points of pieces were in the older sheets, mm.

        Parameters
        ----------
        points_mm : ndarray, shape (n, 3)
            In the charge, as for `Charge.kinds_at`.
        pieces : ndarray of int, shape (n,)
            The piece that each is in.
        """
        off = points_mm - self.middles_mm[pieces]
        cos, sin = self.turns[pieces].T
        turned = np.stack(
            [cos * off[:, 0] + sin * off[:, 1], cos * off[:, 1] - sin * off[:, 0], off[:, 2]], -1
        )
        turned[:, 2] /= self.thicker[pieces]
        return _mirrored(self.spots_mm[pieces] + turned, self.sheets_mm[pieces])


def _mirrored(points_mm: Floats, sheets_mm: Floats) -> Floats:
    """Bring points that are outside their sheets back into them, mirrored in the face that they passed."""
    low = sheets_mm * [-0.5, -0.5, 0.0]
    way = np.abs(points_mm - low) % (2 * sheets_mm)
    inside: Floats = low + np.minimum(way, 2 * sheets_mm - way)
    return inside


def drawn_cuts(
    kinds: Integers,
    middles_mm: Floats,
    sizes_mm: Floats,
    thicker: Floats,
    sheets_mm: Floats,
    rng: np.random.Generator,
) -> Cuts:
    """Draw where each piece was cut and its turn, within its sheet if it is turned so that it fits.

    Parameters
    ----------
    sizes_mm : ndarray, shape (pieces, 3)
        As cut.
    kinds, middles_mm, thicker, sheets_mm
        As of `Cuts`.
    """
    chance = rng.random((len(sizes_mm), 4))
    angles = 2 * np.pi * chance[:, 3]
    turns = np.stack([np.cos(angles), np.sin(angles)], axis=-1)
    long, wide, thick = sizes_mm.T
    along, across = np.abs(turns).T
    spans = np.stack([long * along + wide * across, long * across + wide * along, thick], axis=-1)
    spots = (chance[:, :3] - 0.5) * np.maximum(sheets_mm - spans, 0.0) + sheets_mm * [0.0, 0.0, 0.5]
    return Cuts(kinds, middles_mm, spots, turns, thicker, sheets_mm)
