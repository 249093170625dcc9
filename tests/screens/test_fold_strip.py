"""The strip of folds: what its tiles tell, which one is chosen, and what is advised."""

import re
from dataclasses import replace

from streamlit.testing.v1 import AppTest

from blendlab.colour.difference import delta_e00
from blendlab.colour.spaces import Colour
from blendlab.look.ladder import rungs
from blendlab.look.looks import LOOKS
from blendlab.look.prepared_sheet import prepare
from blendlab.recipe.lay_ways import WAYS
from blendlab.screens.parts import draft

from .opening import STRIP, in_address, opened, pictures, sound, swatches

TILE = re.compile(r"(\d+) folds?, (\w+), mean (#[0-9a-f]{6})")


def large(app: AppTest) -> tuple[str, str]:
    """Words and address of the large picture."""
    return next(shown for shown in pictures(app).items() if " face after " in shown[0])


def advised(app: AppTest) -> list[int]:
    """The fold counts that the advice names, each with its button."""
    return [int(button.label.split()[1]) for button in app.button if str(button.key).startswith("take ")]


def test_it_opens_on_the_demo_with_eleven_rungs() -> None:
    app = opened(None)
    assert not app.error
    assert not app.warning
    found = [TILE.fullmatch(words) for words in pictures(app)]
    assert [int(tile[1]) for tile in found if tile] == list(range(11))
    folds = draft.demo().folding.folds
    assert f"after {folds} folds" in large(app)[0]
    assert len(set(pictures(app).values())) == 12 + len(WAYS)
    assert f"After {folds} folds" in [box.value for box in app.subheader]
    assert all(app.button(key=f"rung{folds}") for folds in advised(app))
    assert not app.get("vega_lite_chart")  # figures come with the switch
    assert not any("<code>" in element.proto.body for element in app.get("html"))


def test_a_rung_tells_what_the_ladder_worked_out() -> None:
    app = opened()
    sound(app.toggle(key="numbers").set_value(True).run())
    assert len(app.get("vega_lite_chart")) == 1
    assert any(button.label.startswith("Download the picture") for button in app.get("download_button"))
    rung = next(rungs(prepare(STRIP, 3), [3]))  # as the command line does
    seen = swatches(app)["Mean of what is shown"]  # the same face in finer pixels
    assert delta_e00(Colour.from_hex(seen).lab, rung.mean.lab) < 1.5
    assert f"3 folds, {rung.look}, mean {rung.mean.srgb}" in pictures(app)
    shown = " ".join(element.proto.body for element in app.get("html"))
    for words in (rung.look, f"{rung.contrast:.1f} ΔE*ab", f"{rung.feature_mm:.1f} mm"):
        assert f"<b>{words}</b>" in shown


def test_the_strip_says_whether_stiff_flakes_stay_coarser() -> None:
    unsaid = opened()
    assert any(box.value.startswith("No flake says what it was cut from") for box in unsaid.caption)
    white, blue = STRIP.flakes
    stiff = STRIP.with_flakes((replace(white, stock="crate"), replace(blue, stock="bottle")))
    named = opened(stiff)
    assert any(f"{blue.name} lags up to " in box.value for box in named.caption)
    assert pictures(named) != pictures(unsaid)


def test_a_chosen_rung_is_shown_large_and_kept_in_the_address() -> None:
    app = opened()
    before = large(app)
    sound(app.button(key="rung7").click().run())
    assert "After 7 folds" in [box.value for box in app.subheader]
    assert "after 7 folds" in large(app)[0]
    assert large(app)[1] != before[1]
    assert [b.key for b in app.button if b.label.endswith(", shown large")] == ["rung7"]
    assert in_address(app) == STRIP.with_folding(folds=7)


def test_the_livelier_the_fewer_folds_and_a_look_takes_its_count_at_once() -> None:
    app = opened()
    counts = []
    for look in LOOKS:
        sound(app.selectbox(key="look").set_value(look).run())
        counts.append(in_address(app).folding.folds)
        assert advised(app)[0] == counts[-1]
    assert counts == sorted(counts)
    assert counts[0] == 0
    assert counts[-1] > counts[1]


def test_most_of_five_sheets_agree_or_a_range_is_advised() -> None:
    app = opened()
    assert any(text.value.startswith("This sheet looks most marbled after ") for text in app.text)
    sound(app.button(key="ask").click().run())
    text = next(text.value for text in app.text if re.match("(Fold|Try|Do not fold)", text.value))
    counts = advised(app)
    if len(counts) == 1:
        assert re.search(r"\. [345] of 5 sheets of", text)
    else:
        assert re.match(rf"Try {counts[0]} (or|to) {counts[1]} folds\. Sheets of this mix differ: ", text)
    take = next(button for button in app.button if str(button.key).startswith("take "))
    if not take.disabled:
        sound(take.click().run())
        assert in_address(app).folding.folds == counts[0]


def test_another_press_makes_another_sheet() -> None:
    app = opened()
    before = pictures(app)
    app.slider(key="drag").set_value(0.9)
    app.slider(key="unevenness").set_value(0.4)
    app.session_state["seed"] = 8
    sound(app.run())
    assert set(pictures(app).values()).isdisjoint(before.values())
    assert in_address(app) == STRIP.with_folding(drag=0.9, unevenness=0.4, seed=8)


def test_a_sheet_folded_more_than_ten_times_has_its_rung_too() -> None:
    app = opened(STRIP.with_folding(folds=12))
    assert "After 12 folds" in [box.value for box in app.subheader]
    assert "after 12 folds" in large(app)[0]
    rungs = [button.key for button in app.button if button.key and re.fullmatch(r"rung\d+", button.key)]
    assert rungs == [f"rung{folds}" for folds in range(13)]
    assert app.button(key="rung12").label == "12 folds, shown large"
    assert 0 <= advised(app)[0] <= 12
    sound(app.button(key="rung3").click().run())
    assert not any(button.key == "rung11" for button in app.button)
