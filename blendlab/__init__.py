"""Predict how pressed and folded HDPE flakes will look, before anything is cut.

The public names load where they are first used, so that importing the package
stays quick and pulls in no numerical library by itself.
"""

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from blendlab.checks import InputError as InputError
    from blendlab.recipe import Flake as Flake
    from blendlab.recipe import Folding as Folding
    from blendlab.recipe import Recipe as Recipe
    from blendlab.recipe import Sheet as Sheet
    from blendlab.recipe import from_toml as from_toml
    from blendlab.recipe import to_toml as to_toml

__version__ = "0.1.0"

_HOME = {
    "InputError": "checks",
    "Flake": "recipe",
    "Folding": "recipe",
    "Recipe": "recipe",
    "Sheet": "recipe",
    "from_toml": "recipe",
    "to_toml": "recipe",
}

__all__ = ["__version__", *sorted(_HOME)]  # noqa: PLE0604 - the names are those of _HOME


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
