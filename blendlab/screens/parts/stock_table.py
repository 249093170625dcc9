"""The flakes on hand: the maker's own list, or the invented one until there is one."""

from ...io.text_files import read_text
from ...logbook import stock
from ...recipe.flake_list import Stocked, from_csv
from ...recipe.recipe import Flake
from .autosave import home as home
from .draft import SWATCHES


def on_hand() -> tuple[tuple[Stocked, ...], bool]:
    """Return the flakes on hand, and whether they are the maker's own.

    Returns
    -------
    tuple of (tuple of Stocked, bool)
        The invented demo list and False while the maker has entered none.
    """
    own = stock.stock(home())
    return (
        (own, True)
        if own or stock.unreadable(home())
        else (from_csv(read_text(SWATCHES / "flakes.csv")), False)
    )


def enter(flake: Flake) -> None:
    """Put a flake on the list with nothing on hand."""
    keep_invented()
    stock.put(home(), [Stocked(flake.name, flake.srgb, source="from a photo")])


def keep_invented() -> None:
    """Make the invented list the maker's own, where it is shown, before a flake is added to it."""
    flakes, own = on_hand()
    if not own:
        stock.put(home(), flakes)
