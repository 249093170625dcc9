"""Every move as a point map: what holds for all of them, and where each puts known points."""

import math
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from blendlab.checks import InputError
from blendlab.folding.charge import Charge, lay_charge
from blendlab.folding.panels import levelled, panels_back
from blendlab.folding.programme import Programme, draw_programme
from blendlab.folding.step_tables import Column, Pile, Ply
from blendlab.folding.trace import follow_back
from blendlab.recipe.moves import HANDLING, MOVES, Laid, Panel, PanelMove
from blendlab.recipe.recipe import Flake, Folding, Recipe, Sheet
from blendlab.recipe.slab_size import cycles
from blendlab.runtime.records import records

from .forward import corners_forward, follow_forward, panels_forward

SQUARE = Sheet(120.0, 120.0, 5.0)
FLAKES = (Flake("white", "#f2f0e8", 60), Flake("blue", "#14409a", 30), Flake("red", "#c0392b", 10))
POINTS = 20_000
PANELLED = [name for name, move in MOVES.items() if isinstance(move, PanelMove)]

programmes = st.lists(st.sampled_from((*MOVES, "twist:90", *HANDLING)), min_size=1, max_size=12)


def drawn(folding: Folding, sheet: Sheet = SQUARE, seed: int = 3) -> Programme:
    return draw_programme(folding, sheet, folding.folds, np.random.default_rng(seed))


def points_within(size_mm: tuple[float, float, float], count: int = POINTS, seed: int = 0) -> np.ndarray:
    length, width, height = size_mm
    low, high = (-length / 2, -width / 2, 0.0), (length / 2, width / 2, height)
    return np.random.default_rng(seed).uniform(low, high, (count, 3))


def relative(points: np.ndarray, size_mm: tuple[float, float, float]) -> np.ndarray:
    return points / size_mm + [0.5, 0.5, 0.0]


def sheets_crossed(heights: np.ndarray) -> np.ndarray:
    """How often each row passes the middle of the 5 mm slab it came from; from sheet to sheet is a jump."""
    passed = np.diff(heights > 2.5, axis=1) & (np.abs(np.diff(heights, axis=1)) < 2.5)
    return np.count_nonzero(passed, axis=1)


def level(move: str, half_mm: float, off_mm: tuple[float, ...]) -> Pile:
    """The levelled pile of a move whose lines miss their places by so much."""
    columns, plies = levelled(MOVES[move].panels(half_mm, off_mm), MOVES[move].depth, 0)
    return Pile(records(Column, columns), records(Ply, plies))


@pytest.fixture(scope="module")
def charge() -> Charge:
    return lay_charge(Recipe("tile", SQUARE, FLAKES), np.random.default_rng(1))


@pytest.mark.parametrize("move", [*MOVES, "twist:90", "twist:-400"])
@pytest.mark.parametrize(("drag", "unevenness"), [(0.0, 0.0), (0.5, 0.3), (1.0, 1.0)])
def test_a_move_fills_the_first_slab_evenly_and_comes_back(move: str, drag: float, unevenness: float) -> None:
    programme = drawn(Folding(move, 2, drag, unevenness))
    after = points_within(programme.sizes_mm[2])
    first = follow_back(after, programme, 2)
    inside = relative(first, programme.sizes_mm[0])
    assert inside.min() >= -1e-12
    assert inside.max() <= 1 + 1e-12
    counts, _ = np.histogramdd(inside, bins=(8, 8, 4), range=[(0, 1)] * 3)
    expected = POINTS / counts.size
    chi_squared = ((counts - expected) ** 2 / expected).sum()
    freedom = counts.size - 1  # of a chi-squared law, whose spread is sqrt(2 * freedom)
    assert abs(chi_squared - freedom) < 5 * math.sqrt(2 * freedom)
    np.testing.assert_allclose(follow_forward(first, programme, 2), after, atol=1e-6)
    np.testing.assert_allclose(
        follow_back(follow_forward(first, programme, 2), programme, 2), first, atol=1e-6
    )


