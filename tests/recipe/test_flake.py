"""A flake's class and its let-down: what is kept, what is refused, and how they travel in files."""

from dataclasses import replace

import pytest

from blendlab.checks import InputError
from blendlab.recipe.flake import KINDS, Flake, LetDown, Partner, let_down_order, with_partners
from blendlab.recipe.flake_list import Stocked, from_csv, to_csv
from blendlab.recipe.recipe import Recipe, Sheet, from_toml, to_toml

FLAT = tuple((float(nm), 0.5) for nm in range(400, 701, 20))
WHITE = Flake("white cap", "#f2f0e8", 100, kind="opaque")
BLUE = Flake("blue", "#14409a", 20, let_down=LetDown("white cap", 10.0, "#7f93c8"))
GREY = Flake("grey", "#909090", 20, let_down=LetDown("blue", 50.0, spectrum=FLAT))
RECIPE = Recipe("Tile", Sheet(finish="satin"), (WHITE, BLUE, GREY))


def test_class_let_down_and_finish_travel_in_the_recipe_file():
    assert from_toml(to_toml(RECIPE)) == RECIPE


def test_a_recipe_file_takes_the_keys_as_documented():
    text = to_toml(Recipe("Tile", Sheet(), (WHITE, replace(BLUE, let_down=None))))
    inline = 'let_down = { in = "white cap", percent = 10.0, srgb = "#7f93c8" }'
    head, foot = text.split("[folding]")
    assert from_toml(f"{head.rstrip()}\n{inline}\n\n[folding]{foot}").flakes[1] == BLUE
    pairs = ", ".join(f"[{nm}, {value}]" for nm, value in FLAT)
    inline = f'let_down = {{ in = "white cap", percent = 10.0, spectrum = [{pairs}] }}'
    found = from_toml(f"{head.rstrip()}\n{inline}\n\n[folding]{foot}").flakes[1].let_down
    assert found == LetDown("white cap", 10.0, spectrum=FLAT)


def test_a_glossy_sheet_is_written_as_before_there_were_finishes():
    assert "finish" not in to_toml(Recipe("Tile", Sheet(), (WHITE,)))


def test_partners_come_along_where_they_are_left_out():
    (grey,) = with_partners([GREY], [WHITE, BLUE])
    partner = grey.let_down.partner
    assert (partner.name, partner.srgb, partner.let_down.partner.name) == ("blue", "#14409a", "white cap")
    assert partner.let_down.partner.kind == "opaque"
    alone = Recipe("Tile", Sheet(), (grey,))
    assert from_toml(to_toml(alone)) == alone
    assert with_partners([GREY, BLUE, WHITE], []) == (GREY, BLUE, WHITE)


def test_let_downs_are_worked_out_after_their_partners():
    assert let_down_order([GREY, BLUE, WHITE]) == (1, 0)
    assert let_down_order([WHITE]) == ()


LIST = (
    Stocked("white cap", "#f2f0e8", grams=500, kind="opaque"),
    Stocked("blue", "#14409a", grams=100, let_down=BLUE.let_down),
    Stocked("bottle", "#c8b070", kind="tinted", let_down=LetDown("white cap", 20, spectrum=FLAT)),
)


def test_class_and_let_down_travel_in_the_flake_list():
    assert from_csv(to_csv(LIST)) == LIST


def test_a_flake_list_names_its_columns_plainly():
    text = (
        "name,srgb,grams,kind,let_down_in,let_down_percent,let_down_srgb\n"
        "white cap,#f2f0e8,500,opaque,,,\n"
        "blue,#14409a,100,,white cap,10,#7f93c8\n"
    )
    assert from_csv(text) == LIST[:2]


def test_one_row_of_a_longer_list_may_name_a_partner_that_is_elsewhere():
    (row,) = from_csv(to_csv(LIST[1:2]), complete=False)
    assert row == LIST[1]
    with pytest.raises(InputError, match="must be in a flake that is known, got 'white cap'"):
        from_csv(to_csv(LIST[1:2]))


@pytest.mark.parametrize("percent", [0.0, 0.05, 99.5, 100, -1, float("nan"), "10", True])
def test_a_percentage_that_tells_nothing_is_refused(percent):
    with pytest.raises(InputError, match=r"percent of the let-down must be a number from 0\.1 to 99, got"):
        LetDown("white cap", percent, "#7f93c8")


@pytest.mark.parametrize("percent", [0.1, 99])
def test_the_limits_of_a_percentage_are_allowed(percent):
    assert LetDown("white cap", percent, "#7f93c8").percent == percent


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"let_down": LetDown("blue", 10, "#7f93c8")}, "must be in another flake, got 'blue'"),
        ({"let_down": "white cap"}, "let_down of flake 'blue' must be a table, got 'white cap'"),
        ({"let_down": BLUE.let_down, "hide_mm": 1.0}, "must stand without hide_mm, got 1.0"),
        ({"kind": "clear"}, "kind of flake 'blue' must be one of those known, got 'clear'; choose opaque"),
        ({"let_down": {"in": "white cap", "percent": 10}}, "must have either srgb or spectrum, got neither"),
        (
            {"let_down": {"in": "white cap", "percent": 10, "srgb": "#7f93c8", "spectrum": FLAT}},
            "must have either srgb or spectrum, got both",
        ),
        ({"let_down": {"in": "white cap", "percent": 10, "srgb": "blue"}}, "must be written #rrggbb"),
        ({"let_down": {"in": "", "percent": 10, "srgb": "#7f93c8"}}, "must not be empty"),
        ({"let_down": {"in": {"srgb": "#ffffff"}, "percent": 10, "srgb": "#7f93c8"}}, "needs name, srgb"),
        ({"let_down": {"into": "white cap", "percent": 10}}, "takes only known keys, got 'into'"),
        (
            {"let_down": LetDown(Partner("grey", "#909090"), 10, "#7f93c8"), "chip": None, "kind": 3},
            "must be one of those known, got 3",
        ),
    ],
)
def test_a_broken_flake_is_refused_in_one_sentence(changes, said):
    with pytest.raises(InputError) as refusal:
        Flake(**{"name": "blue", "srgb": "#14409a", "grams": 20, **changes})
    assert said in str(refusal.value)


def test_an_unknown_partner_and_a_circle_are_refused():
    with pytest.raises(InputError, match="the let-down of flake 'blue' must be in a flake that is known"):
        Recipe("Tile", Sheet(), (BLUE,))
    back = replace(WHITE, kind=None, let_down=LetDown("grey", 5, "#e0e0d8"))
    with pytest.raises(
        InputError, match="let-downs must not form a circle, got 'white cap' and 'blue' and 'grey'"
    ):
        Recipe("Tile", Sheet(), (back, BLUE, GREY))


def test_a_partner_written_out_must_bring_its_own():
    with pytest.raises(InputError, match="must bring its own partner, got 'white cap'"):
        LetDown(Partner("blue", "#14409a", let_down=BLUE.let_down), 50, "#909090")


@pytest.mark.parametrize("finish", ["shiny", None, 1])
def test_an_unknown_finish_is_refused(finish):
    with pytest.raises(InputError, match="finish of the sheet must be one of those known"):
        Sheet(finish=finish)


def test_the_three_classes_are_those_a_maker_can_choose():
    assert KINDS == ("opaque", "tinted", "natural")
