"""The stock as a ledger: grams add up in any order of events.

The model is a plain set of movements: each weighing and each pressing has a name, an undo removes a pressing,
and an import is the union of two sets.
"""

import io
import tempfile
from collections import Counter
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    Bundle,
    RuleBasedStateMachine,
    consumes,
    initialize,
    invariant,
    rule,
    run_state_machine_as_test,
)

from blendlab.checks import InputError
from blendlab.logbook import sheet_log, stock
from blendlab.logbook.export import export_to
from blendlab.logbook.restore import import_from
from blendlab.recipe.flake_list import Stocked
from blendlab.recipe.recipe import Flake, Recipe, Sheet

DAY = date(2026, 3, 14)
RECIPE = Recipe("Tile", Sheet(), (Flake("white", "#f2f0e8", 150),))
NAMES = ("white", "bottle-crate blue", "oat")
names = st.sampled_from(NAMES)
mg = st.integers(0, 500_000)


@dataclass
class Model:
    """What the log should hold; grams in mg."""

    weighed: dict[int, tuple[str, int]] = field(default_factory=dict)
    pressed: dict[str, dict[str, int]] = field(default_factory=dict)
    listed: set[str] = field(default_factory=set)

    def copy(self):
        return Model(dict(self.weighed), dict(self.pressed), set(self.listed))

    def sums(self):
        found = Counter(dict.fromkeys(NAMES, 0))
        for name, change in self.weighed.values():
            found[name] += change
        for taken in self.pressed.values():
            found.subtract(taken)
        return found


def flake(name, grams_mg):
    return Stocked(name, "#f2f0e8", grams=grams_mg / 1000)


class Ledger(RuleBasedStateMachine):
    """One log and two elsewhere, and the model of each."""

    sheets = Bundle("sheets")
    exports = Bundle("exports")

    def __init__(self):
        super().__init__()
        self.folder = tempfile.TemporaryDirectory(dir="/dev/shm" if Path("/dev/shm").is_dir() else None)
        self.homes = [Path(self.folder.name) / name for name in ("here", "there")]
        self.models = [Model(), Model()]
        self.weighings = 0

    def teardown(self):
        self.folder.cleanup()

    def weigh(self, at, name, change):
        self.weighings += 1
        if change:
            self.models[at].weighed[self.weighings] = name, change

    @initialize()
    def begin(self):
        for at in (0, 1):
            for name in NAMES:
                self.put(at, name, 100_000)

    @rule(at=st.integers(0, 1), name=names, grams=mg)
    def put(self, at, name, grams):
        stock.put(self.homes[at], [flake(name, grams)])
        self.models[at].listed.add(name)
        self.weigh(at, name, grams - self.models[at].sums()[name])

    @rule(at=st.integers(0, 1), name=names, change=st.integers(-300_000, 300_000))
    def add(self, at, name, change):
        model = self.models[at]
        left = model.sums()[name] + change
        try:
            stock.add(self.homes[at], name, change / 1000)
        except InputError:
            assert name not in model.listed or (change < 0 and left < 0)
            return
        assert name in model.listed
        self.weigh(at, name, change)

    @rule(at=st.integers(0, 1), name=names)
    def remove(self, at, name):
        if name in self.models[at].listed:
            stock.remove(self.homes[at], name)
            self.models[at].listed.remove(name)
        else:
            with pytest.raises(InputError, match="must be in the stock"):
                stock.remove(self.homes[at], name)

    @rule(
        target=sheets, at=st.integers(0, 1), percent=st.dictionaries(names, st.integers(1, 110), min_size=1)
    )
    def press(self, at, percent):
        """Each flake by percent of what is on hand: more than all of it is refused."""
        model = self.models[at]
        sums = model.sums()
        taken = {name: max(1, sums[name] * part // 100) for name, part in percent.items()}
        covered = all(name in model.listed and sums[name] >= used for name, used in taken.items())
        sheet = sheet_log.LoggedSheet(pressed_on=DAY, recipe=RECIPE)
        grams = {name: used / 1000 for name, used in taken.items()}
        try:
            uid = sheet_log.record(self.homes[at], sheet, take=grams).uid
        except InputError:
            assert not covered
            return ""
        assert covered
        model.pressed[uid] = taken
        return uid

    @rule(at=st.integers(0, 1), uid=sheets)
    def amend(self, at, uid):
        if uid in self.models[at].pressed:
            sheet = sheet_log.get(self.homes[at], uid)
            sheet_log.amend(self.homes[at], replace(sheet, notes="amended"))

    @rule(at=st.integers(0, 1), uid=sheets)
    def undo(self, at, uid):
        model = self.models[at]
        if uid not in model.pressed:
            with pytest.raises(InputError, match="the sheet must be in the log"):
                sheet_log.undo(self.homes[at], uid)
            return
        done = sheet_log.undo(self.homes[at], uid)
        taken = model.pressed.pop(uid)
        assert done.back_g == {name: used / 1000 for name, used in taken.items()}
        assert set(done.off_list) == set(taken) - model.listed

    @rule(target=exports, at=st.integers(0, 1))
    def export(self, at):
        file = io.BytesIO()
        assert export_to(self.homes[at], file).left_out == ()
        return file.getvalue(), self.models[at].copy()

    @rule(at=st.integers(0, 1), exported=exports)
    def bring_in(self, at, exported):
        content, other = exported
        model = self.models[at]
        new = other.pressed.keys() - model.pressed.keys()
        done = import_from(self.homes[at], io.BytesIO(content))
        assert (done.sheets, done.known) == (len(new), len(other.pressed) - len(new))
        assert done.flakes == len(other.listed - model.listed)
        model.weighed |= other.weighed
        model.pressed |= {uid: other.pressed[uid] for uid in new}
        model.listed |= other.listed

    @rule(at=st.integers(0, 1), exported=consumes(exports))
    def start_over(self, at, exported):
        """The folder is lost, and an export is all there is."""
        content, other = exported
        self.homes[at] = self.homes[at].with_name(f"{self.homes[at].name}x")
        import_from(self.homes[at], io.BytesIO(content))
        self.models[at] = other.copy()

    @invariant()
    def grams_add_up(self):
        for home, model in zip(self.homes, self.models, strict=True):
            sums = model.sums()
            found = {f.name: round(f.grams * 1000) for f in stock.stock(home)}
            assert found == {name: max(0, sums[name]) for name in model.listed}
            short = {name: round(grams * 1000) for name, grams in stock.overdrawn(home).items()}
            assert short == {name: -sums[name] for name in model.listed if sums[name] < 0}
            assert {sheet.uid for sheet in sheet_log.search(home)} == set(model.pressed)


def test_grams_add_up_in_any_order_of_events():
    run_state_machine_as_test(
        Ledger,
        settings=settings(
            max_examples=30,
            stateful_step_count=25,
            deadline=None,
            derandomize=True,
            suppress_health_check=list(HealthCheck),
        ),
    )
