import json
from dataclasses import replace
from math import exp

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import minimize

from blendlab.checks import InputError
from blendlab.recipe.recipe import Flake, Folding, Recipe, Sheet
from blendlab.tables.ranges import Range
from blendlab.workshop.batch_plan import as_json, plan
from blendlab.workshop.closing import Closing
from blendlab.workshop.melt_flow import Stock
from blendlab.workshop.order import Order, Plastic, check_fit, fitting_tiles
from blendlab.workshop.press_setup import PressSetup
from blendlab.workshop.properties import hdpe, range_of
from blendlab.workshop.substitution import nearest_mix, short_of
from blendlab.workshop.wording import pieces_text

FLAKES = (Flake("white", "#f2f0e8", 90), Flake("slate", "#46505a", 60), Flake("blue", "#14409a", 30))
RECIPE = Recipe("Yard tile", Sheet(), FLAKES, Folding(folds=2))

sizes = st.floats(60, 300)


@given(sizes, sizes, st.floats(2, 25), st.floats(0, 20))
@settings(max_examples=8, deadline=None)
def test_mass_and_volume_close_from_flakes_to_the_cold_sheet(length, width, thickness, trim):
    batch = plan(RECIPE, Order(length, width, thickness, trim), PressSetup(largest_load_g=1000))
    flakes_g = sum(flake.grams for flake in batch.recipe.flakes)
    cold_cm3 = (length + 2 * trim) * (width + 2 * trim) * thickness / 1000
    assert flakes_g == pytest.approx(hdpe()["density_cold_g_cm3"]["usual"] * cold_cm3, rel=1e-3)
    # the hot side by the published melt volume, written out again (Rodgers 1993, from memory)
    melt_cm3_g = 0.9172 * exp(7.806e-4 * (180 + 273.15))
    sheet = batch.recipe.sheet
    hot_cm3 = sheet.length_mm * sheet.width_mm * sheet.thickness_mm / 1000
    assert hot_cm3 == pytest.approx(flakes_g * melt_cm3_g, rel=1e-3)
    shrunk = 1 - hdpe()["shrinkage_in_plane_percent"]["usual"] / 100
    assert sheet.length_mm * shrunk == pytest.approx(length + 2 * trim, rel=1e-9)
    assert sum(part.load_g for part in batch.portions) * batch.loads == pytest.approx(flakes_g)
    assert sum(part.total_g for part in batch.portions) == pytest.approx(batch.total_g.usual)


def test_proportions_and_folding_stay_those_of_the_recipe():
    batch = plan(RECIPE, Order(200, 150, 6))
    assert batch.recipe.shares == pytest.approx(RECIPE.shares)
    assert batch.recipe.folding == RECIPE.folding
    assert [flake.srgb for flake in batch.recipe.flakes] == [flake.srgb for flake in FLAKES]


def test_a_block_built_up_by_rising_spacers_ends_on_the_ordered_size():
    folding = Folding(moves=("half", "turn", "half", "turn", "half"), spacers_mm=(8.0, 12.0, 24.0))
    block, flat = (replace(RECIPE, folding=way) for way in (folding, Folding(folds=3)))
    order, press = Order(90, 60, 40, trim_mm=0), PressSetup(largest_load_g=1000)
    batch, slab = plan(block, order, press), plan(flat, order, press)
    cycles = batch.recipe.folding.cycles(batch.recipe.sheet.size_mm)
    hot = (batch.hot_length_mm.usual, batch.hot_width_mm.usual, batch.spacer_mm.usual)
    assert cycles[-1].after_mm == pytest.approx(hot, rel=1e-3)
    assert np.prod(batch.recipe.sheet.size_mm) == pytest.approx(np.prod(hot), rel=1e-3)
    assert [c.after_mm[2] / hot[2] for c in cycles] == pytest.approx([8 / 24, 12 / 24, 1])
    assert batch.cool_minutes.usual == pytest.approx(slab.cool_minutes.usual, rel=0.05)
    assert batch.times["usual"].melted_s < slab.times["usual"].melted_s / 3  # it melts as a thin slab


def test_spacers_beyond_a_slabs_limits_are_refused_as_the_recipe_gives_them():
    folding = Folding(moves=("half", "turn", "half", "turn", "half"), spacers_mm=(8.0, 12.0, 24.0))
    with pytest.raises(InputError) as refusal:
        plan(replace(RECIPE, folding=folding), Order(60, 60, 2))
    rule, got = str(refusal.value).partition(";")[0].split(", got ")
    assert rule == "the recipe's spacers must be 1 to 100 mm high when scaled to the order"
    assert got == "0.59 mm for 6 mm"


