"""Writes a trained label network as ONNX."""
import torch

import frame


def export(net, kind, out):
    """`net` is of the kind "place" or "text", on the CPU and set to run."""
    shape = (1, 1, frame.SIDE, frame.SIDE) if kind == "place" else (1, 1, frame.STRIP, 128)
    axes = {"input": {0: "count"}, "output": {0: "count"}} if kind == "place" else {"input": {0: "count", 3: "width"}, "output": {0: "count", 1: "steps"}}
    torch.onnx.export(net, torch.zeros(shape), out, input_names=["input"], output_names=["output"], opset_version=17, dynamo=False, dynamic_axes=axes)
