"""What cameras usually make of the light, and what a sheet usually lies on.

Without white paper exposure and white balance are known only as well as cameras set them, and as the ground
tells: how bright and how warm it reads, against how bright and warm grounds are.
"""

from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from ..colour.spaces import WHITE_XYZ1
from ..tables import read_toml

Floats = npt.NDArray[np.float64]
Spread = tuple[float, float, float]

# Standard deviations of log exposure, of a cast between daylight and lamplight, and of one between magenta
# and green: where white paper has shown the light, and where nothing has.
WITH_PAPER: Spread = (0.05, 0.03, 0.03)
WITHOUT_PAPER: Spread = (0.35, 0.16, 0.08)

# The same of what a sheet lies on: of its luminance, between grey and wood, and between magenta and green.
GROUND: Spread = (0.6, 0.25, 0.08)
FAINTEST = 1e-4  # light of a ground
GROUND_WARMTH = 0.12  # of its usual colour, beyond grey, in log gains

_LIGHT = read_toml("light/light.toml")
GROUND_Y: float = _LIGHT["ground"]["usual"]
_WARM_WHITE: tuple[float, float] = _LIGHT["warm"]["white"]


@dataclass(frozen=True, eq=False)
class LightPrior:
    """What is known of log gains of X, Y, Z beforehand: rows times gains less aims are standard normal."""

    rows: Floats
    aims: Floats

    def misses(self, gains: Floats) -> Floats:
        """Return how far gains are from the aims, in standard deviations."""
        return np.asarray(self.rows @ gains - self.aims)


def light_prior(spread: Spread, ground_xyz1: Floats | None = None) -> LightPrior:
    """Return the prior of log gains.

    Parameters
    ----------
    ground_xyz1 : ndarray, shape (3,), optional
        What the sheet lies on, as read with no gains at all.
    """
    rows, aims = _axes() / np.array(spread)[:, None], np.zeros(3)
    if ground_xyz1 is None:
        return LightPrior(rows, aims)
    of_ground = _axes() / np.array(GROUND)[:, None]
    read = np.log(np.maximum(ground_xyz1, FAINTEST) / (GROUND_Y * WHITE_XYZ1))
    usual = GROUND_WARMTH * _axes()[1]
    return LightPrior(np.concatenate([rows, of_ground]), np.concatenate([aims, of_ground @ (read - usual)]))


def _axes() -> Floats:
    """Return the directions of log gains that count: exposure, warmer, greener."""
    x, y = _WARM_WHITE
    warmer = np.log(np.array([x / y, 1.0, (1 - x - y) / y]) / WHITE_XYZ1)
    warmer -= warmer.mean()
    warmer /= np.linalg.norm(warmer)
    greener = np.cross(warmer, np.ones(3) / np.sqrt(3))
    return np.stack([np.full(3, 1 / 3), warmer, greener])


def oddness(gains: Floats) -> float:
    """Return how unusual log gains of X, Y, Z are without paper, in squared standard deviations."""
    return float((light_prior(WITHOUT_PAPER).misses(gains) ** 2).sum())
