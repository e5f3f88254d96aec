"""Fits how the choice of labels weighs its evidence: two logistic regressions on what `label_lines` printed, as constants for src/label/weigh.rs.

    cargo run --release --example label_lines -- models FOLDER... > lines.jsonl
    python3 scripts/label/fit_choice.py lines.jsonl
"""
import json
import sys

import numpy as np

RIDGE = 0.3     # on standardised weights


def fit(evidence, holds):
    """Weights and constant by Newton's method; evidence [n, k], holds [n] of 0 and 1."""
    mean, spread = evidence.mean(0), evidence.std(0) + 1e-6
    rows = np.c_[(evidence - mean) / spread, np.ones(len(evidence))]
    ridge = np.r_[np.full(evidence.shape[1], RIDGE), 1e-6]
    weights = np.zeros(rows.shape[1])
    for _ in range(50):
        said = 1 / (1 + np.exp(-rows @ weights))
        slope = rows.T @ (said - holds) + ridge * weights
        weights -= np.linalg.solve((rows.T * (said * (1 - said))) @ rows + np.diag(ridge), slope)
    said = 1 / (1 + np.exp(-rows @ weights))
    loss = -np.mean(np.where(holds > 0, np.log(said), np.log(1 - said)))
    print(f"// {len(rows)} lines, {holds.mean():.3f} hold, {loss:.3f} nats a line", file=sys.stderr)
    return weights[:-1] / spread, weights[-1] - (weights[:-1] * mean / spread).sum()


def constant(name, weights, rest):
    inside = ", ".join(f"{w:.2f}" for w in weights)
    print(f"const {name}: ([f32; {len(weights)}], f32) = ([{inside}], {rest:.2f});")


def main():
    rows = [json.loads(line) for path in sys.argv[1:] for line in open(path)]
    column = lambda rows, key: np.array([row[key] for row in rows], float)
    constant("LINE", *fit(column(rows, "of_line"), column(rows, "is_label")))
    labels = [row for row in rows if row["is_label"]]
    constant("READING", *fit(column(labels, "of_reading"), column(labels, "is_right")))


main()
