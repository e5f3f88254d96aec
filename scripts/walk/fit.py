"""Fits the walk's numbers to how long people took, and writes src/walk/fitted.rs.

    python3 -m venv /tmp/fit && /tmp/fit/bin/pip install numpy scipy
    cargo run --release --example dump_walks -- ../shared/human_times/times.tsv 64 > moments.jsonl
    /tmp/fit/bin/python scripts/walk/fit.py ../shared/human_times/times.tsv moments.jsonl > src/walk/fitted.rs

Two fits. Minutes: a race among the deductions in view (src/walk/race.rs). A moment lasts the product of its crowd ** CROWD over rate ** SPEED,
where rate is the summed rates of what is in view and crowd how many digits have two, three and four places left in a box; a puzzle lasts what
its moments do, in the mean over random orders. Thirteen numbers (nine rates, SPEED, three CROWD), held near round ones from judgement, are
fitted so that the order of the puzzles by time agrees best with people's: the correlation of ranks, those of the model made smooth by the normal
distribution function. Two more turn the race into seconds: a line from its logarithm to that of people's time. Effort: seconds as a sum over
the parts of a walk's steps, none below zero, held near weights from judgement where few walks have such a step.

Both are weighted for the number of players, and judged by Spearman's rank correlation on ten folds that nothing was fitted to; puzzles that are
one by symmetry (the `id` of the dump) stay in one fold. The folds are drawn anew five times; the mean of the figures goes to standard error, with
the least and the most. Chosen by looking at the whole of the same table, so that the figures flatter a little: how orders are drawn (`taken` in
race.rs: about 60 settings of a dozen terms tried, of which four numbers were kept), what counts as crowd (some 25 counts tried), and HOLD_RACE.
"""

import json
import sys

import numpy as np
from scipy.optimize import lsq_linear, minimize
from scipy.sparse import csr_matrix
from scipy.special import ndtr
from scipy.stats import rankdata, spearmanr

FOLDS = 10
DRAWS = 5
HOLD_RACE = 3.0  # chosen among 1, 3, 10, 30 by the folds below, with an earlier crowd
HOLD_EFFORT = 3.0
RELATIVE_SHARE = 3.0  # what a puzzle with d_to counts for: a quarter has it, so both tables weigh about alike
#                 full line, box, hidden box, line, naked, locked, pairs, harder, what-if
NOTICED = np.array([1.0, 1.0, 1.0, 0.5, 0.2, 0.15, 0.15, 0.1, 0.02])
SPEED, CROWD = 0.75, [0.6, 0.2, 0.1]
#                full  box  naked locked hp  np   ht   nt   xw   ur   xy   xyz  chain col  hq   nq   sword jelly forcing what line look crowd recall carry follow search
JUDGED = np.array([0.2, 0.3, 1.0, 1.0, 1.8, 1.8, 4.0, 3.5, 3.5, 4.0, 5.0, 6.0, 5.0, 5.5, 7.0, 6.0, 7.0, 10.0, 8.0, 14.0, 0.5, 0.1, 0.04, 0.3, 0.15, 0.5, 2.0])


class Table:
    """People's times beside the dump of the walks, puzzle by puzzle."""

    def __init__(self, times_path, dump_path):
        rows = [line.rstrip("\n").split("\t") for line in open(times_path)][1:]
        self.players, self.seconds = (np.array([float(row[at]) for row in rows]) for at in (1, 2))
        self.relative = np.array([float(row[3]) if row[3] else np.nan for row in rows])
        self.has = ~np.isnan(self.relative)
        views, crowd, puzzle, share, parts, self.ids = [], [], [], [], [], []
        for at, line in enumerate(open(dump_path)):
            walk = json.loads(line)
            assert walk["puzzle"] == rows[at][0]
            views += walk["moments"]
            crowd += walk["crowd"]
            puzzle += [at] * len(walk["moments"])
            share += [1 / walk["orders"]] * len(walk["moments"])
            parts.append(walk["parts"])
            self.ids.append(walk["id"])
        self.views, self.log_crowd = np.array(views, np.float32), np.log(np.array(crowd, np.float32))
        self.parts, count = np.array(parts), len(rows)
        self.sum = csr_matrix((share, (puzzle, np.arange(len(puzzle)))), (count, len(puzzle)))

    def folds(self, seed):
        ids = sorted(set(self.ids))
        fold = dict(zip(ids, np.random.default_rng(seed).permutation(len(ids)) % FOLDS))
        of = np.array([fold[id] for id in self.ids])
        return [np.flatnonzero(of == fold) for fold in range(FOLDS)]


def race(table, p):
    """How long each puzzle lasts, and what the gradient needs; p: log rates, log speed, crowd."""
    kinds = len(NOTICED)
    rates, speed = np.exp(p[:kinds]), np.exp(p[kinds])
    rate = table.views @ rates
    lasts = rate**-speed * np.exp(table.log_crowd @ p[kinds + 1 :])
    return table.sum @ lasts, lasts, rate, rates, speed


def agreement(log_total, ranks, weight):
    """The correlation of smooth ranks with ranks (both weighted), and its gradient by the logarithms."""
    mean = weight @ log_total
    spread = np.sqrt(weight @ (log_total - mean) ** 2)
    z = (log_total - mean) / spread
    smooth = ndtr(z) - weight @ ndtr(z)
    norm = np.sqrt(weight @ smooth**2)
    value = weight @ (smooth * ranks) / norm
    by_z = weight * (ranks - value * smooth / norm) / norm * np.exp(-z * z / 2) / np.sqrt(2 * np.pi)
    return value, (by_z - weight * by_z.sum() - weight * z * (by_z @ z)) / spread


