"""The names of looks, from unfolded pieces to an even colour.

A look depends on how lively a sheet is compared with the unfolded pieces: the geometric mean of what is left
of the contrast that the eye sees and of the segregation along light paths. Streaks have sharp edges (97 % of
the demo's pieces after two folds); in marbling colours also shade into each other (90 % after three folds, 55
% after five); in clouds most of the face is blended (25 % after eight).
"""

from ..tables import read_toml

_LEAST = read_toml("eye/eye.toml")["lively"]

MIN_LIVELY: dict[str, float] = {look: _LEAST[look] for look in ("streaks", "marbled", "clouded")}
_MOST = (1.0, *MIN_LIVELY.values())
# What a wanted look aims at: the middle of its range.
MIDDLES = {look: (most + least) / 2 for (look, least), most in zip(MIN_LIVELY.items(), _MOST, strict=False)}
LOOKS = ("pieces", *MIN_LIVELY, "even")
USUAL_LOOK = "marbled"
MAX_RUNGS = 10  # folds up to which a ladder goes by itself
