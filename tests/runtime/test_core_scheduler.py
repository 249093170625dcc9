import time
from threading import Event, Thread

import numpy as np
import pytest

from blendlab.folding.trace import follow_back
from blendlab.look.prepared_sheet import prepare
from blendlab.recipe.recipe import Flake, Folding, Recipe, Sheet
from blendlab.runtime import core_scheduler

PATIENCE_S = 10


def _started(work):
    """A thread at some work, once it waits for the cores or has them."""
    thread = Thread(target=work, daemon=True)
    thread.start()
    time.sleep(0.05)
    return thread


def test_foreground_work_goes_before_background_jobs():
    served = []

    def use(name):
        with core_scheduler.taken():
            served.append(name)

    def use_patiently(name):
        with core_scheduler.in_the_background():
            use(name)

    with core_scheduler.taken():
        threads = [_started(lambda name=name: use_patiently(name)) for name in ("fine", "finer")]
        threads += [_started(lambda name=name: use(name)) for name in ("sketch", "mean")]
        assert served == []
    for thread in threads:
        thread.join(PATIENCE_S)
    assert sorted(served[:2]) == ["mean", "sketch"]
    assert sorted(served[2:]) == ["fine", "finer"]


def test_a_few_background_jobs_run_at_a_time_in_the_order_asked():
    began, ends = [], [Event() for _ in range(core_scheduler.AT_ONCE + 2)]

    def refine(number):
        with (
            core_scheduler.in_the_background(),
            core_scheduler.in_the_background(),
        ):  # asked twice is asked once
            began.append(number)
            ends[number].wait(PATIENCE_S)

    threads = [_started(lambda number=number: refine(number)) for number in range(len(ends))]
    assert began == list(range(core_scheduler.AT_ONCE))
    for ended, (thread, end) in enumerate(zip(threads, ends, strict=True), start=1):
        end.set()
        thread.join(PATIENCE_S)
        going = list(range(min(ended + core_scheduler.AT_ONCE, len(ends))))
        patience = time.monotonic() + PATIENCE_S
        while began != going and time.monotonic() < patience:  # who may go on now needs a moment to wake
            time.sleep(0.001)
        assert began == going


def test_background_ends_where_its_block_ends_and_belongs_to_its_thread():
    with core_scheduler.in_the_background():
        assert core_scheduler._patient.get()
        seen = []
        _started(lambda: seen.append(core_scheduler._patient.get())).join(PATIENCE_S)
        assert seen == [False]
    assert not core_scheduler._patient.get()


def test_the_cores_are_free_again_after_an_error():
    with pytest.raises(RuntimeError), core_scheduler.taken():
        raise RuntimeError
    with core_scheduler.taken():
        pass


def test_other_threads_go_on_while_a_compiled_loop_runs_and_loops_wait_for_each_other():
    recipe = Recipe("One", Sheet(100.0, 60.0, 5.0), (Flake("a", "#808080", 1.0),), Folding(folds=16))
    programme = prepare(recipe).programme
    points = np.random.default_rng(1).uniform((-50, -30, 0), (50, 30, 5), (200_000, 3))
    few, found, done = points[:10], [], Event()
    expected = follow_back(few, programme, 16)

    def follow():
        found.append(follow_back(points, programme, 16))
        done.set()

    thread = _started(follow)
    turns = 0
    while not done.is_set():
        turns += 1
        time.sleep(0.001)
    thread.join(PATIENCE_S)
    assert turns > 10  # a locked interpreter would allow one or two
    threads = [_started(lambda: found.append(follow_back(few, programme, 16))) for _ in range(4)]
    for thread in threads:
        thread.join(PATIENCE_S)
    assert len(found) == 5
    for one in found[1:]:
        np.testing.assert_array_equal(one, expected)
    np.testing.assert_array_equal(found[0][:10], expected)
