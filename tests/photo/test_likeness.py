"""From any picture to sheets like it; tests/bench/likeness.py is the large version."""

import json
from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import pytest

from blendlab.checks import InputError
from blendlab.look.prepared_sheet import prepare
from blendlab.look.render import render, srgb8
from blendlab.look.surfaces import top_face
from blendlab.photo import likeness
from blendlab.photo.likeness import Likeness, like
from blendlab.recipe.flake_list import Stocked
from blendlab.recipe.lay import Lay
from blendlab.recipe.recipe import Flake, Folding, Recipe, Sheet

STOCK = (
    Stocked("cap white", "#f1efe6", grams=500),
    Stocked("crate blue", "#17439b", grams=500),
    Stocked("lemon", "#efc31c", grams=20),
    Stocked("soot", "#1a1a1b", grams=500),
)
SHARES = {"cap white": 0.5, "crate blue": 0.3, "lemon": 0.2}
SHEET = Sheet(112.0, 112.0, 6.0)
TOTAL_G = 71.5  # of that sheet, by the density of the table


@pytest.fixture(scope="module")
def few() -> Iterator[None]:
    """Few folds, cuts and other ways, so that a search takes a few seconds."""
    patch = pytest.MonkeyPatch()
    patch.setattr(likeness, "WHOLE", (1, 3))
    patch.setattr(likeness, "BLENDED", (5,))
    patch.setattr(likeness, "CUTS_MM", (7.0, 14.0))
    patch.setattr(likeness, "WITH_OTHER_MOVES", 0)
    patch.setattr(likeness, "MAX_PROPOSALS", 3)
    yield
    patch.undo()


@pytest.fixture(scope="module")
def found(few: None) -> Likeness:
    flakes = tuple(Flake(one.name, one.srgb, 100 * SHARES[one.name]) for one in STOCK[:3])
    prepared = prepare(Recipe("known", SHEET, flakes, Folding(folds=3, seed=5)))
    picture = srgb8(render(top_face(SHEET, 2.0), prepared, 3).xyz1)
    return like(picture, STOCK, TOTAL_G)


def test_a_predicted_sheet_comes_back(found: Likeness) -> None:
    best = found.proposals[0]
    shares = {flake.name: float(s) for flake, s in zip(best.recipe.flakes, best.recipe.shares, strict=True)}
    for name, share in SHARES.items():
        assert shares.get(name, 0) == pytest.approx(share, abs=0.06)
    assert best.difference.contrast == pytest.approx(1, abs=0.15)
    assert 1 / 1.34 < best.difference.feature < 1.34
    assert best.recipe.flakes[0].size_mm == (7.0, 7.0, 1.6)
    assert best.recipe.sheet.length_mm == pytest.approx(SHEET.length_mm, rel=0.02)


def test_proposals_are_sorted_differ_and_keep_the_contract(found: Likeness) -> None:
    said = json.loads(json.dumps(found.as_json()))
    assert 1 < len(said["proposals"]) <= 3
    far = [one["distance"] for one in said["proposals"]]
    assert far == sorted(far)
    keys = {"percent", "folds", "moves", "lays", "mean", "contrast", "feature_mm", "distance"}
    for one in said["proposals"]:
        assert keys <= one.keys()
        assert sum(one["percent"].values()) == pytest.approx(100, abs=0.3)
        assert sum(one["grams"].values()) == pytest.approx(TOTAL_G, abs=0.5)
        assert len(one["moves"]) == one["folds"]
    ways = [(one["folds"], one["size_mm"][0], *one["percent"].items()) for one in said["proposals"]]
    assert len(set(ways)) == len(ways)


def test_sheets_of_one_mix_are_proposed_only_where_they_look_different(found: Likeness) -> None:
    best = found.proposals[0]
    flakes = tuple(replace(flake, size_mm=(14.0, 14.0, 1.6)) for flake in best.recipe.flakes)
    other = replace(best, recipe=replace(best.recipe, flakes=flakes).with_folding(move="edges-in"))
    coarser = replace(other, seen=replace(best.seen, feature_mm=3 * best.seen.feature_mm))
    assert likeness._unlike([best, other]) == [best]  # another cut and move to the same look
    assert likeness._unlike([best, coarser]) == [best, coarser]
    laid = tuple(Lay((flake.name,), "stripes") for flake in best.recipe.flakes)
    assert likeness._unlike([best, replace(best, recipe=replace(best.recipe, lays=laid))]) == [best]
    often = replace(other, recipe=best.recipe.with_folding(folds=best.recipe.folding.folds + 2))
    assert likeness._unlike([best, often]) == [best, often]
    alone = replace(other, recipe=replace(other.recipe, flakes=other.recipe.flakes[:1]))
    assert likeness._unlike([best, alone]) == [best, alone]  # another mix


