"""Tell white paper from a bright bench, where the paper that was found would mean unusual light."""

from collections.abc import Callable
from dataclasses import replace

from .face import Face
from .move_fit import Case
from .share_fit import fit_afresh

USUAL = 4.0  # squared standard deviations of exposure and white balance, up to which found paper is trusted
MARGIN = 20.0  # of the misfit; benches reached 52 and 264, paper in dim or warm light 6 at most
FOLDS = (1, 6)  # fold counts at which the flakes are fitted


def settled(case: Case, bare: Callable[[], Face]) -> Case:
    """Return a case as it is, or with a face read without the paper found, if that explains it far better.

    A bench taken for paper makes the sheet too bright and too blue for the flakes on hand. Both readings are
    judged by the misfit of the flakes, and by how unusual the light is.

    Parameters
    ----------
    bare : callable
        Reads the face without looking for paper.
    """
    light = case.face.light
    if light.paper != "found" or light.oddness < USUAL:
        return case
    other = replace(case, face=bare())
    return case if _misfit(case) + 0.5 * light.oddness <= _misfit(other) + MARGIN else other


def _misfit(case: Case) -> float:
    problem = case.problem(case.colours, case.on_hand)
    return min(fit_afresh(problem, folds).misfit for folds in FOLDS)
