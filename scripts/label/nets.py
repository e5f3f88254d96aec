"""The two networks of labels (see models/README.md): where the label of a grid stands, and what a line of text says."""
import torch
import torch.nn.functional as F
from torch import nn

from lines import ALPHABET

TURNS = (0, 90, 270)


class Block(nn.Module):
    """Depthwise then pointwise convolution with a residual."""

    def __init__(self, width, kernel=3, dilation=1):
        super().__init__()
        sides = (kernel, kernel) if isinstance(kernel, int) else kernel
        dilation = (dilation, dilation) if isinstance(dilation, int) else dilation
        padding = tuple(k // 2 * d for k, d in zip(sides, dilation))
        self.depth = nn.Conv2d(width, width, sides, padding=padding, dilation=dilation, groups=width, bias=False)
        self.norm = nn.BatchNorm2d(width)
        self.point = nn.Conv2d(width, width, 1, bias=False)
        self.out = nn.BatchNorm2d(width)

    def forward(self, x):
        return F.relu(x + self.out(self.point(F.relu(self.norm(self.depth(x))))))


def whole(before, after, stride):
    return nn.Sequential(nn.Conv2d(before, after, 3, stride=stride, padding=1, bias=False), nn.BatchNorm2d(after), nn.ReLU())


def down(before, after, stride):
    return nn.Sequential(nn.Conv2d(before, before, 3, stride=stride, padding=1, groups=before, bias=False), nn.BatchNorm2d(before), nn.ReLU(),
                         nn.Conv2d(before, after, 1, bias=False), nn.BatchNorm2d(after), nn.ReLU())


class PlaceNet(nn.Module):
    """Surroundings [N, 1, 224, 224], evened (0.5 is the mean around), to [N, 7, 56, 56]: logits of a label that reads to the right,
    downwards or upwards standing there, and the distances to its left, top, right and bottom in cells."""

    def __init__(self):
        super().__init__()
        self.stem = nn.Sequential(whole(1, 8, 2), down(8, 24, 2), Block(24))
        self.mid = nn.Sequential(down(24, 48, 2), Block(48), Block(48, dilation=2))
        self.deep = nn.Sequential(down(48, 72, 2), Block(72), Block(72, dilation=2), Block(72, dilation=4), Block(72, dilation=2), Block(72))
        self.from_deep = nn.Conv2d(72, 48, 1)
        self.from_mid = nn.Conv2d(48, 24, 1)
        self.mid_up = Block(48)
        self.up = nn.Sequential(Block(24), Block(24))
        self.head = nn.Conv2d(24, 7, 1)
        nn.init.constant_(self.head.bias, 0.5)
        with torch.no_grad():
            self.head.bias[:3] = -4.0

    def forward(self, x):
        fine = self.stem((x - 0.5) * 4.0)
        mid = self.mid(fine)
        deep = self.deep(mid)
        mid = self.mid_up(mid + F.interpolate(self.from_deep(deep), scale_factor=2, mode="nearest"))
        fine = self.up(fine + F.interpolate(self.from_mid(mid), scale_factor=2, mode="nearest"))
        return self.head(fine)


class TextNet(nn.Module):
    """A line of text [N, 1, 32, W] (0 mean, spread 1) to log probabilities [N, W/4, 1 + len(ALPHABET)], the first of them CTC's blank. Each step
    sees 36 steps around, some 7 characters."""

    def __init__(self):
        super().__init__()
        self.body = nn.Sequential(
            whole(1, 24, 2), whole(24, 48, 2), Block(48),
            down(48, 96, (2, 1)), Block(96), Block(96),
            nn.Conv2d(96, 160, (4, 1), bias=False), nn.BatchNorm2d(160), nn.ReLU(),
            Block(160, (1, 7)), Block(160, (1, 7), (1, 2)), Block(160, (1, 7)), Block(160, (1, 7), (1, 2)))
        self.drop = nn.Dropout(0.1)
        self.head = nn.Conv2d(160, 1 + len(ALPHABET), 1)

    def forward(self, x):
        return F.log_softmax(self.head(self.drop(self.body(x)))[:, :, 0].transpose(1, 2), -1)


def evened(x, reach=24):
    """Surroundings [N, 1, H, W], 0 to 1, against the mean and spread of the pixels around, as `even` of src/decode/even.rs."""
    def mean(values, axis):
        count = values.shape[axis]
        sums = F.pad(values.cumsum(axis), (1, 0) if axis == 3 else (0, 0, 1, 0))
        at = torch.arange(count, device=x.device)
        low, high = (at - reach).clamp_min(0), (at + reach + 1).clamp_max(count)
        shape = [1, 1, 1, 1]
        shape[axis] = count
        return (sums.index_select(axis, high) - sums.index_select(axis, low)) / (high - low).view(shape)

    x = x.float()
    middle = mean(mean(x, 3), 2)
    spread = (mean(mean(x * x, 3), 2) - middle * middle).clamp_min(0).sqrt()
    return ((x - middle) / (spread + 0.02) / 6 + 0.5).clamp(0, 1)