def test_every_range_encloses_its_usual_value():
    batch = plan(RECIPE, Order(200, 200, 6))
    ranges = [batch.tile_g, batch.total_g, batch.hot_length_mm, batch.spacer_mm]
    ranges += [batch.heat_minutes, batch.cool_minutes, *(part.pieces for part in batch.portions)]
    assert all(r.low <= r.usual <= r.high for r in ranges)
    assert batch.spacer_mm.low < batch.spacer_mm.high
    assert batch.spacer_mm.low > 6  # with any published numbers the hot sheet is the thicker one


def test_a_measured_plastic_takes_the_place_of_the_published_one():
    exact = Plastic(Range(0.95, 0.95, 0.95), Range(2.0, 2.0, 2.0), Range(0.8, 0.8, 0.8))
    batch = plan(RECIPE, Order(98, 98, 5, trim_mm=0), plastic=exact)
    assert batch.hot_length_mm == Range(*[pytest.approx(100)] * 3)
    assert batch.spacer_mm.usual == pytest.approx(5 * 0.98**2 / 0.8)
    assert batch.total_g.usual == pytest.approx(9.8 * 9.8 * 0.5 * 0.95)


def test_loads_are_as_few_as_the_largest_load_allows():
    batch = plan(RECIPE, Order(200, 200, 12), PressSetup(largest_load_g=200))
    load = sum(part.load_g for part in batch.portions)
    assert load <= 200
    assert batch.tile_g.usual > 200 * (batch.loads - 1)
    kinds = [step.kind for step in batch.times["usual"].steps]
    assert "join" in kinds
    one_load = sum(s.seconds for s in batch.times["usual"].steps[: kinds.index("join")])
    joining = sum(s.seconds for s in batch.times["usual"].steps[kinds.index("join") : -1])
    assert batch.heat_minutes.usual * 60 == pytest.approx(batch.loads * one_load + joining)


def test_a_plate_smaller_than_the_sheet_offers_tiles_that_fit():
    with pytest.raises(InputError, match=r"make it of 3 x 1 tiles of 266\.67 x 300 mm") as refusal:
        plan(RECIPE, Order(800, 300, 6))
    rule, got = str(refusal.value).partition(";")[0].split(", got ")
    assert rule == "the hot sheet must fit the plates, up to 380 x 380 mm"
    assert got == "832.5 x 318.7 mm hot for 800 x 300 mm finished"
    tiled = plan(RECIPE, Order(800, 300, 6, tiles=(3, 1)))
    assert tiled.tiles == 3
    assert tiled.total_g.usual == pytest.approx(3 * tiled.tile_g.usual)
    assert tiled.hot_length_mm.usual <= 380


def refused(order, press=None):
    """The refusal of an order that the press cannot make."""
    with pytest.raises(InputError) as refusal:
        plan(RECIPE, order, press)
    return str(refusal.value)


def test_a_sheet_barely_too_large_does_not_read_as_one_that_fits():
    """By less than a millimetre: 380.1 is not rounded to 380."""
    said = refused(Order(359.75, 50, 6))
    assert "up to 380 x 380 mm, got 380.1 x 61.7 mm hot for 359.75 x 50 mm finished; " in said
    assert plan(RECIPE, Order(359.7, 50, 6)).tiles == 1


def test_an_order_is_refused_in_its_own_terms_where_the_hot_slab_has_limits():
    """A slab is 20 to 1000 mm long and wide and at most 100 mm thick, while it is hot."""
    said = refused(Order(200, 200, 90))
    assert said.startswith(
        "the finished thickness must be at most 84.6 mm, as it is thicker while hot, got 90 mm; "
    )
    check_fit(Order(200, 200, 84.6), PressSetup(), Plastic.published(180))
    said = refused(Order(370, 62, 6, trim_mm=0, tiles=(20, 1)))
    assert "at least 19.5 mm long and wide before it is trimmed, got 18.5 x 62 mm with 0 mm of trim; " in said
    large = PressSetup(plate_length_mm=3000, plate_width_mm=1500)
    said = refused(Order(1200, 300, 6), large)
    assert "up to 1000 x 1000 mm, got " in said
    assert said.endswith("make it of 2 x 1 tiles of 600 x 300 mm, or take larger plates")
    assert fitting_tiles(Order(1200, 300, 6), large, Plastic.published(180)) == (2, 1)


