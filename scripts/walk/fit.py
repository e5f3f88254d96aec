"""Fits the walk's numbers to how long people took, and writes src/walk/fitted.rs.

    python3 -m venv /tmp/fit && /tmp/fit/bin/pip install numpy scipy
    cargo run --release --example dump_walks -- ../shared/human_times/times.tsv 12 > moments.jsonl
    /tmp/fit/bin/python scripts/walk/fit.py ../shared/human_times/times.tsv moments.jsonl > src/walk/fitted.rs

Two fits. Minutes: a race among the deductions in view (src/walk/race.rs). A moment lasts open ** CROWD / rate ** SPEED, where rate is the
summed rates of what is in view and open the share of cells still open; a puzzle lasts what its moments do, in the mean over random orders; the logarithm of
people's time is a line over the logarithm of that. Effort: seconds as a sum over the parts of a walk's steps, none below zero, held near weights
from judgement where few walks have such a step. Both are weighted for the number of players, and judged by Spearman's
rank correlation on folds that nothing was fitted to (five folds, drawn with seed 0); the figures go to standard error.
"""

import json
import sys

import numpy as np
from scipy.optimize import lsq_linear, minimize
from scipy.stats import spearmanr

FOLDS = 5
RIDGE = 0.1  # chosen among 0.02, 0.1, 0.5, 2 by the folds below


def read(times_path, moments_path):
    rows = [line.rstrip("\n").split("\t") for line in open(times_path)][1:]
    number = lambda text: float(text) if text else np.nan
    seconds, players = np.array([float(r[2]) for r in rows]), np.array([float(r[1]) for r in rows])
    relative = np.array([number(r[3]) for r in rows])
    views, puzzle, open_share, parts, efforts = [], [], [], [], []
    for at, line in enumerate(open(moments_path)):
        walk = json.loads(line)
        assert walk["puzzle"] == rows[at][0]
        orders, moments = walk["orders"], np.array(walk["moments"], float)
        empty = left = walk["puzzle"].count(".")
        for written in moments[:, :19].sum(1) > 0:  # classes 0 to 18 write a digit
            open_share.append(left / 81)
            left -= written
            left = left or empty  # the next order begins
        views.append(moments)
        puzzle += [at] * len(moments)
        parts.append(walk["parts"])
        efforts.append(walk["effort"])
    return dict(seconds=seconds, players=players, relative=relative, views=np.vstack(views), puzzle=np.array(puzzle), orders=orders,
                log_open=np.log(np.array(open_share) + 0.02), parts=np.array(parts), efforts=np.array(efforts))


def race(data, p, classes):
    """How long each puzzle lasts, and what the gradient needs."""
    rates, speed, crowd = np.exp(p[:classes]), np.exp(p[classes]), p[classes + 1]
    rate = data["views"] @ rates
    lasts = rate**-speed * np.exp(crowd * data["log_open"])
    return np.bincount(data["puzzle"], lasts, len(data["seconds"])) / data["orders"], lasts, rate, rates, speed


def fit_race(data, train):
    """Log rates, log speed, crowd, and the line to log seconds (then to log relative time)."""
    classes = data["views"].shape[1]
    chosen = np.zeros(len(data["seconds"]))
    chosen[train] = 1
    log_seconds, has = np.log(data["seconds"]), ~np.isnan(data["relative"])
    log_relative = np.where(has, np.log(np.where(has, data["relative"], 1)), 0)
    weight = chosen * data["players"] / data["players"].mean()
    weight_relative = chosen * has * data["players"] / data["players"][has].mean()
    base = np.concatenate([np.log(DRAW / 60), [0, 0]])
    ridge = np.concatenate([np.full(classes, RIDGE), [2, 2]])

    def loss(q):
        p, (a, b, a2, b2) = q[:-4], q[-4:]
        total, lasts, rate, rates, speed = race(data, p, classes)
        log_total = np.log(total)
        e, e2 = a + b * log_total - log_seconds, a2 + b2 * log_total - log_relative
        value = (weight * e * e).sum() + (weight_relative * e2 * e2).sum() + (ridge * (p - base) ** 2).sum()
        by_total = 2 * (weight * e * b + weight_relative * e2 * b2) / total / data["orders"]
        by_log = by_total[data["puzzle"]] * lasts
        gradient = np.concatenate([
            data["views"].T @ (-by_log * speed / rate) * rates,
            [-(by_log * np.log(rate)).sum() * speed, (by_log * data["log_open"]).sum()],
        ]) + 2 * ridge * (p - base)
        line = [2 * (weight * e).sum(), 2 * (weight * e * log_total).sum(), 2 * (weight_relative * e2).sum(), 2 * (weight_relative * e2 * log_total).sum()]
        return value, np.concatenate([gradient, line])

    start = np.concatenate([base, [log_seconds.mean(), 0.7, 0, 0.7]])
    return minimize(loss, start, jac=True, method="L-BFGS-B", options=dict(maxiter=120)).x


