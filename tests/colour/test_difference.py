"""CIEDE2000 against its authors' test data and two reference libraries."""

from pathlib import Path

import numpy as np
import pytest
from skimage.color import deltaE_ciede2000

from blendlab.colour.difference import delta_e00

# Sharma, Wu & Dalal 2005, table 1
PAIRS = np.loadtxt(
    Path(__file__).parents[1] / "reference" / "colour" / "ciede2000.csv", delimiter=",", skiprows=1
)


def test_all_34_published_pairs():
    assert len(PAIRS) == 34
    assert delta_e00(PAIRS[:, 1:4], PAIRS[:, 4:7]) == pytest.approx(PAIRS[:, 7], abs=5e-5)


def test_the_order_of_the_two_colours_is_irrelevant():
    assert delta_e00(PAIRS[:, 4:7], PAIRS[:, 1:4]) == pytest.approx(PAIRS[:, 7], abs=5e-5)


def test_agrees_with_scikit_image_on_random_colours():
    # scikit-image, skimage.color.deltaE_ciede2000
    rng = np.random.default_rng(5)
    lab1, lab2 = rng.uniform([0, -120, -120], [100, 120, 120], (2, 5000, 3))
    assert delta_e00(lab1, lab2) == pytest.approx(deltaE_ciede2000(lab1, lab2), abs=1e-9)


def test_one_colour_against_many_and_itself():
    rng = np.random.default_rng(6)
    lab = rng.uniform([0, -120, -120], [100, 120, 120], (7, 2, 3))
    assert delta_e00(lab, lab).tolist() == np.zeros((7, 2)).tolist()
    assert delta_e00(lab[0, 0], lab)[3, 1] == delta_e00(lab[0, 0], lab[3, 1])
