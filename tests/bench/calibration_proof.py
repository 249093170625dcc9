"""How well a press is calibrated, on synthetic presses; run by hand, about a minute on two idle cores:

    python -m tests.bench.calibration_proof [seed]

Thirty-six presses are drawn evenly from the prior. Each is calibrated from eight photos; four are held out.
Printed: how often the bands hold the truth, the errors of the values and of the usual ones, and how well the
fold counts of held-out photos are inferred with the calibration, with the usual values, and with the prior.
"""

import sys
from dataclasses import replace

import numpy as np
from scipy.special import logsumexp, softmax
from scipy.stats import norm

from blendlab.photo import press_calibration
from blendlab.recipe.recipe import Flake, Folding, Recipe, Sheet

PRESSES, SIDE, COUNTS, SEED = 36, 64, (2, 3, 4, 5), 1234  # the bands were set on 78
FLAKES = (Flake("white", "#f2f0e8", 30.0), Flake("blue", "#1d4f8f", 20.0), Flake("marigold", "#f0ac2b", 15.0))


def sheet_of(folds):
    recipe = Recipe("tile", Sheet(SIDE, SIDE, 6.0), FLAKES, Folding(folds=folds))
    return press_calibration.PhotographedSheet(recipe, np.zeros(1), (SIDE - 4, SIDE - 4), 1.0, 0.3)


def photo_of(folds, values, rng):
    drag, unevenness, log_reach = (float(value) for value in values)
    seen = sheet_of(folds)
    recipe = replace(seen.recipe, reach_factor=float(np.exp(log_reach)))
    prepared = press_calibration.replicate(recipe.with_folding(drag=drag, unevenness=unevenness), rng)
    return replace(
        seen, described=press_calibration.describe_face(press_calibration.photographed(prepared, seen))
    )


def presses(rng):
    """Values spread evenly over the prior, each independently."""
    even = np.stack([(rng.permutation(PRESSES) + 0.5) / PRESSES for _ in press_calibration.USUAL], axis=1)
    return np.clip(
        press_calibration.USUAL + press_calibration.PRIOR_SPREAD * norm.ppf(even),
        press_calibration.MIN_VALUES + 0.03,
        press_calibration.MAX_VALUES - 0.03,
    )


def main():
    rng = np.random.default_rng(int(sys.argv[1]) if len(sys.argv) > 1 else SEED)
    known = {folds: press_calibration.trials(sheet_of(folds)) for folds in COUNTS}
    press_calibration.trials = lambda seen, on_progress=None: known[seen.recipe.folding.folds]
    usual = press_calibration.posterior([])
    fixed = np.zeros_like(usual)
    fixed[
        np.abs((press_calibration._grid() - press_calibration.USUAL) / press_calibration.PRIOR_SPREAD)
        .sum(axis=1)
        .argmin()
    ] = 1.0
    held, off, off_usual, log_chance, hits, likelier = [], [], [], [], [], []
    for values in presses(rng):
        likely = [press_calibration.log_likelihood(photo_of(folds, values, rng)) for folds in COUNTS * 2]
        learnt, weights = press_calibration.calibrate(likely), press_calibration.posterior(likely)
        bands = [learnt.drag, learnt.unevenness, learnt.reach_factor]
        truth = [values[0], values[1], np.exp(values[2])]
        held.append([band.low <= value <= band.high for band, value in zip(bands, truth, strict=True)])
        found = np.array([learnt.drag.usual, learnt.unevenness.usual, np.log(learnt.reach_factor.usual)])
        off.append(found - values)
        off_usual.append(press_calibration.USUAL - values)
        likelier.append(np.log(learnt.likelier))
        for photo in (photo_of(folds, values, rng) for folds in COUNTS):
            at = COUNTS.index(photo.recipe.folding.folds)
            as_if = [replace(photo, recipe=photo.recipe.with_folding(folds=folds)) for folds in COUNTS]
            by_count = [press_calibration.log_likelihood(one) for one in as_if]
            # The probability of each count given what is known of the press, every count as likely before.
            chances = [softmax([logsumexp(own, b=w) for own in by_count]) for w in (weights, fixed, usual)]
            log_chance.append([np.log(chance[at]) for chance in chances])
            hits.append([chance.argmax() == at for chance in chances])
    rms = [np.sqrt(np.mean(np.square(values), axis=0)).round(3) for values in (off, off_usual)]
    print(f"drag, unevenness, ln reach: held {np.mean(held, axis=0).round(2)}, off {rms[0]}, usual {rms[1]}")
    print(f"photos are {np.exp(np.mean(likelier)):.2f} times as likely as under the usual values")
    print("folds of held-out photos, with the calibration, the usual values, the prior:")
    print(f"  right {np.mean(hits, axis=0).round(2)}, log chance {np.mean(log_chance, axis=0).round(3)}")


if __name__ == "__main__":
    main()
