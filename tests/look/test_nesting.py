"""Blanks laid out on the sheet."""

import itertools
import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from blendlab.checks import InputError
from blendlab.look.nesting import Layout, Piece, blank_face, lay_out
from blendlab.look.surfaces import top_face
from blendlab.recipe.recipe import Sheet

SHEET = Sheet(200.0, 150.0, 6.0)
PLAN = SHEET.size_mm[:2]


def check(layout: Layout, kerf: float, margin: float, sheet: Sheet = SHEET) -> None:
    """No blank leaves the sheet's inside, and between any two there is room for the saw."""
    for piece in layout.pieces:
        assert abs(piece.x_mm) + piece.length_mm / 2 <= sheet.length_mm / 2 - margin + 1e-6
        assert abs(piece.y_mm) + piece.width_mm / 2 <= sheet.width_mm / 2 - margin + 1e-6
    for one, other in itertools.combinations(layout.pieces, 2):
        dx, dy = abs(one.x_mm - other.x_mm), abs(one.y_mm - other.y_mm)
        if one.round:
            assert math.hypot(dx, dy) >= one.length_mm + kerf - 1e-6
        else:
            assert dx >= one.length_mm + kerf - 1e-6 or dy >= one.width_mm + kerf - 1e-6


@given(
    st.floats(5, 150), st.floats(5, 150), st.booleans(), st.floats(0, 5), st.floats(0, 20),
    st.tuples(st.floats(-60, 60), st.floats(-60, 60)),
)  # fmt: skip
def test_blanks_stay_on_the_sheet_a_kerf_from_each_other(
    length: float, width: float, is_round: bool, kerf: float, margin: float, shift: tuple[float, float]
) -> None:
    piece = Piece(length, length if is_round else width, is_round)
    sides = sorted((piece.length_mm, piece.width_mm))
    room = sorted((SHEET.length_mm - 2 * margin, SHEET.width_mm - 2 * margin))
    if sides[0] > room[0] or sides[1] > room[1]:
        with pytest.raises(InputError, match="a blank must not be larger than the sheet"):
            lay_out(PLAN, piece, kerf, margin, shift)
    else:
        check(lay_out(PLAN, piece, kerf, margin, shift), kerf, margin)
        assert lay_out(PLAN, piece, kerf, margin).pieces


@pytest.mark.parametrize(
    ("piece", "kerf", "margin", "count", "turned"),
    [
        (Piece(100.0, 75.0), 0.0, 0.0, 4, False),
        (
            Piece(100.0, 75.0),
            2.0,
            0.0,
            2,
            True,
        ),  # a saw cut leaves room for one row only, two across when turned
        (Piece(48.0, 48.0), 2.0, 1.0, 9 + 3, False),
        (Piece(75.0, 200.0), 0.0, 0.0, 2, True),
        (Piece(200.0, 150.0), 2.0, 0.0, 1, False),
    ],
)
def test_as_many_as_fit(piece: Piece, kerf: float, margin: float, count: int, turned: bool) -> None:
    layout = lay_out(PLAN, piece, kerf, margin)
    assert (len(layout.pieces), layout.turned) == (count, turned)
    check(layout, kerf, margin)
    middle = np.mean([(p.x_mm, p.y_mm) for p in layout.pieces], axis=0)
    np.testing.assert_allclose(middle, 0.0, atol=1e-9)


def test_discs_settle_into_each_other_where_that_holds_more() -> None:
    """Discs in staggered rows lie sqrt(3)/2 of their step apart, so more rows fit."""
    loose = lay_out(PLAN, Piece(20.0, 20.0, True), 2.0)
    assert loose.staggered
    assert len(loose.pieces) > 9 * 6  # what abreast would hold
    check(loose, 2.0, 0.0)
    tight = lay_out((100.0, 100.0), Piece(50.0, 50.0, True), 0.0)
    assert not tight.staggered
    assert len(tight.pieces) == 4


