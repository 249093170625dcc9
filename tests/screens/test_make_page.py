"""The Make page: size and flakes, what they make, what is refused, and undo."""

from dataclasses import replace

import pytest
from streamlit.testing.v1 import AppTest

from blendlab.colour.means import area_mean, full_blend
from blendlab.recipe.recipe import Flake, Recipe
from blendlab.screens.parts import draft
from blendlab.screens.parts.number_fields import shown
from blendlab.units import METRIC
from blendlab.workshop.order import Order, Plastic
from blendlab.workshop.sheet_size import tile_g

from .opening import STRIP, in_address, opened, pictures, said, sound, swatches

WHITE, BLUE = STRIP.flakes


def shows(app: AppTest, recipe: Recipe) -> bool:
    """Whether the page shows this mix: its means, its picture, its address."""
    means = {"Average before mixing": area_mean(recipe).srgb, "Fully mixed": full_blend(recipe).srgb}
    words = f"Top face after {recipe.folding.folds} folds"
    return swatches(app).items() >= means.items() and words in pictures(app) and in_address(app) == recipe


def click(app: AppTest, label: str) -> AppTest:
    return sound(next(button for button in app.button if button.label.startswith(label)).click().run())


def test_it_opens_on_the_demo() -> None:
    app = opened(None)
    assert shows(app, draft.demo())
    assert not app.error
    assert not app.warning
    fields = {field.label: field.value for field in [*app.text_input, *app.color_picker, *app.slider]}
    for flake in draft.demo().flakes:
        grams = fields[f"Grams of {flake.name}"]  # as a screen reader says it
        assert grams == shown(flake.grams, METRIC.mass)
        assert fields[f"Grams of {flake.name} by sliding"] == flake.grams
        assert fields[f"Colour of {flake.name}"] == flake.srgb
        assert fields[f"Name of {flake.name}"] == flake.name
    assert "Needs 184 g with trim; you have 184 g." in [text.value for text in app.text]
    assert not any(button.key in ("use less", "thicker", "use all") for button in app.button)
    assert f"After {draft.demo().folding.folds} folds" in [box.value for box in app.subheader]


def test_it_opens_on_the_mix_of_the_address() -> None:
    assert shows(opened(), STRIP)


def test_more_blue_makes_a_bluer_sheet() -> None:
    app = opened()
    before = pictures(app)
    sound(app.text_input(key="grams2").set_value("30").run())
    more = replace(STRIP, flakes=(WHITE, replace(BLUE, grams=30.0)))
    assert shows(app, more)
    assert set(pictures(app).values()).isdisjoint(before.values())
    # Blue has the lower L* and b* of the two, so both fall in either mean.
    for mean in (area_mean, full_blend):
        assert mean(more).lab[0] < mean(STRIP).lab[0]
        assert mean(more).lab[2] < mean(STRIP).lab[2]


def test_another_colour_name_or_size_is_taken_up() -> None:
    app = opened()
    app.color_picker(key="srgb1").set_value("#f0ac2b")
    app.text_input(key="name1").set_value(" marigold ")
    app.text_input(key="title").set_value("Long coaster")
    app.text_input(key="length_mm").set_value("120")
    sound(app.run())
    marigold = replace(WHITE, name="marigold", srgb="#f0ac2b", hide_mm=None)  # that was of the white
    hot_mm = Plastic.published(180.0).hot(120.0 + 2 * 4.5).usual  # trim leaves 10 mm of the narrow strip
    changed = replace(STRIP, name="Long coaster", flakes=(marigold, BLUE))
    assert in_address(app).sheet.length_mm == pytest.approx(hot_mm)
    assert shows(app, changed.with_sheet(**vars(in_address(app).sheet)))
    assert in_address(app).sheet.size_mm == pytest.approx((hot_mm, 20.0, 6.0), abs=0.001)
    assert app.text_input(key="length_mm").value == "120"


