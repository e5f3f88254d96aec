"""Weights to go on training from, out of a .pt file or of an ONNX file, in which batch normalisation is folded into the convolutions."""

import torch
from torch import nn


def take_over(net, file, example):
    """Gives `net` the weights of `file`. `example` is an input like those of training: batch normalisation starts from its statistics."""
    if not file.endswith(".onnx"):
        net.load_state_dict(torch.load(file, map_location=example.device))
        return
    from onnx import numpy_helper

    from weights import load

    graph = load(file).graph
    values = {each.name: torch.from_numpy(numpy_helper.to_array(each).copy()) for each in graph.initializer}
    # In the order in which they run; MatMul holds a linear layer's weights transposed, Gemm as they are.
    layers = [(node.op_type == "MatMul", [values[name] for name in node.input[1:] if name in values])
              for node in graph.node if node.op_type in ("Conv", "Gemm", "MatMul")]
    layers = iter([(transposed, parts) for transposed, parts in layers if parts])
    named = dict(net.named_parameters())
    def as_many(wanted, known):
        """An output that the file doesn't know begins as its last."""
        return torch.cat([known, known[-1:].expand(len(wanted) - len(known), *known.shape[1:])])

    for name, value in values.items():
        if name in named:
            named[name].data.copy_(as_many(named[name], value))

    def fill(layer, _):
        transposed, parts = next(layers)
        layer.weight.data.copy_(as_many(layer.weight, parts[0].T if transposed else parts[0]))
        if layer.bias is not None and len(parts) > 1:
            layer.bias.data.copy_(as_many(layer.bias, parts[1]))
        fill.bias = parts[1] if len(parts) > 1 else None

    def unfold(norm, inputs):
        """Statistics and gains that leave what the folded layer gave as it was."""
        x = inputs[0].float()
        mean, spread = x.mean((0, 2, 3)), x.var((0, 2, 3), unbiased=False)
        norm.running_mean.copy_(mean)
        norm.running_var.copy_(spread)
        norm.weight.data.copy_((spread + norm.eps).sqrt())
        norm.bias.data.copy_(mean + fill.bias.to(mean.device))

    hooks = [m.register_forward_pre_hook(unfold if isinstance(m, nn.BatchNorm2d) else fill) for m in net.modules()
             if isinstance(m, (nn.Conv2d, nn.Linear, nn.BatchNorm2d))]
    net.eval()
    with torch.no_grad():
        net(example)
    for hook in hooks:
        hook.remove()
    net.train()
    assert next(layers, None) is None, f"{file} is of another network"
