"""Networks in files of half the size: `weights.py NET.onnx... FOLDER` writes each into FOLDER with its weights as halves (IEEE 754 binary16).

Half precision rounds a weight by one part in 2,048 at most; all sums stay in single precision, since a Cast follows each weight in the graph.
"""
import pathlib
import sys

import numpy as np
import onnx
from onnx import TensorProto, helper, numpy_helper

LEAST = 256     # weights that a tensor must have to be worth a Cast
WIDE = ".wide"  # ends the names of weights after their Cast


def load(file):
    """The network in a file, all its weights in single precision."""
    model = onnx.load(file)
    graph = model.graph
    casts = {node.input[0]: node for node in graph.node if node.op_type == "Cast" and node.output[0] == node.input[0] + WIDE}
    for each in graph.initializer:
        if each.name in casts:
            each.CopyFrom(numpy_helper.from_array(numpy_helper.to_array(each).astype(np.float32), each.name))
    for node in graph.node:
        for k, name in enumerate(node.input):
            if name.endswith(WIDE):
                node.input[k] = name.removesuffix(WIDE)
    for node in casts.values():
        graph.node.remove(node)
    return model


def save(model, file):
    """Writes a network, its larger tensors of weights as halves."""
    halved = onnx.ModelProto()
    halved.CopyFrom(model)
    graph = halved.graph
    narrow = {each.name for each in graph.initializer if each.data_type == TensorProto.FLOAT and np.prod(each.dims) >= LEAST}
    for each in graph.initializer:
        if each.name in narrow:
            each.CopyFrom(numpy_helper.from_array(numpy_helper.to_array(each).astype(np.float16), each.name))
    for node in graph.node:
        for k, name in enumerate(node.input):
            if name in narrow:
                node.input[k] = name + WIDE
    nodes = [*(helper.make_node("Cast", [name], [name + WIDE], to=TensorProto.FLOAT) for name in sorted(narrow)), *graph.node]
    del graph.node[:]
    graph.node.extend(nodes)
    onnx.checker.check_model(halved)
    onnx.save(halved, file)


def main(*files, folder):
    for file in files:
        save(load(file), pathlib.Path(folder) / pathlib.Path(file).name)


if __name__ == "__main__":
    main(*sys.argv[1:-1], folder=sys.argv[-1])