@given(programmes, st.floats(0, 1), st.floats(0, 1), st.integers(0, 2**32 - 1))
@settings(max_examples=30, deadline=None)
def test_any_programme_keeps_the_shares_and_comes_back(
    charge: Charge, moves: list[str], drag: float, unevenness: float, seed: int
) -> None:
    assume(not set(moves) <= set(HANDLING))
    folding = Folding(drag=drag, unevenness=unevenness, moves=tuple(moves))
    programme = drawn(folding, seed=seed)
    after = points_within(programme.sizes_mm[-1], seed=seed)
    first = follow_back(after, programme, folding.folds)
    seen = np.bincount(charge.kinds_at(first), minlength=3) / POINTS
    shares = np.array([0.6, 0.3, 0.1])
    sampling = np.sqrt(shares * (1 - shares) / POINTS)
    assert np.all(np.abs(seen - shares) < 5 * sampling + 0.002)  # the charge itself is within 0.2 points
    # Where a fold line runs between a point and its rounded image the two part, so not all can be near.
    away = np.abs(follow_forward(first, programme, folding.folds) - after).max(axis=1)
    assert np.quantile(away, 0.99) < 1e-4


@pytest.mark.parametrize("move", MOVES)
def test_a_fold_makes_as_many_layers_as_its_plan_says(move: str) -> None:
    folding = Folding(move, 1, drag=0.0, unevenness=0.0)
    programme = drawn(folding, Sheet(200.0, 200.0, 5.0))
    (cycle,) = folding.cycles((200.0, 200.0, 5.0))
    verticals, deep = 2000, 600
    points = np.repeat(points_within((200.0, 200.0, 5.0), verticals), deep, axis=0)
    points[:, 2] = np.tile((np.arange(deep) + 0.5) / deep * 5.0, verticals)
    sheets = sheets_crossed(follow_back(points, programme, 1)[:, 2].reshape(verticals, deep))
    if move not in ("roll", "twist"):
        assert set(sheets) == {cycle.layers}
    else:
        # A little more than its turns: a sheet's middle is nearer its outer face, and each lap adds a slope.
        assert cycle.layers < sheets.mean() < 1.16 * cycle.layers


@pytest.mark.parametrize("move", PANELLED)
def test_layers_multiply_from_fold_to_fold(move: str) -> None:
    programme = drawn(Folding(move, 3, drag=0.0, unevenness=0.0))
    points = np.repeat(points_within(programme.sizes_mm[3], 50), 4000, axis=0)
    points[:, 2] = np.tile((np.arange(4000) + 0.5) / 4000 * 5.0, 50)
    heights = follow_back(points, programme, 3)[:, 2].reshape(50, 4000)
    assert set(sheets_crossed(heights)) == {MOVES[move].depth ** 3}
    assert programme.thinning(3) == pytest.approx(MOVES[move].depth ** 3)


@pytest.mark.parametrize("seed", range(4))
def test_cut_and_stack_without_drag_is_the_bakers_map(seed: int) -> None:
    """The baker's map as it is published: (x, y) -> (2x, y/2) for x < 1/2, else (2x - 1, (y + 1)/2)."""
    folding = Folding(moves=("cut-and-stack",), drag=0.0, unevenness=0.0)
    programme = drawn(folding, seed=seed)
    side = programme.tables.steps[0].side
    before = points_within(SQUARE.size_mm)
    x = 0.5 + side * before[:, 0] / 120.0
    y = before[:, 2] / 5.0
    baked = np.where(x < 0.5, 2 * x, 2 * x - 1), np.where(x < 0.5, y / 2, (y + 1) / 2)
    after = follow_forward(before, programme, 1)
    np.testing.assert_allclose(0.5 + side * after[:, 0] / 120.0, baked[0], atol=1e-12)
    np.testing.assert_allclose(after[:, 2] / 5.0, baked[1], atol=1e-12)
    np.testing.assert_allclose(after[:, 1], before[:, 1], atol=1e-12)


def test_edges_in_brings_both_ends_to_the_middle_line() -> None:
    programme = drawn(Folding(moves=("edges-in",), drag=0.0, unevenness=0.0))
    ends = np.array([[-60.0, 7.0, 0.0], [60.0, 7.0, 0.0], [0.0, 7.0, 0.0], [30.0, 7.0, 5.0]])
    after = follow_forward(ends, programme, 1)
    np.testing.assert_allclose(after[:, 0], [0.0, 0.0, 0.0, 60.0], atol=1e-9)
    np.testing.assert_allclose(after[:, 1], 7.0)
    np.testing.assert_allclose(after[:, 2], [5.0, 5.0, 0.0, 2.5], atol=1e-9)  # old lower face now on top


def test_thirds_lays_one_flap_between_the_middle_and_the_other() -> None:
    programme = drawn(Folding(moves=("thirds",), drag=0.0, unevenness=0.0))
    middles = np.array([[-40.0, 0.0, 0.0], [0.0, 0.0, 0.0], [40.0, 0.0, 0.0]])
    after = follow_forward(middles, programme, 1)
    np.testing.assert_allclose(after[:, 0], 0.0, atol=1e-9)
    flaps = sorted([after[0, 2], after[2, 2]])
    assert after[1, 2] == pytest.approx(0.0)
    assert flaps == pytest.approx([10.0 / 3, 5.0])  # turned over: their lower faces on top of each


