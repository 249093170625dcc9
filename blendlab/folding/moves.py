"""Folding a slab in half by hand: a piecewise isometry, levelled where the line misses the middle.

Along the folded direction t runs from -a to a, z from 0 to h. The part beyond the line is turned over
onto the rest, so the folded slab is a long and 2*h thick, its crease at the end t' = a/2. A line that
misses the middle by c leaves columns one layer deep at the open end; they are levelled with the rest by
t' = integral of depth / 2h, with z stretched to match, which keeps volume.
"""

from ..compiled import compiled


@compiled()
def half_back(t, z, a, h, line):  # type: ignore[no-untyped-def]
    """Unfold a point of the folded slab.

    Parameters
    ----------
    t, z : float
        Position in the folded slab, mm: t in [-a/2, a/2], z in [0, 2h].
    a, h : float
        Half length and height of the slab before the fold, mm.
    line : float
        Where the fold line lies off the middle, mm, in (-a, a).

    Returns
    -------
    tuple of float
        t in [-a, a] and z in [0, h] of the slab before.
    """
    from_crease = 0.5 * a - t
    doubled = a - abs(line)
    if from_crease <= doubled:
        if z < h:
            return line - from_crease, z
        return line + from_crease, 2.0 * h - z
    single = 2.0 * from_crease - doubled
    if line >= 0.0:
        return line - single, 0.5 * z
    return line + single, h - 0.5 * z


@compiled()
def half_forward(t, z, a, h, line):  # type: ignore[no-untyped-def]
    """Fold a point of the slab over: the inverse of `half_back`, with the same parameters.

    Parameters
    ----------
    t, z : float
        Position before the fold, mm: t in [-a, a], z in [0, h].
    a, h, line : float
        As for `half_back`.

    Returns
    -------
    tuple of float
        t in [-a/2, a/2] and z in [0, 2h] of the folded slab.
    """
    turned = t > line
    from_crease = abs(t - line)
    doubled = a - abs(line)
    if from_crease <= doubled:
        return 0.5 * a - from_crease, (2.0 * h - z if turned else z)
    return 0.5 * (a - from_crease - doubled), (2.0 * (h - z) if turned else 2.0 * z)
