"""The mean of two networks' weights: `blend.py BEFORE.onnx AFTER.onnx OUT.onnx [SHARE of AFTER, 0.5]`.

A network that went on training on something new, and for a short time, forgets some of what it knew; its mean with what it was before keeps both
(Wortsman et al. 2022, "Robust fine-tuning of zero-shot models"). Both files must be exports of one network, one trained on from the other.
"""
import sys

from onnx import numpy_helper

import weights


def main(before, after, out, share=0.5):
    model, other = weights.load(before), weights.load(after)
    # Names that the exporter made up differ from one version to the next; what is done with the weights doesn't.
    layers = [[node.op_type for node in each.graph.node if node.op_type in ("Conv", "Gemm", "MatMul")] for each in (model, other)]
    assert layers[0] == layers[1], "not the same network"
    pairs = list(zip(model.graph.initializer, other.graph.initializer, strict=True))
    for mine, theirs in pairs:
        assert mine.dims == theirs.dims, f"{mine.name} and {theirs.name}: not the same network"
        a, b = numpy_helper.to_array(mine), numpy_helper.to_array(theirs)
        if a.dtype.kind == "f":
            mine.CopyFrom(numpy_helper.from_array(((1 - share) * a + share * b).astype(a.dtype), mine.name))
    weights.save(model, out)


if __name__ == "__main__":
    main(*sys.argv[1:4], *map(float, sys.argv[4:5]))