def test_what_was_measured_on_the_old_colour_is_dropped_with_a_word_and_comes_back() -> None:
    app = opened()
    sound(app.color_picker(key="srgb1").set_value("#c8202a").run())
    assert in_address(app).flakes[0].hide_mm is None
    assert any("measured on \\#f2f0e8 no longer counts" in caption.value for caption in app.caption)
    afresh = replace(STRIP, flakes=(Flake("chalk white", "#c8202a", 30.0), BLUE))
    assert swatches(app)["Fully mixed"] == full_blend(afresh).srgb
    sound(app.button(key="undo1").click().run())
    assert in_address(app) == STRIP
    assert not any("no longer counts" in caption.value for caption in app.caption)


def test_a_decimal_comma_and_a_decimal_point_read_alike() -> None:
    app = opened()
    for typed in ("12,5", "12.5", " 12,5 g "):
        sound(app.text_input(key="grams2").set_value(typed).run())
        assert not app.error
        assert in_address(app).flakes[1].grams == 12.5


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("3 oz", "must be a plain number of grams, got '3 oz'; 3 oz is 85.049 g: type that."),
        ("-5", "must be a number above 0, got -5; enter a number of grams."),
        ("1e300", "must be a plain number of grams, got '1e300'; type digits with"),
        ("", "must be given, got nothing; enter a number of grams."),
        ("1.250,5", "must be a plain number of grams, got '1.250,5'; "),
        ("9" * 400, "must be a number above 0, got 9999"),
    ],
)
def test_grams_that_cannot_be_read_are_refused_and_the_total_says_so(typed: str, says: str) -> None:
    app = opened()
    sound(app.text_input(key="grams2").set_value(typed).run())
    (sentence,) = said(app)
    assert sentence.startswith(f"grams for 'harbour blue' {says}")
    assert in_address(app) == STRIP
    assert app.text_input(key="grams2").value == typed
    assert any(text.value.startswith("What the mix weighs shows once") for text in app.text)
    assert not any("you have" in text.value for text in app.text)


def test_while_an_amount_cannot_be_read_the_page_says_which_sheet_it_shows_and_makes_no_card() -> None:
    app = opened()
    sound(app.text_input(key="grams2").set_value("abc").run())
    sound(app.button_group(key="move").set_value("thirds").run())
    assert in_address(app) == STRIP
    assert draft.LAST_SHOWN in [text.value for text in app.text]
    assert all(app.button(key=f"open {part}").disabled for part in ("card", "pressed"))
    sound(app.text_input(key="grams2").set_value("10").run())
    assert in_address(app) == STRIP.with_folding(move="thirds")
    assert draft.LAST_SHOWN not in [text.value for text in app.text]
    sound(app.button(key="open card").click().run())
    assert app.session_state["batch"].recipe.folding.move == "thirds"
    sound(app.text_input(key="grams2").set_value("abc").run())
    assert "The last sheet that could be pressed is shown." in [caption.value for caption in app.caption]
    sound(app.button(key="open card").click().run())  # it can be closed
    assert app.button(key="open card").disabled


def test_the_mix_and_the_finished_size_are_made_to_agree() -> None:
    needed = tile_g(Order(67.84, 10.46, 5.0816, 4.5), Plastic.published(180.0)).usual
    app = opened()
    assert f"Needs {needed:.0f} g with trim; you have 40 g." in [text.value for text in app.text]
    click(app, "Use less")
    assert [flake.grams for flake in in_address(app).flakes] == pytest.approx(
        [needed * 0.75, needed * 0.25], abs=0.1
    )
    app = click(opened(), "Thicker")
    assert in_address(app).sheet.thickness_mm == pytest.approx(6.0 * 40 / needed, rel=0.02)
    app = click(opened(), "Use all")
    length, width = (float(app.text_input(key=side).value) for side in ("length_mm", "width_mm"))
    assert length / width == pytest.approx(67.84 / 10.46, rel=0.02)
    larger = Order(length, width, 5.0816, 4.5)
    assert tile_g(larger, Plastic.published(180.0)).usual == pytest.approx(40, rel=0.01)


