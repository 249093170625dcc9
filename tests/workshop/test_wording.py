import re
from dataclasses import replace

from blendlab.logbook.sheet_log import LoggedSheet
from blendlab.recipe.folding_moves import Folding
from blendlab.workshop.batch_plan import plan
from blendlab.workshop.closing import Closing
from blendlab.workshop.fused_block import block
from blendlab.workshop.melt_flow import Stock
from blendlab.workshop.order import Order
from blendlab.workshop.press_setup import PressSetup
from blendlab.workshop.wording import block_lines, duration, plan_lines, programme


def planned(sheet, folding=None, **press):
    recipe = replace(sheet.recipe, folding=folding or Folding(folds=2))
    return plan(recipe, Order(180, 180, 6), PressSetup(**press))


def test_the_programme_names_every_step_with_its_time(sheet):
    batch = planned(sheet, Folding(moves=("edges-in", "turn", "half")), largest_load_g=1000)
    lines = programme(batch)
    assert lines[0].startswith("0:00  Melt the flakes between the plates, ")
    assert [line for line in lines if "(edges-in)" in line]
    assert [line for line in lines if "(half)" in line]
    assert lines[-1].endswith(f"until 40 °C right through, {duration(batch.times['usual'].release_s)}")
    assert len(lines) == len(batch.times["usual"].steps)


def test_the_clock_adds_up_what_the_words_say(sheet):
    lines = programme(planned(sheet, Folding(folds=4)))
    clock = [60 * int(line.partition(":")[0]) + int(line.partition(":")[2][:2]) for line in lines]
    for line, begins, ends in zip(lines, clock, clock[1:], strict=False):
        amount, half, unit = re.search(r"(\d+)(½?) (min|s)\b", line.partition("  ")[2]).groups()
        assert ends - begins == int(amount) * {"min": 60, "s": 1}[unit] + 30 * bool(half), line


def test_loads_are_joined_and_one_plate_means_turning(sheet):
    lines = programme(planned(sheet, largest_load_g=120, heated_plates=1, turn_s=60))
    assert [line for line in lines if "Turn over" in line]
    assert [line for line in lines if "Stack the 2 loads" in line]


def test_a_programme_can_be_logged(sheet):
    lines = programme(planned(sheet))
    assert LoggedSheet(sheet.pressed_on, sheet.recipe, programme=lines).programme == lines


def said(sheet, **how):
    recipe = replace(sheet.recipe, folding=Folding(folds=4))
    return "\n".join(plan_lines(plan(recipe, Order(180, 180, 6), PressSetup(), **how)))


def test_the_plan_says_how_long_a_named_press_takes_to_close(sheet):
    hands = said(sheet, closing=Closing("hands"), stock=Stock("bottle"))
    assert "Own hands and weight on a lid: 300 N (150 to 600), " in hands
    assert "The slowest press takes about " in hands
    assert "More force: " in hands
    assert "A jack can burst a plate" in hands  # wherever force is discussed
    exact = said(sheet, closing=Closing(force_n=20000))
    assert "The press: 20000 N, " in exact
    assert "the plan allows for that." in exact
    assert "More force" not in exact
    assert "takes about" not in said(sheet)


def test_grams_in_total_are_given_only_where_they_are_not_those_of_the_load(sheet):
    flakes = len(sheet.recipe.flakes)
    one = plan(sheet.recipe, Order(170, 170, 6), PressSetup(largest_load_g=1000))
    two_loads = plan(sheet.recipe, Order(170, 170, 6), PressSetup(largest_load_g=120))
    two_tiles = plan(sheet.recipe, Order(340, 170, 6, tiles=(2, 1)), PressSetup(largest_load_g=1000))
    for batch, times in ((one, 0), (two_loads, flakes), (two_tiles, flakes)):
        assert sum("in total" in line for line in plan_lines(batch)) == times


def test_a_weak_press_is_reported_as_not_closing(sheet):
    weak = said(sheet, closing=Closing(force_n=30), stock=Stock("bottle"))
    assert "which counts as not closing." in weak


def test_the_plan_says_what_ages_bows_and_holds_air(sheet):
    words = said(sheet)
    assert "min at 200 °C, where recycled bottles lasted 9 to 39 min in pure oxygen." in words
    bow = r"(less than )?[\d.]+ mm"
    ways = f"{bow} in open air, {bow} on one board, {bow} between two boards\\."
    assert re.search(f"Estimated bow, clamped until 40 °C: {ways}", words)
    assert re.search(f"Never clamped: {ways}", words)
    assert "less than 0.1 mm between two boards" in words
    assert " 0.0 mm" not in words
    assert re.search(r"on one board, it bows [\d.]+ mm at 100 °C, [\d.]+ mm at 80 °C, ", words)
    assert "Air: by common practice 2 to 5 folds, each pressed, leave few voids; this sheet has 4." in words


def test_islands_are_reported_once_stock_is_named_as_mixed(sheet):
    assert "bottle flakes lag " in said(sheet, stock=Stock("mixed"))
    assert "bottle flakes lag " not in said(sheet, stock=Stock("cap"))
    assert "bottle flakes lag " not in said(sheet)


def test_the_plan_says_which_of_its_flakes_stay_coarser(sheet):
    first, *rest = sheet.recipe.flakes
    flakes = (replace(first, stock="bottle"), *(replace(flake, stock="crate") for flake in rest))
    recipe = replace(sheet.recipe.with_flakes(flakes), folding=Folding(folds=4))
    words = "\n".join(plan_lines(plan(recipe, Order(180, 180, 6))))
    assert f"Stiffer flakes stay coarser: {first.name} lags up to " in words


def test_a_block_is_reported_in_hours_or_as_too_thick():
    first, *rest = block_lines(block(6, 6), PressSetup())
    assert first.startswith("6 sheets fused to a block of 36 mm: 1 h 15 min (")
    assert any("no block thicker than 19 to 40 mm melts through within that time" in line for line in rest)
    assert len(block_lines(block(2, 5), PressSetup())) == 2
