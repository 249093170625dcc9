"""What fields of several pages mean, in a maker's words."""

from ...look.looks import MIN_LIVELY
from ...recipe.moves import MOVES
from ...units import percent

MOVE = "A press follows every one of them.\n" + "".join(
    f"\n- **{move.name}**: {move.words}" for move in MOVES.values()
)
OWN_LIST = f"Any of {', '.join(MOVES)}; twist:90 turns a roll by 90 degrees."
LIVELY = "How lively the sheet still is, beside the pieces before any fold: " + ", ".join(
    f"{look} from {percent(least)}" for look, least in MIN_LIVELY.items()
)
SPACERS = "Spacers are the stops between the plates: they set the thickness of the hot slab."
NO_MORE_THAN_SHED = "Never more of a flake than you have."
MEANT = "Fully mixed: the colour after many folds. Average before mixing: the mean of whole pieces."
FINISH = (
    "A matte or woven liner veils dark colours with about 4.5 % of the light, straight from the face; a "
    "glossy one throws that light off to one side."
)
DRAG = (
    "How well the melt grips the liners as it is pressed out. 0: it slips. 1: it sticks, and fresh melt "
    "rolls out at the edge."
)
UNEVENNESS = (
    "0: every fold and press is perfectly even. 1: the melt is turned and smeared a good deal. The Log page "
    "learns yours from photos."
)
