"""Commands about colour: `blend` and `target`."""

import argparse
from typing import Any

from ..io.text_files import read_text
from ..recipe.recipe import FINISHES, GLOSSY
from .arguments import AddCommand, number, read_recipe, whole
from .output import Result, colour_line

# The means by their keys in JSON, as they are printed.
MEAN_NAMES = {
    "area_mean": "average before mixing",
    "full_blend": "fully mixed",
    "cielab_mean": "plain CIELAB mean",
}


def blend(args: argparse.Namespace) -> Result:
    """Compute the mean colours of a recipe, how certain they are, and what would make them more certain."""
    from ..colour.advice import for_recipe
    from ..colour.difference import delta_e00
    from ..colour.means import area_mean, cielab_mean, full_blend
    from ..colour.uncertainty import of_area_mean, of_full_blend

    recipe = read_recipe(args.recipe)
    means = {
        "area_mean": area_mean(recipe),
        "full_blend": full_blend(recipe),
        "cielab_mean": cielab_mean(recipe),
    }
    result: dict[str, Any] = {name: colour.as_json() for name, colour in means.items()}
    words = [colour_line(f"{MEAN_NAMES[name]:21}", colour) for name, colour in result.items()]
    for line, (name, of) in enumerate((("area_mean", of_area_mean), ("full_blend", of_full_blend))):
        band = round(of(recipe).band90_delta_e_ab, 1)
        result[name]["band90_delta_e_ab"] = band
        words[line] += f"   within {band:.1f} dE*ab, nine times in ten"
    distance = float(delta_e00(means["area_mean"].lab, means["full_blend"].lab))
    result |= {"delta_e00": round(distance, 2), "advice": list(for_recipe(recipe))}
    words.append(f"Mixing moves the colour by {distance:.1f} dE00.")
    return result, "\n".join([*words, *(f"To be more certain: {sentence}" for sentence in result["advice"])])


def target(args: argparse.Namespace) -> Result:
    """Find recipes of listed flakes that come nearest to a wanted colour."""
    from ..colour.target import nearest, wanted_colour
    from ..recipe.flake_list import from_csv

    wanted = wanted_colour(args.colour)
    stock = from_csv(read_text(args.flakes))
    answer = nearest(wanted, stock, args.most, args.grams, args.mean, finish=args.finish)
    found: list[dict[str, Any]] = [
        {
            "percent": {name: round(100 * share, 2) for name, share in match.shares.items()},
            "blend": match.blend.as_json(),
            "delta_e00": round(match.delta_e00, 2),
        }
        for match in answer.matches
    ]
    lines = [colour_line("wanted", wanted.as_json())]
    for match in found:
        parts = ", ".join(f"{part:.1f} % {name}" for name, part in match["percent"].items())
        lines.append(f"{match['delta_e00']:6.2f} dE00   {match['blend']['srgb']}   {parts}")
    result = {**found[0], "wanted": wanted.as_json(), "remark": answer.remark, "others": found[1:]}
    return result, "\n".join([*lines, answer.remark])


_BLEND = """\
Prints three colours, each as #rrggbb and CIELAB: the average before mixing, which is
what you see from a distance while the pieces are whole; fully mixed, where many folds
lead; and the plain CIELAB mean, a baseline without physics. For the first two it also
prints how far off they may be, nine times in ten, and what to measure to narrow that.

example:
  blendlab blend swatches/harbour.toml
"""
_TARGET = """\
Prints up to five mixes, the nearest first, each with its distance in dE00 (about 1 is
just visible), its colour and its shares; then what keeps the best from coming closer.

examples:
  blendlab target '#7a8f5a' --flakes swatches/flakes.csv
  blendlab target '60, -15, 30' --flakes swatches/flakes.csv --most 2 --grams 200
"""


def add(command: AddCommand) -> None:
    """Add the commands to the parser."""
    about = "The average colour before mixing, and the colour once fully mixed."
    option = command("blend", blend, about, _BLEND).add_argument
    option("recipe", metavar="RECIPE", help="recipe file (TOML); swatches/ holds examples")
    about = "Which flakes, and how much of each, come nearest to a wanted colour."
    option = command("target", target, about, _TARGET).add_argument
    option("colour", metavar="COLOUR", help="#rrggbb, or CIELAB 'L, a, b'; both in quotes")
    option("--flakes", required=True, metavar="CSV", help="flake list: name, srgb, grams on hand …")
    option("--most", type=whole, default=3, metavar="N", help="most flakes in one recipe (default 3)")
    option("--grams", type=number, metavar="G", help="total mass, g; no flake is used beyond what is on hand")
    option("--finish", default=GLOSSY, choices=FINISHES, help="of the sheet (default glossy)")
    means = "which mean to match: fully mixed (full, the default) or before mixing (area)"
    option("--mean", default="full", choices=("full", "area"), help=means)