def fit_race(table, train, start=None):
    """Log rates, log speed, crowd, and the line to log seconds."""
    base = np.concatenate([np.log(NOTICED), [np.log(SPEED)], CROWD])
    hold = np.concatenate([np.full(len(NOTICED), HOLD_RACE), np.ones(1 + len(CROWD))])
    targets = []
    for at, values, share in [(train, table.seconds, 1.0), (train[table.has[train]], table.relative, RELATIVE_SHARE)]:
        weight = np.sqrt(table.players[at])
        weight /= weight.sum()
        ranks = rankdata(values[at])
        ranks -= weight @ ranks
        targets.append((at, ranks / np.sqrt(weight @ ranks**2), weight, share * len(at)))

    def loss(p):
        total, lasts, rate, rates, speed = race(table, p)
        by_total, value = np.zeros(len(total)), 0.0
        for at, ranks, weight, size in targets:
            agree, by_log = agreement(np.log(total[at]), ranks, weight)
            value -= size * agree
            by_total[at] -= size * by_log / total[at]
        by_log = (table.sum.T @ by_total) * lasts
        gradient = np.concatenate([(table.views.T @ (-by_log * speed / rate)) * rates, [-(by_log @ np.log(rate)) * speed], table.log_crowd.T @ by_log])
        return value + (hold * (p - base) ** 2).sum(), gradient + 2 * hold * (p - base)

    p = minimize(loss, base if start is None else start[:-2], jac=True, method="L-BFGS-B", options=dict(maxiter=60)).x
    slope, first = np.polyfit(np.log(race(table, p)[0][train]), np.log(table.seconds[train]), 1, w=np.sqrt(table.players[train]))
    return np.concatenate([p, [first, slope]])


def predict_race(table, q):
    return q[-2] + q[-1] * np.log(race(table, q[:-2])[0])


def fit_effort(table, train, start=None):
    """Weights of the parts: minutes a unit, none negative, near JUDGED where walks say little."""
    parts, minutes = table.parts[train], table.seconds[train] / 60
    # Mean times of slow puzzles scatter more: relative errors are weighed.
    weight = np.sqrt(table.players[train] / table.players.mean()) / minutes
    scale = np.median(minutes) / np.median(parts @ JUDGED)
    hold = np.maximum(JUDGED, 0.05) * scale
    system = np.vstack([parts * weight[:, None], np.diag(HOLD_EFFORT / hold)])
    right = np.concatenate([minutes * weight, np.full(len(JUDGED), HOLD_EFFORT) * (JUDGED * scale / hold)])
    return lsq_linear(system, right, bounds=(0.2 * JUDGED * scale, 5 * np.maximum(JUDGED, 0.01) * scale)).x


def judge(name, table, fit, predict, whole):
    figures = []
    for seed in range(DRAWS):
        told = np.zeros(len(table.seconds))
        for test in table.folds(seed):
            train = np.setdiff1d(np.arange(len(told)), test)
            told[test] = predict(table, fit(table, train, whole))[test]
        figures.append((spearmanr(told[table.has], table.relative[table.has])[0], spearmanr(told, table.seconds)[0]))
    (relative, seconds), least, most = np.mean(figures, axis=0), np.min(figures, axis=0), np.max(figures, axis=0)
    print(f"{name}, {len(told)} puzzles in {FOLDS} folds, drawn {DRAWS} times: "
          f"Spearman with d_to {relative:.3f} ({least[0]:.3f} to {most[0]:.3f}), with mean_seconds {seconds:.3f} ({least[1]:.3f} to {most[1]:.3f})", file=sys.stderr)


def main():
    table = Table(*sys.argv[1:3])
    everything = np.arange(len(table.seconds))
    q, effort = fit_race(table, everything), fit_effort(table, everything)
    judge("minutes", table, fit_race, predict_race, q)
    judge("effort", table, fit_effort, lambda table, weights: table.parts @ weights, effort)
    effort *= 40 / np.median(table.parts @ effort)  # the middle puzzle of the table is 40
    kinds = len(NOTICED)
    numbers = lambda values: ", ".join(f"{value:.4f}" for value in values)
    print("//! Numbers fitted to people's times by `scripts/walk/fit.py`: run it again rather than change them here.\n")
    print(f"/// How readily each kind of `race.rs` is noticed.\npub(super) const RATES: [f64; {kinds}] = [{numbers(np.exp(q[:kinds]))}];\n")
    print(f"/// A moment lasts the product of crowd ** CROWD, over rate ** SPEED.\npub(super) const SPEED: f64 = {np.exp(q[kinds]):.4f};\n")
    print(f"/// See [`SPEED`].\npub(super) const CROWD: [f64; {len(CROWD)}] = [{numbers(q[kinds + 1 : -2])}];\n")
    print(f"/// The logarithm of people's seconds over the logarithm of the race: where the line starts, and its slope.\npub(super) const LINE: [f64; 2] = [{numbers(q[-2:])}];\n")
    print(f"/// What the parts of a step weigh, in the order of `effort::parts`; the middle puzzle of the table takes 40.\npub(super) const WEIGHTS: [f64; {len(effort)}] = [\n    {numbers(effort)},\n];")


if __name__ == "__main__":
    main()
