from dataclasses import replace

import pytest
from streamlit.testing.v1 import AppTest

from blendlab.colour.means import area_mean, full_blend
from blendlab.recipe.recipe import Flake, Recipe
from blendlab.screens.parts import draft

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
    fields = [*app.text_input, *app.number_input, *app.color_picker]
    for label, key in (("Name", "name"), ("Grams", "grams"), ("Colour", "srgb")):
        values = [field.value for field in fields if field.label == label]
        assert values == [getattr(flake, key) for flake in draft.demo().flakes]
    assert any(text.value.endswith(" g in all") for text in app.text)
    folds = draft.demo().folding.folds
    assert any(caption.value.startswith(f"Top face after {folds} folds") for caption in app.caption)


def test_it_opens_on_the_mix_of_the_address() -> None:
    assert shows(opened(), STRIP)


def test_more_blue_makes_a_bluer_sheet() -> None:
    app = opened()
    before = pictures(app)
    sound(app.number_input(key="grams2").set_value(30.0).run())
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
    app.number_input(key="length_mm").set_value(120.0)
    sound(app.run())
    marigold = replace(WHITE, name="marigold", srgb="#f0ac2b")  # hides as before: no field changes that
    changed = replace(STRIP, name="Long coaster", flakes=(marigold, BLUE)).with_sheet(length_mm=120.0)
    assert shows(app, changed)


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
        ("number_input", "grams2", 0.0, "grams of flake 'harbour blue' must be a number above 0, got 0.0; "),
        ("text_input", "title", " ", "recipe name must not be empty, got ' '; "),
    ],
)
def test_what_cannot_be_pressed_is_said_once_and_the_last_good_sheet_stays(
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


def test_two_troubles_are_said_each_at_its_row() -> None:
    app = opened()
    app.text_input(key="name1").set_value("")
    sound(app.number_input(key="grams2").set_value(0.0).run())
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