def fit_effort(data, train):
    """Weights of the parts: minutes a unit, none negative, near JUDGED where walks say little."""
    parts, minutes = data["parts"][train], data["seconds"][train] / 60
    # Mean times of slow puzzles scatter more: relative errors are weighed.
    weight = np.sqrt(data["players"][train] / data["players"].mean()) / minutes
    scale = np.median(minutes) / np.median(parts @ JUDGED)
    hold = np.maximum(JUDGED, 0.05) * scale
    system = np.vstack([parts * weight[:, None], np.diag(HOLD / hold)])
    right = np.concatenate([minutes * weight, np.full(len(JUDGED), HOLD) * (JUDGED * scale / hold)])
    return lsq_linear(system, right, bounds=(0.2 * JUDGED * scale, 5 * np.maximum(JUDGED, 0.01) * scale)).x


HOLD = 3.0
#                full  box  naked locked hp  np   ht   nt   xw   ur   xy   xyz  chain col  hq   nq   sword jelly forcing what line look crowd recall carry follow search
JUDGED = np.array([0.2, 0.3, 1.0, 1.0, 1.8, 1.8, 4.0, 3.5, 3.5, 4.0, 5.0, 6.0, 5.0, 5.5, 7.0, 6.0, 7.0, 10.0, 8.0, 14.0, 0.5, 0.1, 0.04, 0.3, 0.15, 0.5, 2.0])
DRAW = np.array([60, 80, 60, 50, 40, 30, 40, 30, 25, 20, 30, 20, 12, 8, 30, 14, 9, 6, 4, 10, 8, 8, 3, 3, 2, 1.0])


def main():
    data = read(*sys.argv[1:3])
    classes = data["views"].shape[1]
    count, has = len(data["seconds"]), ~np.isnan(data["relative"])
    order = np.random.default_rng(0).permutation(count)
    by_race, by_effort = np.zeros(count), np.zeros(count)
    for fold in range(FOLDS):
        test = order[fold::FOLDS]
        train = np.setdiff1d(order, test)
        q = fit_race(data, train)
        by_race[test] = (q[-4] + q[-3] * np.log(race(data, q[:-4], classes)[0]))[test]
        by_effort[test] = data["parts"][test] @ fit_effort(data, train)
    for name, values in [("minutes", by_race), ("effort", by_effort)]:
        print(f"{name}, {count} puzzles in {FOLDS} folds: Spearman with d_to {spearmanr(values[has], data['relative'][has])[0]:.3f}, "
              f"with mean_seconds {spearmanr(values, data['seconds'])[0]:.3f}", file=sys.stderr)
    q = fit_race(data, order)
    effort = fit_effort(data, order)
    effort *= 40 / np.median(data["parts"] @ effort)  # the middle puzzle of the table is 40
    numbers = lambda values: ", ".join(f"{value:.4f}" for value in values)
    print("//! Numbers fitted to people's times by `scripts/walk/fit.py`: run it again rather than change them here.\n")
    print(f"/// How readily each class of `race.rs` is noticed.\npub(super) const RATES: [f64; {classes}] = [\n    {numbers(np.exp(q[:classes]))},\n];\n")
    print(f"/// A moment lasts open share ** CROWD / rate ** SPEED.\npub(super) const SPEED: f64 = {np.exp(q[classes]):.4f};\n")
    print(f"/// See [`SPEED`].\npub(super) const CROWD: f64 = {q[classes + 1]:.4f};\n")
    print(f"/// The logarithm of people's seconds over the logarithm of the race: where the line starts, and its slope.\npub(super) const LINE: [f64; 2] = [{numbers(q[-4:-2])}];\n")
    print(f"/// What the parts of a step weigh, in the order of `effort::parts`; the middle puzzle of the table takes 40.\npub(super) const WEIGHTS: [f64; {len(effort)}] = [\n    {numbers(effort)},\n];")


if __name__ == "__main__":
    main()