def test_corners_in_brings_the_corners_to_the_middle() -> None:
    for sign in ((1, 1), (1, -1), (-1, 1), (-1, -1)):
        x, y, z = corners_forward(60.0 * sign[0], 60.0 * sign[1], 0.0, 60.0, 5.0, 1.0)
        assert (x, y, z) == pytest.approx((0.0, 0.0, 10.0))
    x, y, z = corners_forward(60.0, 0.0, 2.0, 60.0, 5.0, 1.0)  # the middle of a side becomes a corner
    assert (abs(x), abs(y), z) == pytest.approx((60.0 / math.sqrt(2), 60.0 / math.sqrt(2), 2.0))


@pytest.mark.parametrize("move", PANELLED)
@pytest.mark.parametrize("off_mm", [(0.0, 0.0), (3.0, -2.0), (-3.0, 4.0), (2.5, 2.5)])
def test_a_pile_that_misses_its_lines_is_level_and_whole(move: str, off_mm: tuple[float, float]) -> None:
    a, h, m = 60.0, 5.0, MOVES[move].depth
    panels = MOVES[move].panels(a, off_mm[: MOVES[move].misses])
    assert sum(panel.end_mm - panel.start_mm for panel in panels) == pytest.approx(2 * a)
    pile = level(move, a, off_mm[: MOVES[move].misses])
    rng = np.random.default_rng(2)
    for t, z in rng.uniform((-a, 0.0), (a, h), (300, 2)):
        u, up = panels_forward(t, z, h, pile)
        assert abs(u) <= a / m + 1e-9
        assert 0.0 <= up <= m * h
        assert panels_back(u, up, h, pile)[:2] == pytest.approx((t, z))


def test_the_levelled_pile_keeps_volume_column_by_column() -> None:
    """A line 6 mm off the middle leaves 12 mm one sheet deep: levelled to half as long, twice as high."""
    first, second = level("half", 60.0, (6.0,)).columns
    np.testing.assert_allclose([first.start, first.end, second.start, second.end], [-30, -24, -24, 30])
    assert Panel(6.0, 60.0, -1, 12.0).lies_mm == (-48.0, 6.0)


def test_flip_turns_the_slab_over_and_two_flips_cancel() -> None:
    folds = ("half", "thirds")
    plain = drawn(Folding(moves=folds))
    points = points_within(SQUARE.size_mm)
    turned = points * [-1, 1, -1] + [0, 0, 5.0]
    once = drawn(Folding(moves=(*folds, "flip")))
    np.testing.assert_allclose(follow_back(turned, once, 2), follow_back(points, plain, 2))
    twice = drawn(Folding(moves=(*folds, "flip", "flip")))
    np.testing.assert_array_equal(follow_back(points, twice, 2), follow_back(points, plain, 2))
    between = drawn(Folding(moves=("half", "flip", "thirds"), drag=0.0, unevenness=0.0))
    after = follow_forward(points, between, 2)
    np.testing.assert_allclose(follow_back(after, between, 2), points, atol=1e-9)


def test_the_first_cycles_do_not_depend_on_how_many_follow() -> None:
    moves = ("flip", "edges-in", "turn", "half", "flip", "twist:90", "thirds", "flip")
    whole = drawn(Folding(moves=moves))
    for folds in range(5):
        folding = Folding(moves=moves, folds=folds)
        stopped = drawn(folding)
        np.testing.assert_array_equal(stopped.after(folds).steps, whole.after(folds).steps)
        assert stopped.sizes_mm == whole.sizes_mm[: folds + 1]
    assert len(whole.after(3).steps) == 5  # three folds, and the flips before the first and the third
    assert len(whole.after(4).steps) == 7  # the flip at the end belongs to the last


def test_a_move_repeated_is_the_list_with_a_turn_between() -> None:
    points = points_within(SQUARE.size_mm)
    single = drawn(Folding("edges-in", 3))
    listed = drawn(Folding(moves=("edges-in", "turn", "edges-in", "turn", "edges-in")))
    np.testing.assert_array_equal(follow_back(points, single, 3), follow_back(points, listed, 3))


