"""The fold ladder: its rungs, the words for looks, and which fold count is picked."""

from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from blendlab.checks import InputError
from blendlab.colour.means import area_mean
from blendlab.look.contrast import JUST_SEEN
from blendlab.look.ladder import (
    Levels,
    falling_looks,
    levels_of,
    levels_of_replicate,
    rungs,
    tile_px_per_mm,
    word_for,
)
from blendlab.look.looks import LOOKS, MIDDLES, MIN_LIVELY
from blendlab.look.pick import ONE_COLOUR, Pick, advise, best_count, choose
from blendlab.look.prepared_sheet import prepare
from blendlab.look.render import render, srgb8
from blendlab.look.surfaces import top_face
from blendlab.recipe.lay import Lay
from blendlab.recipe.recipe import MAX_FLAKES, Flake, Folding, Recipe, Sheet, from_toml

RECIPE = Recipe(
    "Harbour coaster",
    Sheet(100.0, 60.0, 5.0),
    (Flake("white", "#f2f0e8", 50, hide_mm=0.4), Flake("blue", "#14409a", 30, hide_mm=0.3)),
    Folding(folds=6, seed=11),
)
COUNTS = (0, 2, 6)

parts = st.lists(st.tuples(st.floats(0, 60), st.floats(0, 1)), min_size=2, max_size=11)
levels = parts.map(lambda seen: Levels(*np.array(seen).T))


def falling(contrast, unfolded=None):
    """Levels that are as lively as they are contrasted."""
    seen = np.array(contrast, float)
    return Levels(seen, seen / (unfolded or max(seen[0], 1e-9)))


@pytest.fixture(scope="module")
def ladder():
    return list(rungs(prepare(RECIPE, COUNTS[-1]), COUNTS))


def test_a_rung_for_each_count_in_turn(ladder):
    assert tuple(rung.folds for rung in ladder) == COUNTS
    rows, columns = ladder[0].srgb8.shape[:2]
    assert columns == round(100 * tile_px_per_mm(RECIPE))
    assert rows == round(60 * tile_px_per_mm(RECIPE))


def test_folding_calms_and_thins(ladder):
    assert ladder[0].contrast > ladder[1].contrast > ladder[2].contrast
    assert 1 == ladder[0].lively > ladder[1].lively > ladder[2].lively > 0
    assert ladder[0].layer_mm > 3 * ladder[1].layer_mm > 9 * ladder[2].layer_mm
    assert 1 >= ladder[0].segregation > ladder[1].segregation > ladder[2].segregation >= 0
    assert ladder[0].drift < ladder[2].drift
    assert ladder[0].look == "pieces"
    assert all(0 < rung.feature_mm < 60 for rung in ladder)


def test_a_mean_is_the_mean_of_the_light_and_drift_is_counted_from_the_area_mean(ladder):
    prepared = prepare(RECIPE, COUNTS[-1])
    for rung in ladder:
        face = top_face(prepared.sheet_after(rung.folds), tile_px_per_mm(RECIPE))
        light = render(face, prepared, rung.folds).xyz1
        assert np.array_equal(rung.srgb8, srgb8(light))
        assert rung.mean.xyz1 == pytest.approx(light.mean(axis=(0, 1), dtype=float))
    # Opaque flakes far thicker than light's reach: unfolded, the face is the area mean but for chance.
    assert ladder[0].drift < 2.5
    assert ladder[0].mean.lab == pytest.approx(area_mean(RECIPE).lab, abs=4)


def test_a_rung_does_not_depend_on_the_others(ladder):
    (alone,) = rungs(prepare(RECIPE, 9), [6])
    assert alone.unfolded == ladder[0].contrast
    assert np.array_equal(alone.srgb8, ladder[2].srgb8)
    assert alone.as_json() == ladder[2].as_json()
    (chosen,) = rungs(prepare(RECIPE, 6), [6], unfolded=ladder[0])
    assert (chosen.look, chosen.unfolded, chosen.lively) == (alone.look, alone.unfolded, alone.lively)


def test_one_colour_is_even_at_any_count():
    plain = Recipe("Plain", RECIPE.sheet, RECIPE.flakes[:1], RECIPE.folding)
    for rung in rungs(prepare(plain, 2), (0, 2)):
        assert rung.contrast == pytest.approx(0, abs=1e-3)
        assert rung.look == "even"
        assert rung.segregation == 0
        assert rung.layer_mm == 5.0


