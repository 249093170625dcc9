import re

import pytest

from blendlab.checks import InputError
from blendlab.recipe.folding_moves import Folding
from blendlab.workshop.closing import CLOSINGS, Closing, advice, closing_report
from blendlab.workshop.melt_flow import Stock
from blendlab.workshop.press_setup import PressSetup

SLAB = (200.0, 200.0, 6.0)


def shut(closing, stock=None, folding=None, size=SLAB, loads=1):
    how = folding or Folding(folds=3, drag=0.5)
    return closing_report(how, size, closing, stock or Stock(), 160.0, loads=loads, allowed_s=90.0)


@pytest.mark.parametrize("kind", CLOSINGS)
def test_every_closing_has_a_band(kind):
    found = shut(Closing(kind))
    assert len(found.presses) == 3
    for press in found.presses:
        assert 0 < press.seconds.low < press.seconds.usual < press.seconds.high
        assert 0 < press.pressure_kpa.low < press.pressure_kpa.usual < press.pressure_kpa.high


def test_bare_hands_are_slow_and_a_screw_is_not():
    hands, screw = shut(Closing("hands")), shut(Closing("screw-press"))
    assert not hands.in_time
    assert screw.in_time
    assert hands.slowest.seconds.usual > 50 * screw.slowest.seconds.usual


def test_pressure_is_force_over_plan():
    (press,) = shut(Closing(force_n=1000), folding=Folding(folds=1)).presses
    assert press.pressure_kpa.usual == pytest.approx(1000 / 0.2**2 / 1000)  # 25 kPa


def test_the_needed_force_closes_it_in_the_time_it_is_given():
    needed = shut(Closing("hands")).slowest.needed_n
    assert shut(Closing(force_n=needed)).slowest.seconds.usual == pytest.approx(90, rel=1e-9)


def test_a_press_no_one_waits_for_counts_as_one_that_does_not_close():
    weak, strong = shut(Closing(force_n=30), Stock("bottle")), shut(Closing(force_n=3000), Stock("bottle"))
    assert not weak.closes
    assert strong.closes


def test_thin_loads_close_more_slowly_than_the_whole():
    """Half the height on the same plan: Stefan's 1/h² at least."""
    one, two = (shut(Closing(force_n=300), loads=loads).slowest.seconds.usual for loads in (1, 2))
    assert two > 4 * one


def test_what_is_not_folded_is_not_squeezed():
    assert shut(Closing("hands"), folding=Folding(folds=0)) is None


def test_advice_names_all_ways_out_and_keeps_the_limits():
    said = " ".join(
        advice(shut(Closing("hands"), Stock("bottle")), PressSetup(liner="silicone", plate_c=200))
    )
    assert [
        word for word in ("More force", "smaller load", "More folds", "Hotter plates") if word not in said
    ] == []
    assert "210 °C" in said  # ten below the limit of a silicone mat
    assert all(int(part) < 100 for part in re.findall(r"(\d+) %", said))
    assert advice(shut(Closing("screw-press"), Stock("crate")), PressSetup()) == ()
    hot = advice(shut(Closing("hands"), Stock("bottle")), PressSetup(liner="silicone", plate_c=215))
    assert not any("Hotter" in sentence for sentence in hot)


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"force_n": 0}, "force on the press in N must be a number from 1 to 1e+06, got 0; give the force"),
        ({"force_n": float("inf")}, "force on the press in N must be a number"),
        ({"kind": "elephant"}, "what holds the press shut must be one of those known, got 'elephant'"),
        ({}, "what holds the press shut must be known, got nothing; name it, or give the force in N"),
    ],
)
def test_impossible_closings_are_refused_in_words(wrong, words):
    with pytest.raises(InputError) as refusal:
        Closing(**wrong)
    assert words in str(refusal.value)