def test_spacers_change_height_and_plan_but_not_volume() -> None:
    folding = Folding(moves=("half", "turn", "half", "roll"), spacers_mm=(8.0, 16.0, 10.0))
    programme = drawn(folding, Sheet(150.0, 100.0, 5.0))
    assert [size[2] for size in programme.sizes_mm] == [5.0, 8.0, 16.0, 10.0]
    for length, width, height in programme.sizes_mm:
        assert length * width * height == pytest.approx(150.0 * 100.0 * 5.0)
    after = points_within(programme.sizes_mm[-1])
    first = follow_back(after, programme, 3)
    inside = relative(first, programme.sizes_mm[0])
    counts, _ = np.histogramdd(inside, bins=(5, 5, 5), range=[(0, 1)] * 3)
    assert ((counts - 160) ** 2 / 160).sum() < 124 + 5 * math.sqrt(2 * 124)
    np.testing.assert_allclose(follow_forward(first, programme, 3), after, atol=1e-6)


def test_a_slab_laid_double_without_pressing_only_folds() -> None:
    folding = Folding(moves=("half",), spacers_mm=(10.0,), unevenness=1.0)
    programme = drawn(folding)
    assert programme.sizes_mm[1] == pytest.approx((60.0, 120.0, 10.0))
    lower = np.array([[0.0, 3.0, 1.0]])
    np.testing.assert_allclose(np.abs(follow_back(lower, programme, 1)[0, 1:]), [3.0, 1.0], atol=3.0)
    assert len(programme.tables.turning) == 0  # where nothing spreads nothing smears


def test_an_uneven_fold_moves_the_lines_and_an_even_one_does_not() -> None:
    even, rough = (drawn(Folding("thirds", 1, unevenness=u)) for u in (0.0, 1.0))
    straight = level("thirds", 60.0, (0.0, 0.0)).columns
    np.testing.assert_array_equal(even.tables.columns, straight)
    assert not np.array_equal(rough.tables.columns, straight)


def test_a_move_added_to_the_registry_is_folded_as_it_is_described(monkeypatch: pytest.MonkeyPatch) -> None:
    """Quarters folded to and fro like a fan: four layers, each fold line a crease of the one before."""
    fan = PanelMove(
        "fan",
        "folded to and fro in quarters",
        tuple(Fraction(n, 2) for n in (-1, 0, 1)),
        (Laid(0), Laid(1, over=(0,)), Laid(2, over=(1, 0)), Laid(3, over=(2, 1, 0))),
    )
    monkeypatch.setitem(MOVES, fan.name, fan)
    folding = Folding("fan", 1, drag=0.0, unevenness=0.0)
    (cycle,) = folding.cycles(SQUARE.size_mm)
    assert cycle.layers == 4
    assert cycle.folded_mm == pytest.approx((30.0, 120.0, 20.0))
    programme = drawn(folding)
    ends = np.array(
        [[-60.0, 7.0, 0.0], [-30.0, 7.0, 5.0], [0.0, 7.0, 0.0], [30.0, 7.0, 5.0], [60.0, 7.0, 5.0]]
    )
    after = follow_forward(ends * [programme.tables.steps[0].side, 1, 1], programme, 1)
    # A zigzag: each crease is at the other end from the one before, and the panels between lie flat.
    expected = np.array([-60.0, 60.0, -60.0, 60.0, -60.0])
    np.testing.assert_allclose(after[:, 0] * programme.tables.steps[0].side, expected, atol=1e-9)
    np.testing.assert_allclose(after[:, 2], [0.0, 1.25, 2.5, 3.75, 3.75], atol=1e-9)
    uneven = drawn(Folding("fan", 2, drag=0.5, unevenness=1.0))
    points = points_within(uneven.sizes_mm[2])
    back = follow_back(points, uneven, 2)
    np.testing.assert_allclose(follow_forward(back, uneven, 2), points, atol=1e-6)


def test_an_unregistered_move_is_refused_everywhere() -> None:
    with pytest.raises(InputError, match="known, got 'fan'; choose half"):
        Folding("fan")
    with pytest.raises(InputError, match="known, got 'fan'; choose half"):
        cycles(["fan"], [5.0], SQUARE.size_mm)


def test_a_pile_must_hold_every_panel_and_be_level() -> None:
    with pytest.raises(InputError, match="lay every panel once"):
        PanelMove("short", "", (Fraction(0),), (Laid(0),))
    with pytest.raises(InputError, match=r"equally deep everywhere, got \[1, 2\]"):
        PanelMove("askew", "", (Fraction(1, 3),), (Laid(0), Laid(1, over=(0,))))
