from math import exp

import numpy as np
import pytest

from blendlab.workshop.ageing import ageing, ageing_rate
from blendlab.workshop.heat import Fold, timetable
from blendlab.workshop.press_setup import PressSetup
from blendlab.workshop.properties import hdpe

LOAD = 5.0  # kg/m², 200 g on 200 x 200 mm
FOLDS = [Fold(2, LOAD)] * 5


def test_the_test_lasts_as_long_as_published():
    """NCHRP Report 696 (2011), Table 5: 13.6 min on average at 200 °C in oxygen, 9-39."""
    row = hdpe()["oxidation_minutes"]
    assert (row["low"], row["usual"], row["high"]) == (9.0, 13.6, 39.0)


def test_a_minute_counts_by_arrhenius_on_the_safe_side():
    """80 kJ/mol below 200 °C and 200 above, estimates: the ends that count more."""
    cool, warm = 453.15, 493.15
    by_hand = [exp(-80e3 / 8.314462618 * (1 / cool - 1 / 473.15)), 1.0]
    by_hand.append(exp(-200e3 / 8.314462618 * (1 / warm - 1 / 473.15)))
    assert ageing_rate(np.array([180.0, 200.0, 220.0])) == pytest.approx(by_hand, rel=1e-9)
    assert by_hand[0] == pytest.approx(0.4075, abs=5e-4)
    assert np.all(np.diff(ageing_rate(np.linspace(20, 240, 100))) > 0)


def test_a_usual_sheet_is_within_its_budget_and_a_long_one_is_not():
    usual, long = (ageing(timetable(LOAD, FOLDS, PressSetup(press_s=s))) for s in (90, 900))
    assert usual.within
    assert not long.within
    assert 0.3 * 14 < usual.used_minutes < 0.45 * 14  # 14 min of hot work, at most 0.41 for each


def test_hotter_plates_use_more():
    used = [ageing(timetable(LOAD, FOLDS, PressSetup(plate_c=c))).used_minutes for c in (160, 180, 200, 220)]
    assert used == sorted(used)
    assert used[3] > 4 * used[1]
