"""The names of looks, from unfolded pieces to an even colour."""

from ..tables import read_toml

_LEFT = read_toml("eye/eye.toml")["contrast_left"]

# Contrast of a look, as the eye sees it, as a part of the unfolded pieces' contrast.
LIVELINESS = {"pieces": 1.0, **{look: _LEFT[look] for look in ("streaks", "marbled", "clouded")}, "even": 0.0}
LOOKS = tuple(LIVELINESS)
USUAL_LOOK = "marbled"
