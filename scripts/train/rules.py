"""Fits anew, in place, the last layer by which each cell network tells other rules: `rules.py CELLS MODELS [MODELS_OUT [RARER]]`.

CELLS.bin, CELLS.fine.bin and CELLS.jsonl are drawn grids as `cut_cells ... fine` writes them. When lattices or cells are cut otherwise than before, what shows other
rules changes most (how lines look), and these few weights can follow in a minute without moving what the networks read. A logistic regression on the
layer before, held to the weights that it starts from. What `find` missed counts little: other tables are cut by lattices that it would not come upon.
RARER [0] nats are taken off the log odds in the end: other rules are rarer on pages than among the grids of CELLS.
"""

import json
import pathlib
import sys

import numpy as np
import onnx
import onnxruntime
from onnx import TensorProto, helper, numpy_helper
from scipy.optimize import minimize

from weights import load, save

SIDES = {"classify": 32, "second": 32, "third": 32, "fine": 48}
RULES = 8  # of the nine outputs `whole`
HOLD = 30  # how much a step away from the weights before costs
MISSED = 0.05  # the weight of tables and the like that `find` missed; drawn grids of ours that it missed have none


def features_of(model, layer, cells):
    """What the layer gets [grids, width + 1], the last a constant one."""
    probe = onnx.ModelProto()
    probe.CopyFrom(model)
    probe.graph.output.append(helper.make_tensor_value_info(layer.input[0], TensorProto.FLOAT, None))
    session = onnxruntime.InferenceSession(probe.SerializeToString())
    rows = [session.run([layer.input[0]], {"cells": grid[None].astype(np.float32) / 255 * np.float32([1.2, 1, 1])[:, None, None]})[0][0] for grid in cells]
    return np.c_[np.array(rows), np.ones(len(rows))].astype(float)


def loss(features, weights, truth):
    scores = features @ weights
    return np.logaddexp(0, scores) - truth * scores


def fit(features, truth, counts, start):
    def cost(weights):
        chances = 1 / (1 + np.exp(-(features @ weights)))
        value = counts @ loss(features, weights, truth) + HOLD * ((weights - start) ** 2).sum()
        return value, features.T @ (counts * (chances - truth)) + 2 * HOLD * (weights - start)

    return minimize(cost, start, jac=True, method="L-BFGS-B").x


def main(cells, models, out=None, rarer=0):
    rows = [json.loads(line) for line in pathlib.Path(cells + ".jsonl").read_text().splitlines()]
    truth = np.array([float(row["rules"] != "plain") for row in rows])
    counts = np.where([row.get("found", True) for row in rows], 1.0, MISSED * truth)
    for name, side in SIDES.items():
        model = load(pathlib.Path(models) / f"{name}.onnx")
        layer = next(node for node in model.graph.node if "whole" in node.output)
        assert layer.op_type == "Gemm" and any(each.name == "transB" and each.i for each in layer.attribute), "another layout of the last layer"
        parts = {each.name: each for each in model.graph.initializer}
        weights, level = (numpy_helper.to_array(parts[key]).copy() for key in layer.input[1:])
        pixels = np.fromfile(cells + (".fine.bin" if side == 48 else ".bin"), np.uint8).reshape(-1, 81, 3, side, side)
        features, start = features_of(model, layer, pixels), np.append(weights[RULES], level[RULES]).astype(float)
        fitted = fit(features, truth, counts, start)
        before, after = (counts @ loss(features, each, truth) / counts.sum() for each in (start, fitted))
        print(f"{name}: {len(truth)} grids, {truth.sum():.0f} of other rules; nats a grid {before:.4f}, fitted {after:.4f}")
        weights[RULES], level[RULES] = fitted[:-1], fitted[-1] - float(rarer)
        for key, value in zip(layer.input[1:], (weights, level)):
            parts[key].CopyFrom(numpy_helper.from_array(value, key))
        save(model, pathlib.Path(out or models) / f"{name}.onnx")


if __name__ == "__main__":
    main(*sys.argv[1:])
