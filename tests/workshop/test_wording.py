from dataclasses import replace

from blendlab.logbook.sheet_log import LoggedSheet
from blendlab.recipe.folding_moves import Folding
from blendlab.workshop.batch_plan import plan
from blendlab.workshop.order import Order
from blendlab.workshop.press_setup import PressSetup
from blendlab.workshop.wording import duration, programme


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


def test_loads_are_joined_and_one_plate_means_turning(sheet):
    lines = programme(planned(sheet, largest_load_g=120, heated_plates=1, turn_s=60))
    assert [line for line in lines if "Turn over" in line]
    assert [line for line in lines if "Lay the 2 loads on each other" in line]


def test_a_programme_can_be_logged(sheet):
    lines = programme(planned(sheet))
    assert LoggedSheet(sheet.pressed_on, sheet.recipe, programme=lines).programme == lines
