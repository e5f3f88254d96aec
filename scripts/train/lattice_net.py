"""The network that marks the crossings of 9x9 grids on a shrunken page (see models/README.md)."""

import torch
from torch import nn
import torch.nn.functional as F

CHANNELS = ("crossing", "box crossing", "border crossing", "inside", "offset x", "offset y")
STRIDE = 4


class Block(nn.Module):
    """Depthwise then pointwise convolution with a residual: cheap on a CPU."""

    def __init__(self, width, dilation=1):
        super().__init__()
        self.depth = nn.Conv2d(width, width, 3, padding=dilation, dilation=dilation, groups=width, bias=False)
        self.norm = nn.BatchNorm2d(width)
        self.point = nn.Conv2d(width, width, 1, bias=False)
        self.out = nn.BatchNorm2d(width)

    def forward(self, x):
        return F.relu(x + self.out(self.point(F.relu(self.norm(self.depth(x))))))


def down(before, after, kernel=3):
    return nn.Sequential(nn.Conv2d(before, after, kernel, stride=2, padding=kernel // 2, bias=False), nn.BatchNorm2d(after), nn.ReLU())


class LatticeNet(nn.Module):
    """Luma [N, 1, H, W] (0 black to 1 white; H, W multiples of 32) to [N, 6, H/4, W/4]: four logits and two offsets in cells of the output."""

    def __init__(self):
        super().__init__()
        widths = (24, 40, 64, 96)
        self.stem = nn.Sequential(down(1, 8, 5), down(8, widths[0]))
        self.encode = nn.ModuleList([
            nn.Sequential(Block(24), Block(24)),
            nn.Sequential(down(24, 40), Block(40), Block(40), Block(40)),
            nn.Sequential(down(40, 64), Block(64), Block(64, 2), Block(64), Block(64, 2)),
            nn.Sequential(down(64, 96), Block(96), Block(96, 2), Block(96, 4), Block(96, 2), Block(96)),
        ])
        self.lateral = nn.ModuleList([nn.Conv2d(deep, shallow, 1) for shallow, deep in zip(widths, widths[1:])])
        self.decode = nn.ModuleList([nn.Sequential(Block(width), Block(width)) for width in widths[:-1]])
        self.head = nn.Conv2d(24, len(CHANNELS), 1)
        nn.init.constant_(self.head.bias, -3.0)
        with torch.no_grad():
            self.head.bias[4:] = 0.0

    def forward(self, x):
        x = self.stem((x - 0.5) * 4.0)
        seen = []
        for stage in self.encode:
            x = stage(x)
            seen.append(x)
        for level in (2, 1, 0):
            x = F.interpolate(self.lateral[level](x), scale_factor=2, mode="nearest")
            x = self.decode[level](x + seen[level])
        return self.head(x)
