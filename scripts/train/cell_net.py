"""The network that reads the 81 cells of a grid together (see models/README.md)."""

import torch
from torch import nn
import torch.nn.functional as F

# `s`: struck out, or a letter: no digit that counts, and nothing printed is hidden. `x`: something lies over the cell.
CLASSES = [".", *"123456789", *(f"e{digit}" for digit in range(1, 10)), "m", "x", "s"]
POSES = ("0", "90", "180", "270", "mirrored 0", "mirrored 90", "mirrored 180", "mirrored 270")
# Side of the cells, widths of the stages that see, how often each looks again, width and number of the layers that compare: of classify.onnx, second.onnx,
# third.onnx and fine.onnx.
SIZES = {"first": (32, (20, 40, 80), 0, 128, 3), "second": (32, (16, 32, 64), 0, 96, 2), "third": (32, (20, 40, 80), 1, 128, 3),
         "fine": (48, (32, 64, 96, 128), 2, 160, 4)}


class Norm(nn.Module):
    """Layer normalisation out of plain operations, which every runtime knows."""

    def __init__(self, width):
        super().__init__()
        self.scale, self.shift = nn.Parameter(torch.ones(width)), nn.Parameter(torch.zeros(width))

    def forward(self, x):
        x = x - x.mean(-1, keepdim=True)
        return x * torch.rsqrt((x * x).mean(-1, keepdim=True) + 1e-5) * self.scale + self.shift


class Compare(nn.Module):
    """Cells attend to each other: what is print on *this* page is told by likeness. No cell knows its place, so no rule of the puzzle can be learnt."""

    def __init__(self, width, heads, hidden):
        super().__init__()
        self.heads = heads
        self.before, self.after = Norm(width), Norm(width)
        self.mix, self.out = nn.Linear(width, 3 * width), nn.Linear(width, width)
        self.rise, self.fall = nn.Linear(width, hidden), nn.Linear(hidden, width)

    def forward(self, x):
        count, cells, width = x.shape
        parts = self.mix(self.before(x)).view(count, cells, 3, self.heads, width // self.heads).permute(2, 0, 3, 1, 4)
        query, key, value = parts[0], parts[1], parts[2]
        share = torch.softmax(query @ key.transpose(-1, -2) * (width // self.heads) ** -0.5, -1)
        x = x + self.out((share @ value).transpose(1, 2).reshape(count, cells, width))
        return x + self.fall(F.relu(self.rise(self.after(x))))


def stage(before, after, stride):
    return nn.Sequential(nn.Conv2d(before, after, 3, stride=stride, padding=1, bias=False), nn.BatchNorm2d(after), nn.ReLU())


class Again(nn.Module):
    """Two more convolutions, added to what is there (He et al. 2016)."""

    def __init__(self, width):
        super().__init__()
        self.first = stage(width, width, 1)
        self.second = nn.Sequential(nn.Conv2d(width, width, 3, padding=1, bias=False), nn.BatchNorm2d(width))

    def forward(self, x):
        return F.relu(x + self.second(self.first(x)))


class CellNet(nn.Module):
    """Cells [N, 81, 3, S, S] to class logits [N, 81, 22], digit logits of marks [N, 81, 9] and grid logits [N, 9] (eight poses, other rules)."""

    def __init__(self, side, widths, again, width, layers):
        super().__init__()
        self.width = width
        stages = [[stage(before, after, 2)] + [Again(after) for _ in range(again)] for before, after in zip((3, *widths), widths)]
        self.eye = nn.Sequential(*(part for parts in stages for part in parts))
        self.flat = nn.Sequential(nn.Linear(widths[-1] * (side >> len(widths)) ** 2, width), nn.ReLU())
        self.compare = nn.ModuleList([Compare(width, 4, 2 * width) for _ in range(layers)])
        self.last = Norm(width)
        self.read = nn.Linear(width, len(CLASSES))
        self.marks = nn.Linear(width, 9)
        self.whole = nn.Sequential(nn.Linear(2 * width, width), nn.ReLU(), nn.Linear(width, len(POSES) + 1))

    def forward(self, cells):
        count = cells.shape[0]
        x = self.eye((cells.reshape(-1, *cells.shape[2:]) - 0.5) * 2.0)
        x = self.flat(x.reshape(-1, x.shape[1] * x.shape[2] * x.shape[3])).view(count, 81, self.width)
        for layer in self.compare:
            x = layer(x)
        x = self.last(x)
        whole = self.whole(torch.cat([x.mean(1), x.amax(1)], -1))
        return self.read(x), self.marks(x), whole