def test_too_little_is_weighed_out_or_pressed_thinner_or_filled_up_with_one_flake() -> None:
    app = opened()
    app.text_input(key="grams1").set_value("4")
    sound(app.text_input(key="grams2").set_value("1").run())
    labels = [button.label for button in app.button]
    assert any(label.startswith("Weigh out: ") for label in labels)
    assert any(label.startswith("Thinner: ") for label in labels)
    sound(app.button(key="fill2").click().run())
    needed = tile_g(Order(67.84, 10.46, 5.0816, 4.5), Plastic.published(180.0)).usual
    assert [flake.grams for flake in in_address(app).flakes] == pytest.approx([4, needed - 4], abs=0.06)


def test_what_densities_leave_open_is_no_disagreement() -> None:
    """The strip needs 7.35 g, and densities are published to 1 %."""
    app = opened()
    app.text_input(key="grams1").set_value("5.5")
    sound(app.text_input(key="grams2").set_value("2.3").run())
    assert not any(button.label.startswith("Use less") for button in app.button)
    sound(app.text_input(key="grams2").set_value("2.5").run())
    assert any(button.label.startswith("Use less") for button in app.button)


def test_sliding_is_weighing() -> None:
    app = opened()
    slider = next(slider for slider in app.slider if slider.label == "Grams of harbour blue by sliding")
    sound(slider.set_value(25.0).run())
    assert app.text_input(key="grams2").value == "25"
    assert in_address(app).flakes[1].grams == 25.0
    assert in_address(app).flakes[0].grams == 30.0


def test_locked_proportions_keep_the_colour_whichever_amount_is_changed() -> None:
    app = opened()
    blend = swatches(app)["Fully mixed"]
    sound(app.toggle(key="locked").set_value(True).run())
    sound(app.text_input(key="grams1").set_value("60").run())
    assert [flake.grams for flake in in_address(app).flakes] == [60.0, 20.0]
    assert swatches(app)["Fully mixed"] == blend


def test_every_change_can_be_undone() -> None:
    app = opened()
    assert app.button(key="undo").disabled
    sound(app.text_input(key="grams1").set_value("60").run())
    sound(app.button(key="rung5").click().run())
    sound(app.text_input(key="thickness_mm").set_value("8").run())
    sound(app.button(key="undo").click().run())
    assert in_address(app).folding.folds == 5
    assert in_address(app).sheet == STRIP.sheet
    sound(app.button(key="undo").click().run())
    assert in_address(app).folding.folds == STRIP.folding.folds
    sound(app.button(key="undo").click().run())
    assert in_address(app) == STRIP
    assert app.button(key="undo").disabled


def test_an_example_lands_with_a_notice_that_takes_it_back() -> None:
    app = opened()
    sound(app.button(key="example bollard").click().run())
    assert in_address(app) == draft.examples()["bollard"]
    assert app.info[0].value.startswith("The mix is now the example Lantern Yard bollard tile")
    sound(app.button(key="undo landing").click().run())
    assert in_address(app) == STRIP
    assert not app.info


def test_a_recipe_of_ones_own_gets_chances_of_its_own_once() -> None:
    app = opened(None)
    sound(app.text_input(key="grams1").set_value("90").run())
    assert in_address(app).folding.seed == draft.demo().folding.seed  # still the example, a little whiter
    sound(app.text_input(key="title").set_value("Gate tile").run())
    own = in_address(app).folding.seed
    assert own != draft.demo().folding.seed
    sound(app.text_input(key="name1").set_value("my white").run())
    assert in_address(app).folding.seed == own


def test_three_other_sheets_are_shown_and_one_is_taken() -> None:
    app = opened()
    before = pictures(app)
    sound(app.button(key="other_sheets").click().run())
    others = [url for words, url in pictures(app).items() if words.startswith("Another possible sheet")]
    assert len(set(others)) == 3
    sound(app.button(key="rung_other2").click().run())
    assert in_address(app).folding.seed != STRIP.folding.seed
    assert set(pictures(app).values()).isdisjoint(before.values())
    sound(app.button(key="undo").click().run())
    assert pictures(app) == before


