"""Changes to lays: every gram stays laid, in the lays meant."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from blendlab.recipe import lay_edits
from blendlab.recipe.lay import Lay
from blendlab.recipe.recipe import Flake, Recipe, Sheet

FLAKES = tuple(Flake(name, "#808080", g) for name, g in [("white", 100), ("blue", 60), ("gold", 40)])
TWO = (Lay(("white", "blue"), "layer"), Lay(("gold",), "border"))


def grams(lays):
    Recipe("Tile", Sheet(), FLAKES, lays=lays)  # which refuses what does not add up
    return lay_edits.grams_of(lays, FLAKES).tolist()


def test_a_flake_chosen_for_a_lay_leaves_the_others():
    lays = lay_edits.with_flakes(TWO, 1, ["gold", "blue"], FLAKES)
    assert grams(lays) == [[100, 0, 0], [0, 60, 40]]
    assert [lay.place for lay in lays] == ["layer", "border"]


def test_a_flake_taken_out_goes_to_the_other_lays_and_an_empty_lay_is_removed():
    assert grams(lay_edits.with_flakes(TWO, 0, ["white"], FLAKES)) == [[100, 0, 0], [0, 60, 40]]
    assert lay_edits.without_lay(TWO, 1, FLAKES) == (Lay(("white", "blue", "gold"), "layer"),)
    assert lay_edits.without_lay(TWO[:1], 0, FLAKES[:2]) == ()
    assert lay_edits.without_lay((Lay(("white", "blue")), TWO[1]), 1, FLAKES) == ()


def test_a_part_of_a_flake_leaves_the_rest_to_the_other_lays():
    lays = lay_edits.with_part(TWO, 0, "white", 30.0, FLAKES)
    assert lays[0].grams == (("white", 30.0),)
    assert grams(lays) == [[30, 60, 0], [70, 0, 40]]
    assert grams(lay_edits.with_part(lays, 0, "white", 100.0, FLAKES)) == grams(TWO)
    alone = lay_edits.with_part((Lay(("white", "blue", "gold"), "stripes"),), 0, "gold", 10.0, FLAKES)
    assert grams(alone) == [[100, 60, 10], [0, 0, 30]]
    assert alone[1].place == "throughout"


def test_one_more_lay_is_of_the_scarcest_flake_that_shares_one_or_of_half_the_commonest():
    assert grams(lay_edits.with_one_more(TWO, FLAKES)) == [[100, 0, 0], [0, 0, 40], [0, 60, 0]]
    alone = tuple(Lay((flake.name,), "layer") for flake in FLAKES)
    assert grams(lay_edits.with_one_more(alone, FLAKES))[3] == [50, 0, 0]


def test_a_lay_moves_up_with_its_grams():
    divided = (Lay(("white",), "layer", grams=(("white", 30.0),)), Lay(("white", "blue", "gold"), "stripes"))
    lays = lay_edits.earlier(divided, 1, FLAKES)
    assert [lay.place for lay in lays] == ["stripes", "layer"]
    assert np.array(grams(lays)) == pytest.approx(np.array([[70, 60, 40], [30, 0, 0]]))


def test_chips_are_half_of_the_scarcest_flake():
    lays = lay_edits.with_chips(TWO, 2, FLAKES)
    assert grams(lays) == [[100, 60, 0], [0, 0, 20], [0, 0, 20]]
    assert (lays[2].place, lays[2].before_press) == ("scatter", 2)
    again = lay_edits.with_chips(lays, 1, FLAKES)  # what is strewn later stays
    assert grams(again) == [[100, 60, 0], [0, 0, 10], [0, 0, 20], [0, 0, 10]]


edits = st.one_of(
    st.tuples(st.just("flakes"), st.integers(0, 3), st.sets(st.sampled_from(["white", "blue", "gold"]))),
    st.tuples(st.just("part"), st.integers(0, 3), st.tuples(st.sampled_from(range(3)), st.floats(0.01, 120))),
    st.tuples(st.just("more"), st.just(0), st.none()),
    st.tuples(st.just("out"), st.integers(0, 3), st.none()),
    st.tuples(st.just("up"), st.integers(1, 3), st.none()),
)


@given(st.lists(edits, max_size=8))
def test_no_change_loses_a_gram(changes):
    lays = TWO
    for what, n, chosen in changes:
        if n >= len(lays) or len(lays) > 8:
            continue
        if what == "flakes":
            lays = lay_edits.with_flakes(lays, n, chosen, FLAKES)
        elif what == "part":
            lays = lay_edits.with_part(lays, n, FLAKES[chosen[0]].name, chosen[1], FLAKES)
        elif what == "more":
            lays = lay_edits.with_one_more(lays, FLAKES)
        elif what == "out":
            lays = lay_edits.without_lay(lays, n, FLAKES) or TWO
        else:
            lays = lay_edits.earlier(lays, n, FLAKES)
        assert np.sum(grams(lays), axis=0) == pytest.approx([100, 60, 40])
