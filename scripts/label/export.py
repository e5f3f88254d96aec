"""Writes a trained network as ONNX: `export.py place|text FILE.pt FILE.onnx`."""
import sys

import torch

import frame
from nets import PlaceNet, TextNet


def main():
    kind, weights, out = sys.argv[1:]
    net = (PlaceNet if kind == "place" else TextNet)()
    net.load_state_dict(torch.load(weights, map_location="cpu"))
    net.eval()
    shape = (1, 1, frame.SIDE, frame.SIDE) if kind == "place" else (1, 1, frame.STRIP, 128)
    axes = {"input": {0: "count"}, "output": {0: "count"}} if kind == "place" else {"input": {0: "count", 3: "width"}, "output": {0: "count", 1: "steps"}}
    torch.onnx.export(net, torch.zeros(shape), out, input_names=["input"], output_names=["output"], opset_version=17, dynamo=False, dynamic_axes=axes)


if __name__ == "__main__":
    main()
