import numpy as np
import pytest

from blendlab.photo.fold_count import FoldCount, infer, possible_counts
from blendlab.photo.texture_statistics import as_photographed, describe, forms, is_one_colour

REPLICATES, COUNTS, SIZE = 12, 7, 5
NO_MISFIT = np.zeros(COUNTS)


def draw(rng: np.random.Generator, spread: float) -> np.ndarray[tuple[int, int, int], np.dtype[np.float64]]:
    """Descriptions that change linearly with the count, with noise."""
    means = np.arange(COUNTS)[:, None] * np.array([1.0, -0.5, 0.3, 0.0, 0.2])
    return means + spread * rng.standard_normal((REPLICATES, COUNTS, SIZE))


def by_count(drawn: np.ndarray[tuple[int, int, int], np.dtype[np.float64]]) -> list[np.ndarray]:
    """The same, a table of replicates for every count."""
    return [*drawn.swapaxes(0, 1)]


def test_clear_descriptions_give_certain_counts() -> None:
    rng = np.random.default_rng(1)
    simulated = draw(rng, 0.1)
    for count in range(COUNTS):
        found = infer(by_count(simulated), draw(rng, 0.1)[:1, [count]], NO_MISFIT)
        assert found.best == count
        assert found.probability.sum() == pytest.approx(1)
        assert count in found.likely()


def test_noisy_descriptions_give_wide_sets_that_hold_the_truth() -> None:
    rng = np.random.default_rng(2)
    held, size = [], []
    for trial in range(200):
        count = trial % COUNTS
        found = infer(by_count(draw(rng, 1.2)), draw(rng, 1.2)[:1, [count]], NO_MISFIT)
        held.append(count in found.likely(0.8))
        size.append(len(found.likely(0.8)))
    assert np.mean(held) > 0.74  # 80 % less two standard errors of 200 trials
    assert 2 < np.mean(size) < 6


def test_either_of_two_views_may_match() -> None:
    drawn = draw(np.random.default_rng(3), 0.1)
    simulated, right, wrong = by_count(drawn), drawn[0, 2], drawn[0, 2] + 40.0
    both = infer(simulated, np.array([wrong, right])[:, None], NO_MISFIT)
    np.testing.assert_allclose(both.probability, infer(simulated, right[None, None], NO_MISFIT).probability)
    assert infer(simulated, wrong[None], NO_MISFIT).strangeness > 100 > 5 > both.strangeness


def test_colours_that_fit_only_one_count_decide() -> None:
    drawn = draw(np.random.default_rng(4), 1.2)
    misfit = np.full(COUNTS, 900.0)
    misfit[5] = 20.0
    assert infer(by_count(drawn), drawn[:1, [3]], misfit).best == 5


def test_the_likely_set_is_as_likely_as_whole_counts_allow() -> None:
    count = FoldCount(np.array([0.05, 0.5, 0.2, 0.25]), 0.0, 1.0, 1)
    assert count.likely(0.5) == (1,)
    assert count.likely(0.7) == (1, 3)
    assert count.likely(0.8) == (1, 3)
    assert count.likely(0.9) == (1, 2, 3)


def test_hopeless_counts_are_skipped_and_get_no_probability() -> None:
    misfit = np.array([400.0, 90.0, 20.0, 12.0, 11.0, 60.0, 300.0])
    counts = possible_counts(misfit)
    assert counts == range(1, 6)
    assert possible_counts(np.zeros(COUNTS)) == range(COUNTS)
    assert possible_counts(np.arange(COUNTS) * 90.0) == range(2)
    drawn = draw(np.random.default_rng(6), 0.4)
    seen, simulated = drawn[:1, [3]], by_count(drawn)
    some = infer(simulated[1:6], seen, misfit[1:6]).among(counts, COUNTS)
    every = infer(simulated, seen, misfit)
    assert some.best == every.best == 3
    assert some.probability[[0, 6]] == pytest.approx(0)
    np.testing.assert_allclose(some.probability, every.probability, atol=0.02)
    assert some.evidence == pytest.approx(every.evidence, abs=0.5)


def test_a_photo_unlike_every_count_says_less() -> None:
    drawn = draw(np.random.default_rng(7), 0.3)
    aside = np.array([0.0, 0.0, 0.0, 1.0, 0.0])  # along which counts do not differ
    near, far = (infer(by_count(drawn), drawn[:1, [3]] + off * aside, NO_MISFIT) for off in (0.0, 4.0))
    assert far.strangeness > 10 > 2 > near.strangeness
    assert far.probability.max() < near.probability.max()


def test_large_forms_show_bands_whatever_way_they_run() -> None:
    across, down = forms(stripes(True, 16)), forms(stripes(False, 16))
    np.testing.assert_allclose(across, down, atol=0.05)
    fine = forms(np.random.default_rng(1).random((128, 128, 3)).astype(np.float32))
    assert across[0] > 1 > -2 > fine[0]
    assert across[1] > 2 > -2 > fine[1]


def test_an_unknown_count_is_flat_and_keeps_the_count_to_draw() -> None:
    unknown = FoldCount.unknown(11, 10)
    assert unknown.best == 10
    assert unknown.probability == pytest.approx(np.full(11, 1 / 11))
    assert len(unknown.likely(0.8)) == 9


@pytest.mark.parametrize("level", [0.02, 0.3, 0.85])
def test_noise_glare_and_uneven_light_are_no_marbling(level: float) -> None:
    y, x = np.indices((120, 150))
    plain = level * np.exp(0.002 * x)[..., None] * np.ones(3, np.float32)
    rng = np.random.default_rng(5)
    noisy = plain + rng.normal(0, 0.06 * np.sqrt(level * 0.1), plain.shape)
    glare = np.exp(-((x - 40) ** 2 + (y - 60) ** 2) / 8.0**2)[..., None]
    assert is_one_colour(plain.astype(np.float32))
    assert is_one_colour((noisy + 0.2 * glare).astype(np.float32))
    assert not is_one_colour(stripes(True, 4))
    assert not is_one_colour((level * (0.6 + 0.8 * rng.integers(0, 2, plain.shape))).astype(np.float32))


def stripes(across: bool, wide: int) -> np.ndarray[tuple[int, int, int], np.dtype[np.float32]]:
    line = (np.arange(128) // wide % 2).astype(np.float32) * 0.5 + 0.2
    picture = np.broadcast_to(line if across else line[:, None], (128, 128))
    return np.repeat(picture[..., None], 3, axis=-1).astype(np.float32)


def test_statistics_show_scale_and_direction_and_survive_exposure() -> None:
    fine, coarse, down = describe(stripes(True, 4)), describe(stripes(True, 16)), describe(stripes(False, 4))
    assert fine[1] > coarse[1]  # contrast between 2 and 4 pixels
    assert coarse[3] > fine[3]  # between 8 and 16
    np.testing.assert_allclose(fine[:5], down[:5], atol=1e-3)
    assert fine[11] > 3 > -3 > down[11]  # across over down
    assert fine[12] == pytest.approx(down[12]) == pytest.approx(1, abs=0.01)  # all streaks agree
    dimmed = describe(stripes(True, 4) * np.float32(0.93))
    assert np.abs(dimmed - fine).max() < 0.1
    soft = describe(as_photographed(stripes(True, 16), 0.5))
    assert np.abs(soft[1:4] - coarse[1:4]).max() < 0.1


def test_a_flat_face_has_no_contrast_and_no_errors() -> None:
    flat = describe(np.full((60, 50, 3), 0.3, np.float32))
    assert np.isfinite(flat).all()
    assert flat[:5] == pytest.approx(np.log(0.05), abs=1e-3)