def test_a_shift_moves_every_blank_alike_and_lets_others_in() -> None:
    piece = Piece(60.0, 40.0)
    middle, moved = lay_out(PLAN, piece), lay_out(PLAN, piece, shift_mm=(5.0, -3.0))
    before = {(round(p.x_mm + 5, 6), round(p.y_mm - 3, 6)) for p in middle.pieces}
    assert {(round(p.x_mm, 6), round(p.y_mm, 6)) for p in moved.pieces} == before
    a_step = lay_out(PLAN, piece, shift_mm=(62.0, 42.0))  # one blank and one cut further is the same again
    places = [[(p.x_mm, p.y_mm) for p in layout.pieces] for layout in (a_step, middle)]
    np.testing.assert_allclose(*places, atol=1e-9)


def test_pieces_are_named_row_by_row_from_the_upper_left() -> None:
    pieces = lay_out(PLAN, Piece(60.0, 40.0)).pieces
    order = [(-p.y_mm, p.x_mm) for p in pieces]
    assert order == sorted(order)


@pytest.mark.parametrize("is_round", [False, True])
def test_a_blank_gets_its_own_part_of_the_marbling(is_round: bool) -> None:
    piece = Piece(40.0, 40.0, is_round, 25.0, -30.0)
    face = blank_face(piece, SHEET, 2.0)
    rows, columns = face.shape
    frames = face.frames(0, rows).reshape(rows, columns, 12)
    whole = top_face(SHEET, 2.0).frames(0, 300).reshape(300, 400, 12)
    crop = whole[((75 + 30 - 20) * 2) :, ((100 + 25 - 20) * 2) :][:rows, :columns]
    seen = np.isfinite(frames[..., 0])
    np.testing.assert_allclose(frames[seen], crop[seen], atol=1e-9)
    assert seen.mean() == pytest.approx(math.pi / 4 if is_round else 1.0, rel=0.01)
    np.testing.assert_array_equal(face.frames(30, 50), frames[30:50].reshape(-1, 12))


def test_blanks_smaller_than_a_sheet_may_be_are_drawn_too() -> None:
    assert blank_face(Piece(8.0, 5.0), SHEET, 4.0).shape == (20, 32)


@pytest.mark.parametrize(
    ("ask", "says"),
    [
        (lambda: lay_out(PLAN, Piece(210.0, 20.0)), "larger than the sheet, got 210 x 20 mm"),
        (lambda: lay_out(PLAN, Piece(20.0, 20.0), margin_mm=80.0), "the sheet has 40 x 0 mm"),
        (lambda: lay_out(PLAN, Piece(20.0, 20.0), kerf_mm=-1.0), "kerf_mm must be a number from 0 to 20"),
        (lambda: lay_out(PLAN, Piece(20.0, 20.0), shift_mm=(float("nan"), 0.0)), "shift_mm"),
        (
            lambda: blank_face(Piece(20.0, 20.0, False, 95.0, 0.0), SHEET, 1.0),
            "a blank must lie on the sheet, got one that reaches 105 and 10 mm from its middle; the sheet",
        ),
        (lambda: blank_face(Piece(20.0, 20.0, True, 0.0, -900.0), SHEET, 1.0), "must lie on the sheet"),
        (lambda: blank_face(Piece(20.0, 20.0, x_mm=float("nan")), SHEET, 1.0), "must lie on the sheet"),
        (lambda: Piece(0.0, 20.0), "length_mm of a blank must be a number from 1 to 2000, got 0.0"),
        (lambda: Piece(30.0, 20.0, round=True), "a round blank must be as long as wide, got 20.0"),
    ],
)
def test_an_impossible_layout_is_refused_in_a_sentence(ask: object, says: str) -> None:
    with pytest.raises(InputError) as caught:
        ask()  # type: ignore[operator]
    assert says in str(caught.value)
