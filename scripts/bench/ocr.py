"""The whole job as a general script would do it: OpenCV finds and flattens the largest quadrangle, a neural OCR reads its cells.

It stands for time alone: it reads worse, tells print from handwriting not at all, and proves nothing. As the library comes, it sets each cell on a line 320 pixels
long; told that cells are square it takes an eighth of the time.
"""

import cv2
import numpy
from rapidocr_onnxruntime import RapidOCR

SIDE = 450
LINE, SQUARE = [3, 48, 320], [3, 48, 48]
engine = RapidOCR(intra_op_num_threads=1, inter_op_num_threads=1)


def lift(path, shape=LINE):
    """The 81 cells of the largest quadrangle as a line, '.' for none; None where there is no quadrangle. Each is set on an image of `shape`, channels first."""
    engine.text_rec.rec_image_shape = shape
    grey = cv2.imread(path, cv2.IMREAD_GRAYSCALE)
    ink = cv2.adaptiveThreshold(cv2.GaussianBlur(grey, (5, 5), 0), 255, cv2.ADAPTIVE_THRESH_MEAN_C, cv2.THRESH_BINARY_INV, 25, 8)
    outlines, _ = cv2.findContours(ink, cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_SIMPLE)
    quads = (cv2.approxPolyDP(o, 0.03 * cv2.arcLength(o, True), True) for o in sorted(outlines, key=cv2.contourArea, reverse=True)[:5])
    quad = next((q[:, 0].astype(numpy.float32) for q in quads if len(q) == 4), None)
    if quad is None:
        return None
    total, across = quad.sum(1), quad[:, 0] - quad[:, 1]
    corners = quad[[total.argmin(), across.argmax(), total.argmax(), across.argmin()]]
    square = numpy.float32([[0, 0], [SIDE, 0], [SIDE, SIDE], [0, SIDE]])
    flat = cv2.warpPerspective(grey, cv2.getPerspectiveTransform(corners, square), (SIDE, SIDE))
    step = SIDE // 9
    cells = [flat[r * step + 5 : (r + 1) * step - 5, c * step + 5 : (c + 1) * step - 5] for r in range(9) for c in range(9)]
    inked = [n for n, cell in enumerate(cells) if cell[8:-8, 8:-8].std() > 15]
    texts = engine.text_rec([cv2.cvtColor(cells[n], cv2.COLOR_GRAY2BGR) for n in inked])[0] if inked else []
    line = ["."] * 81
    for n, (text, *_) in zip(inked, texts):
        line[n] = text[:1] if text[:1].isdigit() else "?"
    return "".join(line)