def test_another_move_is_proposed_only_where_it_comes_clearly_nearer(found: Likeness) -> None:
    best = found.proposals[0]
    moved = replace(best, recipe=best.recipe.with_folding(move="thirds"))
    hardly, clearly = (
        replace(moved, difference=replace(best.difference, total=best.difference.total - nearer))
        for nearer in (0.3, 0.7)
    )
    for other, first in ((hardly, best), (clearly, clearly)):
        assert likeness._unlike(sorted([other, best], key=likeness._worth)) == [first]


def test_what_cannot_be_reached_is_said(found: Likeness) -> None:
    said = " ".join(found.remarks)
    assert found.missing is None
    assert "not its edges and motifs" in said
    assert "Of cap white" not in said
    most = max(f.grams for one in found.proposals for f in one.recipe.flakes if f.name == "lemon")
    assert ("Of lemon there are 20 g" in said) == (most > 20)


def test_a_colour_out_of_reach_names_the_flake_that_would_help(few: None) -> None:
    picture = np.zeros((64, 96, 3), np.uint8)
    picture[:, :32], picture[:, 32:] = (200, 30, 60), (240, 238, 230)
    answer = like(picture, (STOCK[0], STOCK[1]), TOTAL_G)
    assert answer.missing
    red = answer.missing.wanted.srgb
    assert int(red[1:3], 16) > 150 > int(red[5:7], 16)
    assert answer.missing.part == pytest.approx(1 / 3, abs=0.1)
    assert any(red in remark and "would help most" in remark for remark in answer.remarks)
    assert answer.as_json()["would_help"]["srgb"] == red


def test_one_colour_gets_an_even_sheet(few: None) -> None:
    answer = like(np.full((64, 64, 3), (241, 239, 230), np.uint8), STOCK, TOTAL_G)
    best = answer.proposals[0]
    assert [flake.name for flake in best.recipe.flakes] == ["cap white"]
    assert answer.picture.is_plain
    assert best.difference.palette < 3
    assert "the sheet is even" in best.alike
    assert len(answer.proposals) == 1  # others would look the same


def test_one_flake_and_a_long_picture_give_an_answer(few: None) -> None:
    noise = np.random.default_rng(1).integers(0, 255, (16, 400, 3), dtype=np.uint8)
    answer = like(noise, STOCK[1:2], TOTAL_G)
    sheet = answer.proposals[0].recipe.sheet
    assert sheet.length_mm / sheet.width_mm == pytest.approx(2.5, rel=0.01)


def test_moves_that_need_a_square_slab_are_left_out_of_an_oblong_one(
    few: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(likeness, "WITH_OTHER_MOVES", 1)
    monkeypatch.setattr(likeness, "MOVES", {"half": "", "corners-in": "", "thirds": ""})
    monkeypatch.setattr(likeness, "STRIPES", (3,))
    ramp = np.linspace(0, 255, 96).astype(np.uint8)
    answer = like(np.broadcast_to(ramp[None, :, None], (64, 96, 3)), STOCK, TOTAL_G)
    assert all(one.recipe.folding.move != "corners-in" for one in answer.proposals)


@pytest.mark.parametrize(
    ("part", "grams", "said"),
    [
        ((0, 0, 8, 40), TOTAL_G, "the part must be 16 pixels a side or more, inside the picture, got 0,0,8"),
        ((30, 30, 40, 20), TOTAL_G, "inside the picture, got 30,30,40,20 of 64 x 64 pixels"),
        (None, 5.0, "grams must be a number from 20 to 2000, got 5"),
    ],
)
def test_bad_input_is_refused_in_one_sentence(part, grams, said) -> None:
    with pytest.raises(InputError, match=said):
        like(np.zeros((64, 64, 3), np.uint8), STOCK, grams, part)


def test_a_search_can_be_stopped(few: None) -> None:
    class StoppedError(Exception):
        pass

    heard: list[float] = []

    def stop(part: float) -> None:
        heard.append(part)
        if part >= 0.2:
            raise StoppedError

    with pytest.raises(StoppedError):
        like(np.full((64, 64, 3), 120, np.uint8), STOCK, TOTAL_G, on_progress=stop)
    assert heard == sorted(heard)


def test_a_flake_let_down_in_another_brings_its_partner(few: None) -> None:
    from blendlab.recipe.flake import LetDown

    blue = replace(STOCK[1], let_down=LetDown("cap white", 10, "#7f93c8"))
    picture = np.full((32, 32, 3), (23, 67, 155), np.uint8)
    answer = like(picture, (STOCK[0], blue), TOTAL_G)
    assert "crate blue" in answer.as_json()["proposals"][0]["percent"]
