"""Predict how pressed and folded HDPE flakes will look, before anything is cut.

The public names load where they are first used, so that importing the package
stays quick and pulls in no numerical library by itself.
"""

from importlib import import_module

TYPE_CHECKING = False  # type checkers know it by its name; `typing` would take longer to load than the rest

if TYPE_CHECKING:
    from .checks import InputError as InputError
    from .recipe.recipe import Flake as Flake
    from .recipe.recipe import Folding as Folding
    from .recipe.recipe import Lay as Lay
    from .recipe.recipe import Recipe as Recipe
    from .recipe.recipe import Sheet as Sheet
    from .recipe.recipe import from_toml as from_toml
    from .recipe.recipe import to_toml as to_toml

__version__ = "0.1.0"

_HOME = {
    "InputError": "checks",
    "Flake": "recipe.recipe",
    "Folding": "recipe.recipe",
    "Lay": "recipe.recipe",
    "Recipe": "recipe.recipe",
    "Sheet": "recipe.recipe",
    "from_toml": "recipe.recipe",
    "to_toml": "recipe.recipe",
}

__all__ = ["__version__", *sorted(_HOME)]


def __getattr__(name: str) -> object:
    """Load a public name from its home module on first use."""
    if name not in _HOME:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    found: object = getattr(import_module(f"{__name__}.{_HOME[name]}"), name)
    globals()[name] = found
    return found


def __dir__() -> list[str]:
    """List the public names, loaded or not."""
    return sorted(__all__)