def test_a_sheet_may_lie_either_way_on_the_plates():
    assert plan(RECIPE, Order(150, 350, 5), PressSetup(plate_length_mm=400, plate_width_mm=200)).tiles == 1


def test_where_no_tiling_fits_the_refusal_says_so():
    with pytest.raises(InputError, match="press a smaller sheet"):
        plan(RECIPE, Order(5000, 5000, 5, trim_mm=20), PressSetup(plate_length_mm=100, plate_width_mm=100))


def test_pieces_cover_the_grams():
    batch = plan(RECIPE, Order(200, 200, 6), piece_g={"white": 40.0})
    white, slate, _ = batch.portions
    assert white.pieces == Range(*[-(-white.total_g // 40)] * 3)
    assert slate.pieces.low * 3.2 >= slate.total_g  # drinks caps, common practice
    assert slate.pieces.high * 1.5 >= slate.total_g
    with pytest.raises(InputError, match="weigh ten pieces"):
        plan(RECIPE, Order(200, 200, 6), piece_g={"white": 0.0})


def test_part_of_a_heavy_piece_is_not_counted_as_one():
    batch = plan(RECIPE, Order(200, 200, 6), piece_g={"white": 1800.0})
    white = batch.portions[0]
    assert white.pieces == Range(*[white.total_g / 1800] * 3)
    assert pieces_text(white.pieces) == "part of one piece"
    assert as_json(batch)["pieces"]["white"] == 1  # the crate that it is cut from
    exact = plan(RECIPE, Order(200, 200, 6), piece_g={"white": white.total_g}).portions[0]
    assert pieces_text(exact.pieces) == "1 piece"


def test_stock_that_covers_is_not_short():
    batch = plan(RECIPE, Order(100, 100, 5), on_hand_g={"white": 1e3, "slate": 1e3, "blue": 1e3})
    assert batch.short_of == {}
    assert batch.nearest_g is None


def test_a_short_stock_is_named_with_the_nearest_mix():
    batch = plan(RECIPE, Order(100, 100, 5), on_hand_g={"white": 1e3, "slate": 1e3, "blue": 4.0})
    (part,) = [part for part in batch.portions if part.flake.name == "blue"]
    assert batch.short_of == {"blue": pytest.approx(part.total_g - 4)}
    mix = batch.nearest_g
    assert mix["blue"] == 4
    assert mix["white"] / mix["slate"] == pytest.approx(90 / 60)
    assert sum(mix.values()) == pytest.approx(batch.total_g.usual)
    assert plan(RECIPE, Order(100, 100, 5), on_hand_g={"white": 1.0}).nearest_g is None


@given(st.lists(st.tuples(st.floats(1, 100), st.floats(0.5, 150)), min_size=2, max_size=5))
@settings(max_examples=40, deadline=None)
def test_nearest_mix_is_the_one_of_least_relative_entropy(rows):
    """Beside a general optimiser (scipy, SLSQP) on the same objective and bounds."""
    wanted = {str(n): grams for n, (grams, _) in enumerate(rows)}
    stock = {str(n): grams for n, (_, grams) in enumerate(rows)}
    mass = sum(wanted.values())
    found = nearest_mix(wanted, stock)
    if found is None:
        assert sum(stock.values()) < mass
        return
    g, w, s = (np.array(list(part.values())) for part in (found, wanted, stock))
    assert g.sum() == pytest.approx(mass)
    assert np.all(g <= s * (1 + 1e-12))

    def entropy(x):
        return float(np.sum(x * np.log(np.maximum(x, 1e-12) / w))) / mass

    start = s * (mass / s.sum())
    best = minimize(
        entropy,
        start,
        method="SLSQP",
        bounds=[(0, high) for high in s],
        constraints={"type": "eq", "fun": lambda x: x.sum() - mass},
        options={"ftol": 1e-12, "maxiter": 300},
    )
    assert entropy(g) <= best.fun + 1e-6


def test_less_than_a_scale_reads_is_no_shortage():
    assert short_of({"white": 100.0}, {"white": 99.95}) == {}


def test_published_density_ratio_says_a_fifth_of_the_volume_goes():
    """Common practice and Rodgers' fit agree: hot melt takes some fifth more room than the cold sheet."""
    ratio = Plastic.published(190).density_ratio
    assert ratio.low < 0.8 < ratio.high
    assert range_of(hdpe()["shrinkage_in_plane_percent"]).usual == pytest.approx(2.75, abs=0.15)  # ASTM D955


def test_json_keeps_the_contract():
    found = json.loads(json.dumps(as_json(plan(RECIPE, Order(200, 200, 6), on_hand_g={"white": 10.0}))))
    keys = {"grams", "total_g", "pieces", "loads", "spacer_mm", "hot_size_mm"}
    keys |= {"heat_minutes", "cool_minutes", "short_of", "cautions", "closing", "ageing", "bow_mm"}
    assert keys <= set(found)
    assert sum(found["grams"].values()) == pytest.approx(found["total_g"], abs=0.02)
    assert set(found["grams"]) == {flake.name for flake in FLAKES}
    assert any("PVC" in caution for caution in found["cautions"])


SQUARE = Order(150, 150, 6)


def test_a_press_that_is_slow_to_close_is_waited_for():
    """Stiff stock under bare hands: the plan's presses are held until they have closed."""
    stock = Stock("crate")
    unsaid, hands = (plan(RECIPE, SQUARE, closing=how, stock=stock) for how in (None, Closing(force_n=40)))
    assert unsaid.closing is None
    assert hands.closing.closes
    assert not hands.closing.in_time
    held = [step.seconds for step in hands.times["usual"].steps if step.kind == "press"]
    assert held == pytest.approx([hands.closing.slowest.seconds.usual] * 2, rel=0.01)
    assert hands.heat_minutes.usual > unsaid.heat_minutes.usual + 1
    assert hands.ageing.used_minutes > unsaid.ageing.used_minutes


def test_a_quick_press_changes_no_minutes():
    unsaid, screw = (plan(RECIPE, SQUARE, closing=how) for how in (None, Closing("screw-press")))
    assert screw.closing.in_time
    assert screw.heat_minutes == unsaid.heat_minutes


def test_what_does_not_close_is_not_waited_for():
    stock = Stock("bottle")
    unsaid, weak = (plan(RECIPE, SQUARE, closing=how, stock=stock) for how in (None, Closing(force_n=20)))
    assert not weak.closing.closes
    assert weak.heat_minutes == unsaid.heat_minutes


def test_the_pressure_is_the_force_over_the_hot_plan():
    batch = plan(RECIPE, SQUARE, closing=Closing(force_n=1000))
    area_m2 = batch.hot_length_mm.usual * batch.hot_width_mm.usual / 1e6
    assert batch.closing.presses[-1].pressure_kpa.usual == pytest.approx(1000 / area_m2 / 1000, rel=1e-3)


def test_an_unfolded_sheet_has_nothing_to_close():
    flat = replace(RECIPE, folding=Folding(folds=0))
    assert plan(flat, SQUARE, closing=Closing("hands")).closing is None


def test_a_thick_slab_is_beyond_the_budget_and_a_thin_one_within():
    thin, thick = (plan(RECIPE, Order(90, 90, mm), PressSetup(largest_load_g=1000)) for mm in (6, 40))
    assert thin.ageing.within
    assert not thick.ageing.within


def test_every_way_to_cool_has_its_bow():
    batch = plan(RECIPE, Order(200, 150, 6))
    for each in batch.flatness.values():
        assert 0 <= each.let_go_at(40) < each.unclamped_mm
    assert batch.flatness["one board"].unclamped_mm > batch.flatness["two boards"].unclamped_mm
    found = as_json(batch)["bow_mm"]["one board"]
    assert [mark for mark, _ in found["let_go_at_c"]] == [100, 80, 60, 40]
    bows = [found["never_clamped"], *(mm for _, mm in found["let_go_at_c"])]
    assert bows == sorted(bows, reverse=True)


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"length_mm": 0}, "finished length_mm must be a number from 10 to 5000, got 0"),
        ({"thickness_mm": float("nan")}, "finished thickness_mm must be a number from 1 to 90, got nan"),
        ({"trim_mm": -1}, "trim_mm must be a number from 0 to 50, got -1"),
        ({"tiles": (0, 1)}, "tiles a side must be a whole number from 1 to 20, got 0"),
    ],
)
def test_impossible_orders_are_refused_in_words(wrong, words):
    with pytest.raises(InputError) as refusal:
        replace(Order(200, 200, 6), **wrong)
    assert words in str(refusal.value)
