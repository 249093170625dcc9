"""What the stock is short of, and the nearest mix to a recipe that it allows."""

from collections.abc import Mapping

SCALE_G = 0.1  # kitchen and letter scales read no finer: less than this is no shortage


def short_of(wanted_g: Mapping[str, float], on_hand_g: Mapping[str, float]) -> dict[str, float]:
    """Return the grams missing of each flake that the stock does not cover.

    Parameters
    ----------
    wanted_g, on_hand_g : mapping of str to float
        Grams by flake name; a flake not in the stock counts as 0.

    Returns
    -------
    dict of str to float
        Only flakes that are short by `SCALE_G` or more.

    Examples
    --------
    >>> short_of({"white": 150.0, "blue": 50.0}, {"white": 400.0, "blue": 30.0})
    {'blue': 20.0}
    """
    missing = {name: grams - on_hand_g.get(name, 0.0) for name, grams in wanted_g.items()}
    return {name: grams for name, grams in missing.items() if grams >= SCALE_G}


def nearest_mix(wanted_g: Mapping[str, float], on_hand_g: Mapping[str, float]) -> dict[str, float] | None:
    """Return the mix of the same mass and flakes that is nearest to the one wanted.

    Parameters
    ----------
    wanted_g, on_hand_g : mapping of str to float
        Grams by flake name; a flake not in the stock counts as 0.

    Returns
    -------
    dict of str to float, or None
        Grams by flake name, in the order of `wanted_g`, of the same total mass; None where the stock of all
        these flakes together is less.

    Notes
    -----
    Flakes that run short are used up; the others keep their proportions and make up the mass,
    g_i = min(λ w_i, s_i). Within the stock this mix has the least relative entropy to the recipe (Kullback &
    Leibler 1951, Ann. Math. Stat. 22:79).

    Examples
    --------
    >>> nearest_mix({"white": 100.0, "grey": 60.0, "blue": 40.0}, {"white": 500.0, "grey": 90.0, "blue": 8.0})
    {'white': 120.0, 'grey': 72.0, 'blue': 8.0}
    """
    mass = sum(wanted_g.values())
    stock = {name: on_hand_g.get(name, 0.0) for name in wanted_g}
    if sum(stock.values()) < mass:
        return None
    used_up: dict[str, float] = {}
    open_names = sorted(wanted_g, key=lambda name: stock[name] / wanted_g[name])
    while open_names:
        scale = (mass - sum(used_up.values())) / sum(wanted_g[name] for name in open_names)
        first = open_names[0]
        if scale * wanted_g[first] <= stock[first]:
            break
        used_up[first] = stock[first]
        open_names.pop(0)
    return {name: used_up[name] if name in used_up else scale * wanted_g[name] for name in wanted_g}
