"""Profiles of turned blanks: radius against length, as a woodturner marks them out."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from .. import checks

Floats = npt.NDArray[np.float64]

MAX_POINTS = 200
ROUND_STEPS = 48  # straight pieces that make a curve look round
FOOT = 0.4  # radius of a bowl's foot, as a part of the bowl's
MIN_STEP_MM = 1e-6


@dataclass(frozen=True)
class Profile:
    """Half the outline of a solid of revolution, from one end of its surface to the other.

    InputError where there are too few or too many points, or the profile crosses its axis or itself.

    Parameters
    ----------
    points_mm : tuple of (float, float)
        Length along the axis and radius of each corner, mm, joined by straight lines. The line may turn back,
        as over the rim of a bowl and down its inside. Ends off the axis are closed by flat discs.
    """

    points_mm: tuple[tuple[float, float], ...]

    def __post_init__(self) -> None:
        """Check every value and keep it in its plain form."""
        rule = f"a profile must be 2 to {MAX_POINTS} points of length and radius"
        mark_out = "list them from end to end, such as [[0, 10], [40, 14], [60, 8]]"
        radii = "give radii of 0 or more, in millimetres; the axis cannot be crossed"
        given = self.points_mm
        if not isinstance(given, Sequence) or not 2 <= len(given) <= MAX_POINTS:
            checks.refuse(rule, given, mark_out)
        for point in given:
            if not isinstance(point, Sequence) or isinstance(point, str) or len(point) != 2:
                checks.refuse(rule, point, mark_out)
        points = tuple(
            (
                checks.number("a length of a profile", along, -2000, 2000, "give it in millimetres"),
                checks.number("a radius of a profile", radius, 0, 1000, radii),
            )
            for along, radius in given
        )
        checks.keep(self, points_mm=points)
        steps = np.linalg.norm(np.diff(np.array(points), axis=0), axis=1)
        if steps.min() < MIN_STEP_MM:
            at = points[int(steps.argmin())]
            checks.refuse("neighbouring points of a profile must differ", at, "take one of them out")
        if max(radius for _, radius in points) < MIN_STEP_MM:
            checks.refuse("a profile must leave its axis", points, "give a radius above 0 somewhere")
        crossing = _crossing(self.closed)
        if crossing is not None:
            checks.refuse("a profile must not cross itself", crossing, "move the points near there apart")

    @property
    def ordered(self) -> Floats:
        """Points in the order that keeps the solid on the right, shape (n, 2)."""
        points = np.array(self.points_mm)
        along, radius = points.T
        area = np.sum((radius[1:] + radius[:-1]) * np.diff(along))
        return points if area > 0 else points[::-1]

    @property
    def closed(self) -> Floats:
        """The ordered points with the flat discs that close its ends."""
        points = self.ordered
        first, last = (end[None] * [1, 0] if end[1] > 0 else points[:0] for end in (points[0], points[-1]))
        return np.concatenate([first, points, last])

    @property
    def length_mm(self) -> float:
        """From end to end along the axis."""
        return float(np.ptp([along for along, _ in self.points_mm]))

    @property
    def radius_mm(self) -> float:
        """At its thickest."""
        return max(radius for _, radius in self.points_mm)


def rod(length_mm: float, radius_mm: float) -> Profile:
    """Return a plain rod or disc."""
    return Profile(((0.0, radius_mm), (length_mm, radius_mm)))


def ball(radius_mm: float) -> Profile:
    """Return a ball."""
    angle = np.linspace(0.0, np.pi, ROUND_STEPS + 1)
    return _curve(radius_mm * (1 - np.cos(angle)), radius_mm * np.sin(angle))


def spindle(length_mm: float, radius_mm: float) -> Profile:
    """Return a spindle, thickest in the middle and tapering to a third at both ends."""
    along = np.linspace(0.0, 1.0, ROUND_STEPS + 1)
    return _curve(length_mm * along, radius_mm * (1 + 2 * np.sin(np.pi * along) ** 2) / 3)


def bowl(height_mm: float, radius_mm: float, wall_mm: float) -> Profile:
    """Return an open bowl on a low foot, its rim at the far end of the axis.

    Outside and inside are quarter ellipses centred in the plane of the rim, a wall's thickness apart.
    """
    thickest = 0.9 * min(height_mm, radius_mm)
    wall = checks.number("wall_mm of a bowl", wall_mm, 0.5, thickest, "make the wall thinner than the bowl")
    out, within = np.linspace(np.arcsin(FOOT), np.pi / 2, ROUND_STEPS), np.linspace(np.pi / 2, 0, ROUND_STEPS)
    deep = np.concatenate([[height_mm], height_mm * np.cos(out), (height_mm - wall) * np.cos(within)])
    wide = np.concatenate([[FOOT * radius_mm], radius_mm * np.sin(out), (radius_mm - wall) * np.sin(within)])
    return _curve(height_mm - deep, wide)


@dataclass(frozen=True)
class Shape:
    """A profile given by a few sizes, mm, in the order that `make` takes."""

    sizes: tuple[str, ...]
    make: Callable[..., Profile]


SHAPES = {
    "rod": Shape(("length", "radius"), rod),
    "ball": Shape(("radius",), ball),
    "spindle": Shape(("length", "radius"), spindle),
    "bowl": Shape(("height", "radius", "wall"), bowl),
}


def _curve(along: Floats, radius: Floats) -> Profile:
    """Return the profile through many points, without the last digits that rounding leaves."""
    points = np.round(np.stack([along, np.maximum(radius, 0.0)], axis=-1), 9)
    return Profile(tuple((x, r) for x, r in points.tolist()))


def _crossing(outline: Floats) -> tuple[float, float] | None:
    """Return a point at which an outline crosses itself, if any."""
    start, step = outline[:-1], np.diff(outline, axis=0)
    for i in range(len(step) - 2):
        others = slice(i + 2, None)
        det = step[i, 0] * step[others, 1] - step[i, 1] * step[others, 0]
        offset = start[others] - start[i]
        with np.errstate(divide="ignore", invalid="ignore"):
            here = (offset[:, 0] * step[others, 1] - offset[:, 1] * step[others, 0]) / det
            there = (offset[:, 0] * step[i, 1] - offset[:, 1] * step[i, 0]) / det
        meets = np.flatnonzero((here > 0) & (here < 1) & (there > 0) & (there < 1))
        if meets.size:
            along, radius = start[i] + here[meets[0]] * step[i]
            return round(float(along), 3), round(float(radius), 3)
    return None