def test_a_replicate_is_another_sheet_of_the_same_kind(ladder):
    own = levels_of(ladder)
    same = levels_of_replicate(RECIPE, COUNTS, 0)
    assert same.contrast == pytest.approx(own.contrast)
    assert same.lively == pytest.approx(own.lively)
    other = levels_of_replicate(RECIPE, COUNTS, 1)
    assert np.all(other.contrast != own.contrast)
    assert other.contrast == pytest.approx(own.contrast, rel=0.5)
    further = levels_of_replicate(RECIPE, COUNTS[1:], 1)
    assert further.lively == pytest.approx(other.lively[1:])


@given(st.integers(0, 16), st.floats(0, 100), st.floats(0, 1))
def test_every_sheet_has_its_word(folds, contrast, lively):
    word = word_for(folds, contrast, lively)
    assert (word == "even") == (contrast < JUST_SEEN)
    if contrast >= JUST_SEEN:
        assert (word == "pieces") == (folds == 0)


def test_words_run_from_lively_to_calm():
    words = [word_for(3, 50.0 * part, part) for part in (1.0, *MIDDLES.values(), 0.01)]
    assert words == ["streaks", *MIDDLES, "even"]
    assert tuple(LOOKS) == ("pieces", *MIDDLES, "even")
    borders = [word_for(3, 50.0, least) for least in MIN_LIVELY.values()]
    assert borders == list(MIDDLES)


@given(st.sampled_from(LOOKS), levels)
def test_a_pick_is_one_of_the_counts_and_says_why_in_one_sentence(wanted, seen):
    counts = range(0, 3 * len(seen.contrast), 3)
    found = best_count(wanted, counts, seen, seen.contrast[0])
    assert found.folds in counts
    assert found.why.endswith(".")
    assert "\n" not in found.why


@given(st.sampled_from(LOOKS), st.lists(st.floats(0, JUST_SEEN, exclude_max=True), min_size=1, max_size=11))
def test_one_colour_has_no_look_to_choose(wanted, seen):
    found = best_count(wanted, range(len(seen)), falling(seen), seen[0])
    assert not found.matters
    assert found.advice == found.why == ONE_COLOUR


@pytest.mark.parametrize("kinds", [1, MAX_FLAKES])
def test_flakes_of_one_colour_say_so_instead_of_a_count(kinds):
    alike = tuple(Flake(f"box {n}", "#14409a", 10) for n in range(kinds))
    steps = list(rungs(prepare(replace(RECIPE, flakes=alike), 2), (0, 2)))
    for wanted in LOOKS:
        assert choose(wanted, steps, []).advice == ONE_COLOUR


def test_advice_counts_as_people_do():
    said = [Pick(folds, "Why.").advice for folds in range(4)]
    assert said == ["Do not fold. Why.", "Fold once. Why.", "Fold twice. Why.", "Fold 3 times. Why."]


@given(levels)
def test_even_is_where_contrast_stays_below_the_eye(levels):
    seen = levels.contrast
    found = best_count("even", range(len(seen)), levels, seen[0]).folds
    rest = seen[found:]
    if rest[-1] < JUST_SEEN:
        assert np.all(rest < JUST_SEEN)
        assert found == 0 or seen[found - 1] >= JUST_SEEN
    else:
        assert found == len(seen) - 1


@given(st.sampled_from(LOOKS[1:-1]), levels.filter(lambda seen: seen.contrast[0] >= JUST_SEEN))
def test_the_looks_between_take_the_count_nearest_their_middle(wanted, seen):
    last = len(seen.contrast)
    found = best_count(wanted, range(last), seen, seen.contrast[0])
    assert found.folds > 0
    miss = np.abs(seen.lively[1:] - MIDDLES[wanted])
    assert miss[found.folds - 1] == pytest.approx(miss.min(), abs=1e-9)
    # A ladder that begins further on judges by the same pieces, and may choose its first rung.
    rest = Levels(seen.contrast[1:], seen.lively[1:])
    assert best_count(wanted, range(1, last), rest, seen.contrast[0]) == found


def test_pieces_are_the_fewest_folds():
    assert best_count("pieces", [2, 4], falling([30.0, 31.0], 40.0), 40.0).folds == 2