def test_a_flake_at_hand_is_added_by_a_tap_with_what_the_size_still_needs() -> None:
    app = opened(replace(STRIP, flakes=(replace(WHITE, grams=4.0),)))
    red = next(button for button in app.button if button.label == "letterbox red")
    sound(red.click().run())
    added = in_address(app).flakes[1]
    needed = tile_g(Order(67.84, 10.46, 5.0816, 4.5), Plastic.published(180.0)).usual
    assert (added.name, added.srgb, added.grams) == ("letterbox red", "#c8202a", round(needed - 4))
    assert next(button for button in app.button if button.label == "letterbox red").disabled
    sound(app.button(key="remove1").click().run())
    assert in_address(app).flakes == (added,)
    assert app.button(key="remove2").disabled  # a sheet needs one


def test_a_new_flake_is_a_name_a_colour_and_its_kind() -> None:
    app = opened()
    next(field for field in app.text_input if field.label == "Its name").set_value("gate green")
    next(field for field in app.color_picker if field.label == "Its colour").set_value("#2f6b46")
    next(group for group in app.button_group if str(group.key).endswith(" kind")).set_value("tinted")
    sound(app.run())
    sound(app.button(key="add new flake").click().run())
    added = in_address(app).flakes[-1]
    assert (added.name, added.srgb, added.kind) == ("gate green", "#2f6b46", "tinted")
    sound(app.button(key="add new flake").click().run())
    assert in_address(app).flakes[-1].name == "flake 1"


def test_a_dozen_flakes_are_the_most() -> None:
    app = opened(replace(STRIP, flakes=tuple(Flake(f"flake {n}", "#808080", 5.0) for n in range(1, 13))))
    assert all(button.disabled for button in app.button if str(button.key).startswith("take_flake"))


@pytest.mark.parametrize(
    ("kind", "key", "bad", "says"),
    [
        ("text_input", "name1", "", "flake name must not be empty, got ''; "),
        ("text_input", "name1", "harbour blue", "each flake needs a name of its own, got 'harbour blue'; "),
        ("text_input", "grams2", "0", "grams for 'harbour blue' must be a number above 0, got 0; "),
        ("text_input", "title", " ", "recipe name must not be empty, got ' '; "),
    ],
)
def test_what_cannot_be_pressed_is_reported_once_and_the_last_good_sheet_stays(
    kind: str, key: str, bad: object, says: str
) -> None:
    app = opened()
    before = pictures(app)
    good = app.session_state[key]
    sound(getattr(app, kind)(key=key).set_value(bad).run())
    (sentence,) = said(app)
    assert sentence.startswith(says)
    assert sentence.endswith(".")
    assert shows(app, STRIP)
    assert pictures(app) == before
    sound(getattr(app, kind)(key=key).set_value(good).run())
    assert not app.error
    assert shows(app, STRIP)


def test_two_problems_are_each_reported_at_their_row() -> None:
    app = opened()
    app.text_input(key="name1").set_value("")
    sound(app.text_input(key="grams2").set_value("0").run())
    assert [sentence[:6] for sentence in said(app)] == ["flake ", "grams "]
    assert shows(app, STRIP)


MARKUP = ("<img src=x onerror=alert(1)>", "![a](http://a.invalid/a.png)", ":red[**b**] $c$ [d](e) `f` | _g_")


def test_markup_in_a_name_stays_text() -> None:
    flakes = tuple(replace(WHITE, name=name) for name in MARKUP)
    app = opened(replace(STRIP, flakes=flakes))
    sound(app.text_input(key="name2").set_value(MARKUP[2]).run())
    (sentence,) = said(app)
    assert MARKUP[2] in sentence
    assert r"\:red\[\*\*b\*\*\] \$c\$ \[d\]\(e\) \`f\` \| \_g\_" in app.error[0].value
    assert app.button(key="remove1").help == r"Remove \<img src=x onerror=alert(1)\>"
