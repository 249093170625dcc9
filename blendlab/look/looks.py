"""The names of looks, from unfolded pieces to an even colour."""

# Contrast of a look as a part of the unfolded pieces' contrast.
LIVELINESS = {"pieces": 1.0, "streaks": 0.7, "marbled": 0.4, "clouded": 0.2, "even": 0.0}
LOOKS = tuple(LIVELINESS)
USUAL_LOOK = "marbled"
