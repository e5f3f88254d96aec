"""What another runtime makes of the bundled networks: `expect.py > tests/data/networks.json` (pip install onnxruntime==1.32.0).

For each network of models/ the shape of an input whose i-th value is (7919 i mod 1000) / 1000, and of each output its shape and up to 40 values, evenly
spaced. src/net holds its own runtime against them.
"""
import json
import pathlib

import numpy as np
import onnxruntime

MODELS = pathlib.Path(__file__).parent.parent.parent / "models"
SHAPES = {"find": (1, 1, 96, 128), "classify": (1, 81, 3, 32, 32), "second": (1, 81, 3, 32, 32), "third": (1, 81, 3, 32, 32), "fine": (1, 81, 3, 48, 48), "alike": (5, 3, 48, 48),
          "label_place": (1, 1, 224, 224), "label_text": (1, 1, 32, 96)}


def main():
    networks = []
    for name, shape in SHAPES.items():
        session = onnxruntime.InferenceSession(MODELS / f"{name}.onnx", providers=["CPUExecutionProvider"])
        values = (np.arange(np.prod(shape), dtype=np.int64) * 7919 % 1000 / 1000).astype(np.float32).reshape(shape)
        outputs = session.run(None, {session.get_inputs()[0].name: values})
        outputs = [{"shape": output.shape, "every": max(1, output.size // 40), "values": [round(float(v), 4) for v in output.flat[:: max(1, output.size // 40)]]} for output in outputs]
        networks.append({"network": name, "input": shape, "outputs": outputs})
    print("[" + ",\n".join(json.dumps(network) for network in networks) + "]")


if __name__ == "__main__":
    main()
