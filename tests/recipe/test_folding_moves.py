"""The moves by name, the slab's sizes through a programme, and what is refused."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from blendlab.checks import InputError
from blendlab.recipe.moves import MOVES
from blendlab.recipe.recipe import Flake, Folding, Recipe, Sheet, from_toml, to_toml
from blendlab.recipe.slab_size import cycles

SIZE = (200.0, 100.0, 6.0)
FLAKES = (Flake("white", "#f2f0e8", 100),)


def refused(**folding: object) -> str:
    with pytest.raises(InputError) as caught:
        Folding(**folding)  # type: ignore[arg-type]
    return str(caught.value)


def test_a_folding_says_half_five_times_unless_given() -> None:
    assert (Folding().move, Folding().folds, Folding().moves) == ("half", 5, None)


def test_a_list_is_done_whole_or_stopped_early() -> None:
    moves = ("edges-in", "turn", "half", "twist: 90", "flip")
    whole = Folding(moves=moves)
    assert (whole.move, whole.folds, whole.most_folds) == (None, 3, 3)
    assert whole.moves == ("edges-in", "turn", "half", "twist:90", "flip")
    assert Folding(moves=moves, folds=1).folds == 1
    assert [cycle.fold for cycle in whole.cycles(SIZE, 2)] == ["edges-in", "half"]


def test_a_list_of_moves_and_spacers_is_written_and_read_back() -> None:
    folding = Folding(moves=("edges-in", "turn", "half", "twist:90"), spacers_mm=(6.0, 9.0, 12.0), folds=2)
    recipe = Recipe("block", Sheet(*SIZE), FLAKES, folding)
    text = to_toml(recipe)
    assert 'moves = ["edges-in", "turn", "half", "twist:90"]' in text
    assert "move =" not in text
    assert from_toml(text) == recipe


def test_folds_run_across_the_longer_side_and_turn_changes_sides() -> None:
    axes = [cycle.axis for cycle in cycles(("half", "half", "turn", "half", "turn"), (6.0,), SIZE)]
    assert axes == [0, 0, 1]
    assert [cycle.axis for cycle in cycles(("half",), (6.0,), (100.0, 200.0, 6.0))] == [1]
    assert [cycle.axis for cycle in Folding("half", 4).cycles(SIZE)] == [0, 1, 0, 1]


@pytest.mark.parametrize("move", [fold for fold in MOVES if fold != "corners-in"])
def test_every_press_ends_on_the_sheets_own_plan(move: str) -> None:
    for cycle in Folding(move, 5).cycles(SIZE):
        assert cycle.after_mm == SIZE
        length, width, height = cycle.folded_mm
        assert length * width * height == pytest.approx(200.0 * 100.0 * 6.0)
        assert length <= 200.0 + 1e-9
        assert width <= 100.0 + 1e-9


def test_plan_follows_from_the_volume_and_keeps_to_the_sheets_proportions() -> None:
    thin, thick = cycles(("half", "half"), (3.0, 4.0), SIZE)
    assert thin.after_mm == pytest.approx((200.0 * 2**0.5, 100.0 * 2**0.5, 3.0))
    assert thick.folded_mm == pytest.approx((100.0 * 2**0.5, 100.0 * 2**0.5, 6.0))
    assert thick.after_mm == pytest.approx((150.0 * 2**0.5, 100.0 * 2**0.5, 4.0))  # spreads one way only
    (stacked,) = cycles(("half",), (12.0,), SIZE)
    assert stacked.thinning == 1.0
    assert stacked.after_mm == pytest.approx((100.0, 100.0, 12.0))
    (between,) = cycles(("half",), (10.0,), SIZE)  # widening alone cannot make it twice as long as wide
    assert between.after_mm == pytest.approx((120.0, 100.0, 10.0))


def test_the_last_spacer_of_a_single_move_stays() -> None:
    heights = [cycle.after_mm[2] for cycle in Folding("half", 4, spacers_mm=(8.0, 12.0)).cycles(SIZE)]
    assert heights == [8.0, 12.0, 12.0, 12.0]
    assert Folding("half", 0, spacers_mm=(8.0, 12.0)).cycles(SIZE) == ()


def test_a_move_that_does_not_exist_is_answered_with_those_that_do() -> None:
    says = refused(move="quarters")
    assert says.startswith("move must be one of those known, got 'quarters'; choose half, edges-in, ")
    for move in MOVES:
        assert move in says
    says = refused(moves=["half", "shake"])
    assert "move 2 of the list must be one of those known, got 'shake'" in says
    assert says.endswith("flip or turn")


@pytest.mark.parametrize(
    ("folding", "says"),
    [
        ({"move": "flip"}, "got 'flip'; choose half"),
        ({"move": "half:30"}, "got 'half:30'; choose half"),
        ({"move": "twist:much"}, "the angle of move must be a number from -1080 to 1080, got 'much'"),
        ({"move": "twist:9000"}, "got 9000"),
        ({"move": "twist:nan"}, "got nan"),
        ({"move": 3}, "got 3; choose half"),
        ({"move": "half", "moves": ["half"]}, "takes either move or moves, got 'half'; take one of them out"),
        ({"moves": []}, "moves must be a list of 1 to 48 moves, got []; list them"),
        ({"moves": "half"}, "moves must be a list of 1 to 48 moves, got 'half'; list them"),
        ({"moves": ["turn", "flip"]}, "folds in moves must be a whole number from 1 to 16, got 0"),
        ({"moves": ["half"] * 17}, "got 17; take some out"),
        ({"moves": ["half"], "folds": 2}, "folds must be a whole number from 0 to 1, got 2; stop within"),
        ({"folds": 17}, "folds must be a whole number from 0 to 16, got 17; past that many"),
        ({"folds": 2, "spacers_mm": []}, "a list of 1 to 16 heights, the last one for all presses after it"),
        ({"folds": 1, "spacers_mm": [0.5]}, "spacers_mm 1 must be a number from 1 to 100, got 0.5; give"),
        ({"moves": ["half"], "spacers_mm": 6}, "a list of 1 to 1 heights"),
    ],
)
def test_bad_moves_are_refused_in_a_sentence(folding: dict[str, object], says: str) -> None:
    message = refused(**folding)
    assert says in message
    assert message.isprintable()


@pytest.mark.parametrize(
    ("sheet", "folding", "says"),
    [
        ((200, 100, 6), {"move": "corners-in"}, "corners-in needs a square slab, got 200 x 100 mm"),
        ((200, 100, 6), {"move": "corners-in", "folds": 0}, "corners-in needs a square slab"),
        (
            (100, 100, 6),
            {"moves": ["half", "corners-in"], "spacers_mm": [12, 12], "folds": 1},
            "corners-in needs a square slab, got 50 x 100 mm",
        ),
        (
            (100, 100, 6),
            {"moves": ["half"], "spacers_mm": [12.5]},
            "spacers of press 1 must not be higher than the folded slab's 12 mm, got 12.5; choose lower",
        ),
        (
            (40, 40, 6),
            {"moves": ["half", "half", "half"], "spacers_mm": [12, 24, 48]},
            "20 to 1000 mm long and wide after press 2, got 10 x 40 mm; choose lower spacers there",
        ),
        (
            (900, 900, 6),
            {"moves": ["half"], "spacers_mm": [1]},
            "20 to 1000 mm long and wide after press 1, got 2205 x 2205 mm; choose higher spacers there",
        ),
        ((60, 60, 40), {"move": "roll"}, "roll needs a slab at least 2 times as long as thick, got 60 mm"),
    ],
)
def test_a_slab_that_cannot_be_folded_so_is_refused_with_the_recipe(
    sheet: tuple[float, float, float], folding: dict[str, object], says: str
) -> None:
    with pytest.raises(InputError) as caught:
        Recipe("block", Sheet(*sheet), FLAKES, Folding(**folding))  # type: ignore[arg-type]
    assert says in str(caught.value)


@given(st.sampled_from(["half", "thirds", "twist:90"]), st.integers(0, 6), st.integers(1, 6))
def test_step_by_step_is_the_same_folding(move: str, folds: int, presses: int) -> None:
    repeated = Folding(move=move, folds=folds, spacers_mm=(6.0, 5.0, 6.0, 4.0, 6.0))
    listed = repeated.step_by_step(presses)
    assert listed.most_folds == presses
    assert listed.folds == min(folds, presses)
    size = (400.0, 300.0, 6.0)
    assert listed.cycles(size, presses) == repeated.cycles(size, presses)
    assert listed.step_by_step(3) == listed
