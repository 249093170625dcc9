from dataclasses import replace

import pytest
from streamlit.testing.v1 import AppTest

from blendlab.colour.means import area_mean, full_blend
from blendlab.recipe.recipe import Flake, Recipe
from blendlab.screens.parts import draft
from blendlab.screens.parts.number_fields import shown
from blendlab.screens.parts.style import plain
from blendlab.workshop.order import Order, Plastic
from blendlab.workshop.sheet_size import tile_g

from .opening import FOLDS, STRIP, in_address, opened, pictures, said, sound, swatches

WHITE, BLUE = STRIP.flakes


def shows(app: AppTest, recipe: Recipe) -> bool:
    """Whether the page shows this mix: its means, its picture, its address."""
    means = {"Average before mixing": area_mean(recipe).srgb, "Fully mixed": full_blend(recipe).srgb}
    alt = f"Predicted sheet after {recipe.folding.folds} folds, mean colour {full_blend(recipe).srgb}"
    return (
        swatches(app).items() >= means.items() and list(pictures(app)) == [alt] and in_address(app) == recipe
    )


def test_it_opens_on_the_demo() -> None:
    app = opened(None)
    assert shows(app, draft.demo())
    assert not app.error
    assert not app.warning
    fields = {field.label: field.value for field in [*app.text_input, *app.color_picker]}
    for flake in draft.demo().flakes:
        name = plain(flake.name)
        assert fields[f"Grams of {name}"] == shown(flake.grams)
        assert fields[f"Colour of {name}"] == flake.srgb
    assert any(text.value.endswith("the mix weighs 227 g.") for text in app.text)
    folds = draft.demo().folding.folds
    assert any(caption.value.startswith(f"Top face after {folds} folds") for caption in app.caption)


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
        ("-5", "must be a number above 0, got -5; type a number of grams."),
        ("1e300", "must be a plain number of grams, got '1e300'; type digits with"),
        ("", "must be given, got nothing; type a number of grams."),
        ("1.250,5", "must be a plain number of grams, got '1.250,5'; "),
        ("9" * 400, "must be a number above 0, got 9999"),
    ],
)
def test_grams_that_cannot_be_read_are_refused_and_the_total_says_so(typed: str, says: str) -> None:
    app = opened()
    sound(app.text_input(key="grams2").set_value(typed).run())
    (sentence,) = said(app)
    assert sentence.startswith(f"grams of 'harbour blue' {says}")
    assert in_address(app) == STRIP
    assert app.text_input(key="grams2").value == typed
    assert any(text.value.startswith("What the mix weighs shows once") for text in app.text)
    assert not any("; the mix weighs" in text.value for text in app.text)


def test_the_mix_and_the_finished_size_are_made_to_agree() -> None:
    app = opened()
    needed = tile_g(Order(67.84, 10.46, 5.0816, 4.5), Plastic.published(180.0)).usual
    assert f"Needs {needed:.0f} g with trim; the mix weighs 40 g." in [text.value for text in app.text]
    sound(next(button for button in app.button if button.label.startswith("Make the mix")).click().run())
    grams = [flake.grams for flake in in_address(app).flakes]
    assert grams == pytest.approx([needed * 0.75, needed * 0.25], abs=0.1)
    app = opened()
    sound(next(button for button in app.button if button.label.startswith("Use all of it")).click().run())
    assert in_address(app).sheet.thickness_mm == pytest.approx(6.0 * 40 / needed, rel=0.02)


def test_a_recipe_of_ones_own_gets_chances_of_its_own_once() -> None:
    app = opened(None)
    sound(app.text_input(key="grams1").set_value("90").run())
    assert in_address(app).folding.seed == draft.demo().folding.seed  # still the example, a little whiter
    sound(app.text_input(key="title").set_value("Gate tile").run())
    own = in_address(app).folding.seed
    assert own != draft.demo().folding.seed
    sound(app.text_input(key="name1").set_value("my white").run())
    assert in_address(app).folding.seed == own


def test_another_possible_sheet_is_shown_and_the_one_before_comes_back() -> None:
    app = opened()
    before = pictures(app)
    sound(app.button(key="another sheet").click().run())
    assert set(pictures(app).values()).isdisjoint(before.values())
    sound(app.button(key="sheet before").click().run())
    assert pictures(app) == before


def test_flakes_are_added_and_removed() -> None:
    app = opened()
    add = next(button for button in app.button if button.label == "Add a flake")
    sound(add.click().run())
    found = in_address(app)
    assert shows(app, found)
    assert [flake.name for flake in found.flakes] == ["chalk white", "harbour blue", "flake 1"]
    sound(app.button(key="remove1").click().run())
    sound(app.button(key="remove3").click().run())
    assert shows(app, replace(STRIP, flakes=(BLUE,)))
    assert app.button(key="remove2").disabled  # a sheet needs one


def test_a_dozen_flakes_are_the_most() -> None:
    app = opened(replace(STRIP, flakes=tuple(Flake(f"flake {n}", "#808080", 5.0) for n in range(2, 13))))
    add = next(button for button in app.button if button.label == "Add a flake")
    sound(add.click().run())
    assert in_address(app).flakes[-1].name == "flake 1"  # the name that was free
    assert next(button for button in app.button if button.label == "Add a flake").disabled


@pytest.mark.parametrize(
    ("kind", "key", "bad", "says"),
    [
        ("text_input", "name1", "", "flake name must not be empty, got ''; "),
        ("text_input", "name1", "harbour blue", "each flake needs a name of its own, got 'harbour blue'; "),
        ("text_input", "grams2", "0", "grams of 'harbour blue' must be a number above 0, got 0; "),
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
    sound(app.switch_page(FOLDS).run())
    (sentence,) = said(app)
    assert sentence.startswith(says)
    assert sentence.endswith("The last mix that could be pressed is shown.")
    assert len(app.get("image")) == 12
    sound(app.switch_page("blendlab/screens/pages/flakes.py").run())
    assert len(app.error) == 1
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
    assert app.button(key="remove1").help == r"Remove \<img src\=x onerror\=alert\(1\)\>"
