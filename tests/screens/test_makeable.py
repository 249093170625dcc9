"""Mixes for a wanted colour: in pieces and grams that can be put on a scale."""

import pytest

from blendlab.recipe.flake_list import Stocked
from blendlab.screens.parts import stock_table
from blendlab.screens.parts.makeable import amount, makeable
from blendlab.units import METRIC, OZ_IN

from .opening import in_address, opened, sound

CAP = Stocked("cap", "#f1eee4", grams=500.0, piece_g=2.3)
CRATE = Stocked("crate", "#1d4f8f", grams=900.0, piece_g=1800.0)
LOOSE = Stocked("loose", "#c8202a", grams=100.0)
SHED = (CAP, CRATE, LOOSE)


def test_small_pieces_are_whole_and_the_rest_goes_by_the_gram() -> None:
    assert makeable({"cap": 0.5, "crate": 0.303, "loose": 0.197}, SHED, 200.0) == {
        "cap": pytest.approx(43 * 2.3),
        "crate": 61.0,
        "loose": 39.0,
    }
    assert amount(CAP, 43 * 2.3, 200.0, METRIC) == "43 pieces, 98.9 g"
    assert amount(CAP, 2.3, 200.0, METRIC) == "1 piece, 2.3 g"
    assert amount(CRATE, 61.0, 200.0, METRIC) == "61 g"
    assert amount(CAP, 2.3, 200.0, OZ_IN) == "1 piece, 0.081 oz"


def test_a_tenth_of_a_gram_of_a_cap_is_left_out() -> None:
    assert makeable({"crate": 0.9995, "cap": 0.0005}, SHED, 200.0) == {"crate": 200.0}


def test_a_little_mix_is_weighed_to_a_tenth_and_never_comes_to_nothing() -> None:
    assert makeable({"loose": 1.0}, SHED, 12.34) == {"loose": 12.3}
    assert makeable({"loose": 0.4, "crate": 0.6}, SHED, 0.01) == {"crate": 0.1}


def test_the_page_proposes_what_can_be_weighed_and_says_how_well_it_is_known() -> None:
    app = opened(page="blendlab/screens/pages/wanted.py")
    assert "ΔE" not in " ".join(element.proto.body for element in app.get("html"))  # figures rest
    app.session_state["numbers"] = True
    sound(app.run())
    shown = " ".join(element.proto.body for element in app.get("html"))
    assert "ΔE00 away as predicted" in shown
    assert "nine times in ten" in shown
    assert any(" g" in text.value and "piece" in text.value for text in app.text)
    sound(app.button(key="take0").click().run())
    pieces = {flake.name: flake.piece_g for flake in stock_table.on_hand()[0]}
    for flake in in_address(app).flakes:
        piece_g = pieces[flake.name]
        step = piece_g if piece_g and piece_g <= 10 else 1.0  # a twentieth of 200 g
        assert flake.grams / step == pytest.approx(round(flake.grams / step), abs=1e-6)
