from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from blendlab.checks import InputError
from blendlab.recipe.folding_moves import Folding
from blendlab.workshop.batch_plan import plan
from blendlab.workshop.order import Order
from blendlab.workshop.press_clock import PressClock, TimedStep, press_clock
from blendlab.workshop.press_setup import PressSetup
from blendlab.workshop.wording import rounded_s

STEPS = (TimedStep("Melt", 180.0), TimedStep("Fold", 30.0), TimedStep("Press", 90.0))
NOON = 1.8e9  # seconds since 1970


def planned(sheet, folds=2, **press):
    recipe = replace(sheet.recipe, folding=Folding(folds=folds))
    return plan(recipe, Order(180, 180, 6), PressSetup(**press))


def test_it_runs_every_step_of_the_plan_in_order(sheet):
    batch = planned(sheet, largest_load_g=1000)
    clock = press_clock(batch)
    exact = [step.seconds for step in batch.times["usual"].steps]
    assert [step.seconds for step in clock.steps] == [rounded_s(seconds) for seconds in exact]
    assert clock.steps[0].text.startswith("Melt the flakes between the plates")
    assert clock.coming == clock.steps[0]
    assert not clock.running


def test_each_load_goes_through_its_own_steps(sheet):
    batch = planned(sheet, largest_load_g=120)
    clock = press_clock(batch)
    each = [step.text for step in clock.steps if step.text.startswith("Load 2: ")]
    assert batch.loads == 2
    assert len(clock.steps) == len(batch.times["usual"].steps) + len(each)
    hot = sum(step.seconds for step in clock.steps[:-1])
    to_half_a_minute = 15 * len(clock.steps)
    assert hot == pytest.approx(60 * batch.heat_minutes.usual, abs=to_half_a_minute)


def test_what_is_left_follows_from_when_the_step_began():
    clock = PressClock(STEPS).advanced(NOON)
    assert clock.step == STEPS[0]
    assert clock.coming == STEPS[1]
    assert clock.left_s(NOON + 60) == 120
    assert clock.left_s(NOON + 200) == -20  # over: a phone that slept says so as it wakes


def test_it_ends_after_the_last_step_and_stays_there():
    clock = PressClock(STEPS)
    for n in range(4):
        clock = clock.advanced(NOON + 100 * n)
    assert clock.done
    assert clock.step is None
    assert clock.coming is None
    assert clock.advanced(NOON + 999) == clock
    assert clock.left_s(NOON) == 0


def test_what_happened_is_reported_with_the_time_it_took():
    clock = PressClock(STEPS).advanced(NOON).advanced(NOON + 205).advanced(NOON + 250)
    assert clock.happened() == ("0:00  Melt; took 3½ min", "3:25  Fold; took 45 s")
    assert clock.set_back().happened() == ("0:00  Melt; took 3½ min",)


@given(st.integers(0, 4), st.floats(0, 4e9))
def test_a_kept_clock_is_the_same_clock(presses, start):
    clock = PressClock(STEPS)
    for n in range(presses):
        clock = clock.advanced(start + 7 * n)
    assert PressClock.from_text(clock.to_text()) == clock


@pytest.mark.parametrize(
    "text",
    [
        "",
        "[]",
        "{}",
        '{"steps": [["a"]], "began_s": []}',
        '{"steps": [["a", 1]], "began_s": [2, 1]}',
        '{"steps": [], "began_s": [1, 2]}',
        '{"steps": [["a", "x"]], "began_s": []}',
        '{"steps": [["a", Infinity]], "began_s": []}',
        '{"steps": [["a", 1]], "began_s": [NaN]}',
        "[" * 100_000,
    ],
)
def test_a_malformed_saved_clock_is_refused_in_words(text):
    with pytest.raises(InputError, match=r"a kept clock must .*; start it again"):
        PressClock.from_text(text)
