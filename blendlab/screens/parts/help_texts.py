"""What fields of several pages mean, in the maker's words."""

from ...look.ladder import LIVELINESS
from ...recipe.folding_moves import MOVES

_WORKED = {
    "half": "one half is laid over the other",
    "edges-in": "two opposite edges are laid to the middle",
    "thirds": "folded like a letter, three layers",
    "corners-in": "all four corners are laid to the middle",
    "cut-and-stack": "cut in two, one half laid on the other without turning it over",
    "roll": "rolled up into a log",
    "twist": "rolled up, and the log twisted",
}
MOVE = "A press follows every one of them.\n" + "".join(f"\n- **{move}**: {_WORKED[move]}" for move in MOVES)
OWN_LIST = f"Any of {', '.join(MOVES)}; twist:90 turns a rolled log by 90 degrees."
LIVELY = "How much is left of the contrast that the pieces had before any fold: " + ", ".join(
    f"{look} {left:.0%}" for look, left in LIVELINESS.items()
)
SPACERS = "Spacers are the stops between the plates: the hot slab comes out as high as they are."
NO_MORE_THAN_SHED = "No flake is taken beyond what the shed holds of it."
MEANT = "Mixed through is the colour that many folds end in; seen from afar, the mean of whole pieces."
FACES = (
    "Front, right, back and left are the sheet's edges. Planed: the top face taken down. Sawn: a cut "
    "anywhere. Block: the whole sheet. Turned: a blank from the lathe, and its skin unrolled."
)
DRAG = (
    "How the melt holds on to the liners as it is pressed out. 0: it slips. 1: it sticks, and new melt rolls "
    "out at the edge."
)
UNEVENNESS = (
    "0: every fold and press is dead even. 1: the melt is turned and smeared a good deal. The Log page "
    "learns yours from photos."
)