def test_a_single_count_is_described_as_it_is():
    seen = falling([10.0], 40.0)
    assert "25 % as lively as the whole pieces" in best_count("marbled", [5], seen, 40.0).why
    assert best_count("even", [5], seen, 40.0).why.startswith("After 5 folds there is still a contrast")
    assert best_count("even", [1], seen, 40.0).why.startswith("After 1 fold there is still a contrast")


def test_choosing_says_how_many_further_sheets_agree(ladder):
    own = levels_of(ladder)
    chosen = choose("marbled", ladder, [])
    assert chosen.sure == ""
    assert chosen.folds == best_count("marbled", COUNTS, own, own.contrast[0]).folds
    assert choose("marbled", ladder, [own, own]).sure == "All 2 further sheets tried agree."
    calm, lively = falling([40, 0.1, 0.1]), falling([40, 40, 16])
    chosen = choose("even", ladder, [calm, lively])
    assert chosen.sure == "Of 2 further sheets tried 1 agree; they ask for 2 to 6."


def steps_of(seen):
    """A ladder whose rungs are known by their levels alone."""
    named = zip(seen.contrast, seen.lively, strict=True)
    return [
        SimpleNamespace(folds=n, contrast=contrast, lively=lively, unfolded=50.0)
        for n, (contrast, lively) in enumerate(named)
    ]


@given(levels)
def test_a_word_only_falls_from_the_liveliest_sheet_on(seen):
    ranks = [LOOKS.index(look) for look in falling_looks(steps_of(seen))][int(seen.lively.argmax()) :]
    assert ranks == sorted(ranks)


def test_a_face_of_one_layer_shows_the_others_once_it_is_folded():
    lays = tuple(Lay((flake.name,), "layer") for flake in RECIPE.flakes)
    laid = replace(RECIPE, lays=lays)
    steps = list(rungs(prepare(laid, 3), range(4)))
    assert steps[0].unfolded == next(rungs(prepare(RECIPE, 0), [0])).contrast
    assert falling_looks(steps)[0] == "even"  # blue all over
    assert "even" not in falling_looks(steps)[1:]
    assert advise("marbled", steps, []).counts[0] > 0
    (alone,) = rungs(prepare(laid, 3), [3])
    assert alone.lively == steps[3].lively
    assert levels_of_replicate(laid, (0, 2), 0).lively == pytest.approx([0.0, steps[2].lively], abs=0.02)


def sheets(*seen):
    """The ladder of the first sheet, and the levels of the others."""
    first, *others = (falling(one, 50.0) for one in seen)
    return steps_of(first), others


def falls_to_marbled_at(count):
    return [50.0] * count + [50 * MIDDLES["marbled"]] + [10.0] * (6 - count)


def test_advice_names_one_count_where_most_sheets_agree():
    steps, others = sheets(*(falls_to_marbled_at(n) for n in (3, 3, 4, 3, 2)))
    found = advise("marbled", steps, others)
    assert found.counts == (3,)
    assert found.text == "Fold 3 times. 3 of 5 sheets of this mix look marbled then."


def test_advice_names_a_range_where_sheets_differ():
    steps, others = sheets(*(falls_to_marbled_at(n) for n in (3, 4, 4, 3, 2)))
    found = advise("marbled", steps, others)
    assert found.counts == (3, 4)
    assert found.text.startswith(
        "Try 3 or 4 folds. Sheets of this mix differ: of 5, they look marbled after 2 to 4."
    )


def test_a_streak_that_comes_up_again_does_not_call_for_more_folds():
    steps, _ = sheets([50.0, 48.0, 32.0, 15.0, 33.0])
    assert advise("marbled", steps, []).counts == (2,)


def test_an_unknown_look_is_refused(ladder):
    with pytest.raises(InputError, match="the look wanted must be one of those known, got 'wavy'"):
        advise("wavy", ladder, [])
    with pytest.raises(InputError, match="the look wanted must be one of those known, got 'wavy'"):
        choose("wavy", ladder, [])


def test_the_demo_reads_as_marbled_after_three_to_five_folds():
    """As an eye calls it, on pictures of four sheets of this mix."""
    demo = from_toml((Path(__file__).parents[2] / "swatches/harbour.toml").read_text(encoding="utf-8"))
    words = falling_looks(list(rungs(prepare(demo, 10), [*range(6), 10])))
    assert words == ("pieces", "streaks", "streaks", "marbled", "marbled", "marbled", "clouded")
