"""Whether the charge of a photographed sheet may have been laid in stripes or layers.

A match supposes a stirred charge. Where the photo's large forms are unlike those of any stirred replicate,
or no stirred charge shows its colours, the fitted recipe is laid in several stripes and layers and pressed
again, and compared with the photo as the stirred replicates are. What explains it clearly better is offered.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import permutations

import numpy as np
import numpy.typing as npt

from ..recipe.lay import Lay
from ..recipe.recipe import Recipe
from ..runtime.progress import ProgressCallback, each
from .fold_count import FoldCount, Pressing, infer, pooled_covariance, squared_distance
from .share_fit import CORRELATION, NOISE, wave_means
from .texture_statistics import FORMS, describe_all

Floats = npt.NDArray[np.float64]

FOLDS = range(4)  # with more, a lay hardly shows
STRIPES = [(count, angle) for count in (2, 4, 8) for angle in (0.0, 90.0)]
MAX_ORDERS = 6  # in which layers are tried
POSSIBLE = 0.01  # probability from which a fold count has its say
ALL = slice(0, FORMS.stop)
# Squared distance of a photo's forms from those of stirred replicates beyond which other lays are tried.
STRANGE_FORMS = 9.0
STRANGE_COLOURS = (
    20.0  # misfit of the best count beyond which they are tried, too; stirred ones of seed 2033 reach 7
)
CLEARLY = 4.0  # log likelihood beyond that of a stirred charge


@dataclass(frozen=True)
class Alternative:
    """Another way that the charge may have been laid.

    Attributes
    ----------
    place : str
        One of the recipe's `PLACES`.
    folds : int
        The fold count that is then most likely.
    likelier : float
        Natural logarithm of its likelihood over that of a stirred charge.
    strangeness : float
        As of `FoldCount`.
    """

    place: str
    folds: int
    likelier: float
    strangeness: float

    @property
    def sentence(self) -> str:
        """How much better it explains the photo."""
        laid = {"stripes": "Laid in stripes", "layer": "Laid in layers"}[self.place]
        times = "unfolded" if not self.folds else f"after {self.folds} fold{'s' if self.folds > 1 else ''}"
        return f"{laid}, {times}, it explains the photo better: by {self.likelier:.0f} in log likelihood."

    def as_json(self) -> dict[str, object]:
        """Return it as the command line prints it."""
        return {"place": self.place, "folds": self.folds, "likelier": round(self.likelier, 1)}


@dataclass(frozen=True, eq=False)
class Stirred:
    """How well stirred replicates explain a photo.

    Attributes
    ----------
    simulated : sequence of ndarray, shape (replicates, statistics)
        For each possible count, descriptions as from `describe_all`.
    seen : ndarray, shape (views, counts, statistics)
        Those of the photo.
    misfit : ndarray, shape (counts,)
        How badly the local colours fit.
    found : FoldCount
        What `infer` makes of these.
    """

    simulated: Sequence[Floats]
    seen: Floats
    misfit: Floats
    found: FoldCount

    @property
    def strange_forms(self) -> float:
        """Squared distance of the photo's forms from those of the nearest count that may be right."""
        means = np.array([some[:, FORMS].mean(axis=0) for some in self.simulated])
        spread = pooled_covariance([some[:, FORMS] for some in self.simulated])
        far = squared_distance(self.seen[..., FORMS] - means, spread).min(axis=0)
        return float(far[self.found.probability >= POSSIBLE].min())

    @property
    def is_strange(self) -> bool:
        """Whether the photo is so unlike a stirred charge that others are worth pressing."""
        return self.strange_forms >= STRANGE_FORMS or float(self.misfit.min()) >= STRANGE_COLOURS

    @property
    def evidence(self) -> float:
        """Logarithm of the mean likelihood, forms included."""
        return infer(self.simulated, self.seen, self.misfit, ALL).evidence


def laid_otherwise(
    stirred: Stirred, recipe: Recipe, means: Floats, pressing: Pressing, on_progress: ProgressCallback
) -> tuple[Alternative, ...]:
    """Return the places that explain a photo clearly better than a stirred charge, the best first.

    Parameters
    ----------
    recipe : Recipe
        The fitted one.
    means : ndarray, shape (waves,)
        Description of the photo's colours.
    """
    if len(recipe.flakes) < 2 or not stirred.is_strange:
        return ()
    seen = stirred.seen[:, [stirred.found.best] * len(FOLDS)]
    tried = []
    for place, ways in each([*_ways(recipe).items()], on_progress):
        drawn = [[_face(pressing, lays, folds, n) for n, lays in enumerate(ways)] for folds in FOLDS]
        simulated = [np.array([describe_all(face) for face in faces]) for faces in drawn]
        misfit = np.array([_misfit(faces, means) for faces in drawn])
        found = infer(simulated, seen, misfit, ALL)
        likelier = found.evidence - stirred.evidence
        tried.append(Alternative(place, found.best, likelier, found.strangeness))
    clear = [one for one in tried if one.likelier > CLEARLY]
    return tuple(sorted(clear, key=lambda one: -one.likelier))


def _ways(recipe: Recipe) -> dict[str, list[Recipe]]:
    """Return the recipe laid in the ways that are tried for each place."""
    names = [recipe.flakes[n].name for n in np.argsort(recipe.shares, kind="stable")]
    stripes = [
        tuple(Lay((name,), "stripes", count=count, angle_deg=angle) for name in names)
        for count, angle in STRIPES
    ]
    orders = [*permutations(names)]
    orders = orders[:: -(-len(orders) // MAX_ORDERS)]
    layers = [tuple(Lay((name,), "layer") for name in order) for order in orders]
    return {
        place: [replace(recipe, lays=lays) for lays in ways]
        for place, ways in (("stripes", stripes), ("layer", layers))
    }


def _face(pressing: Pressing, recipe: Recipe, folds: int, n: int) -> npt.NDArray[np.float32]:
    """Draw one replicate."""
    (face,) = pressing.faces(recipe, folds, range(n, n + 1))
    return face


def _misfit(faces: Sequence[npt.NDArray[np.float32]], means: Floats) -> float:
    """Return how badly the colours of the nearest face fit those of a photo, as `share_fit.fit` does."""
    noise = CORRELATION * NOISE * np.sqrt(2)  # of two sheets
    drawn = np.array([wave_means(face.reshape(-1, 3)) for face in faces])
    return float(0.5 * (((means - drawn) / noise) ** 2).sum(axis=1).min())
