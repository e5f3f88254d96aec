"""Trains the cell network: python3 scripts/train/classify.py --cells DIR --out models/classify.onnx

DIR holds NAME.bin (u8 [grids, 81, 3, 32, 32], upright as printed; for the size `fine` NAME.fine.bin with 48x48) beside NAME.jsonl (one truth a
grid) as `cargo run --release --example cut_cells` writes them; it may still be growing while training runs. Files named photo* are the real photographs: they are drawn more often.
Runs on a GPU where there is one.
"""

import argparse
import copy
import json
import pathlib
import time

import numpy as np
import torch
import torch.nn.functional as F

from cell_net import CLASSES, SIZES, CellNet
from take_over import take_over

INDEX = {name: i for i, name in enumerate(CLASSES)}
UNKNOWN = -100  # what cross_entropy leaves out


class Pool:
    """Up to `room` grids on the device: cells u8, classes, marks, other rules. When it is full, new ones take the place of the oldest."""

    def __init__(self, room, device, side):
        self.room, self.size, self.next = room, 0, 0
        self.parts = [torch.empty(room, 81, 3, side, side, dtype=torch.uint8, device=device), torch.empty(room, 81, dtype=torch.long, device=device),
                      torch.empty(room, 81, 9, device=device), torch.empty(room, device=device)]

    def add(self, rows):
        at = (self.next + torch.arange(len(rows[0]))) % self.room
        for part, row in zip(self.parts, rows):
            part[at.to(part.device)] = row.to(part.device)
        self.next = (self.next + len(rows[0])) % self.room
        self.size = min(self.room, self.size + len(rows[0]))

    def draw(self, count, rng):
        index = torch.from_numpy(rng.integers(0, self.size, count)).to(self.parts[0].device)
        return [part[index] for part in self.parts]


class Store:
    """The grids of a folder that may still be growing: drawn ones and photographs."""

    def __init__(self, root, device, room, side):
        self.root, self.seen, self.side = pathlib.Path(root), set(), side
        self.pools = {"drawn": Pool(room, device, side), "photo": Pool(500, device, side)}

    def refill(self):
        for file in sorted(self.root.glob("*.jsonl")):
            if file in self.seen:
                continue
            self.seen.add(file)
            lines = [json.loads(line) for line in file.read_text().splitlines()]
            if not lines:
                continue
            pixels = np.fromfile(file.with_suffix(".bin" if self.side == 32 else ".fine.bin"), np.uint8)
            cells = torch.from_numpy(pixels.reshape(len(lines), 81, 3, self.side, self.side))
            # Of what is no grid of ours nothing is told cell by cell.
            labels = torch.tensor([[INDEX[name] for name in line["cells"]] if line["cells"] else [UNKNOWN] * 81 for line in lines])
            marks = torch.zeros(len(lines), 81, 9)
            for n, line in enumerate(lines):
                for mark in line.get("marks", []):
                    row, column = int(mark["cell"][1]) - 1, int(mark["cell"][3]) - 1
                    for digit in mark["digits"]:
                        marks[n, row * 9 + column, digit - 1] = 1
            rules = torch.tensor([float(line.get("rules", "plain") != "plain") for line in lines])
            self.pools["photo" if file.stem.startswith("photo") else "drawn"].add([cells, labels, marks, rules])

    def sizes(self):
        return {kind: pool.size for kind, pool in self.pools.items()}

    def draw(self, count, photos, rng):
        wanted = (("drawn", count - photos), ("photo", photos))
        picked = [self.pools[kind].draw(number, rng) for kind, number in wanted if number and self.pools[kind].size]
        return [torch.cat(part) for part in zip(*picked)]


def blurred(cells, sigma):
    """Cells [N, 81, C, S, S], each grid blurred by its own `sigma` [N], in samples of 32 a cell; beyond its rim a cell is as at its rim."""
    side = cells.shape[-1]
    reach = 3 * side // 32
    taps = torch.arange(-reach, reach + 1, device=cells.device)
    weights = torch.exp(-((taps * (32 / side)) ** 2) / (2 * sigma.clamp_min(0.05)[:, None] ** 2))
    weights = weights / weights.sum(1, keepdim=True)
    # One matrix a grid: far quicker than a convolution of its own for each.
    at = (torch.arange(side, device=cells.device)[:, None] + taps).clamp(0, side - 1)
    matrix = torch.zeros(len(cells), side, side, device=cells.device)
    matrix.scatter_add_(2, at.expand(len(cells), -1, -1), weights[:, None].expand(-1, side, -1))
    matrix = matrix[:, None, None]
    return matrix @ cells @ matrix.transpose(-1, -2)


def spots(side, device):
    """Where a cell's samples lie [1, S, S, 2], right of and below its middle, in samples of 32 a cell."""
    axis = (torch.arange(side, device=device) + 0.5) * (32 / side) - 16
    y, x = torch.meshgrid(axis, axis, indexing="ij")
    return torch.stack([x, y], -1)[None]


def places(side, device):
    """In cells from the grid's top left corner: where each cell's samples lie [1, 81, S, S, 2], and the 9 probes that generate.py sets in each [1, 81, 9, 2]."""
    place = torch.arange(81, device=device)
    corner = torch.stack([place % 9, place // 9], -1).float()
    probe = torch.tensor([[x, y] for y in (0.25, 0.5, 0.75) for x in (0.25, 0.5, 0.75)], device=device)
    return corner.view(1, 81, 1, 1, 2) + 0.5 + spots(side, device)[:, None] / 25, corner.view(1, 81, 1, 2) + probe


def from_stroke(spot, middle, half):
    """Distance [N, S, S] of each spot from strokes about `middle` [N, 2] that reach `half` [N, 2] to either side."""
    away, half = spot - middle[:, None, None], half[:, None, None]
    along = ((away * half).sum(-1) / (half * half).sum(-1)).clamp(-1, 1)
    return (away - along[..., None] * half).norm(dim=-1)


class Bank:
    """Prints and writes on the cells of grids, so that far more fonts meet far more hands than pages can be drawn for."""

    def __init__(self, file, device):
        data = np.load(file)
        self.alpha, self.samples, self.glyphs = (torch.from_numpy(data[name]).to(device) for name in ("alpha", "samples", "glyphs"))
        digits = torch.from_numpy(data["digits"].astype(np.int64))
        # Samples lie sorted by their digit: where each digit's begin, and how many there are.
        self.count = torch.bincount(digits, minlength=10)[1:].to(device)
        self.first = torch.cumsum(self.count, 0) - self.count
        red, green, blue = torch.from_numpy(data["ink"].astype(np.float32)).to(device).T / 255
        luma = 0.299 * red + 0.587 * green + 0.114 * blue
        self.ink = torch.stack([luma, 0.5 + 0.564 * (blue - luma) * 2, 0.5 + 0.713 * (red - luma) * 2], -1).clamp(0, 1)

    def print(self, cells, labels, rules, generator):
        """Sets a third of the plain grids anew, in place: one font, one ink, on what their own empty cells show of paper and lines."""
        device, side = cells.device, cells.shape[-1]

        def uniform(shape, low, high):
            return torch.rand(shape, generator=generator, device=device) * (high - low) + low

        def normal(shape):
            return torch.randn(shape, generator=generator, device=device)

        empty = labels == INDEX["."]
        chosen = torch.nonzero((empty.sum(1) >= 12) & (rules == 0) & (uniform(len(cells), 0, 1) < 0.35))[:, 0]
        count = len(chosen)
        if count == 0:
            return
        ground = torch.multinomial(empty[chosen].float(), 81, replacement=True, generator=generator)
        ground = torch.gather(cells[chosen], 1, ground[:, :, None, None, None].expand(-1, -1, *cells.shape[2:]))
        kind = uniform((count, 1), 0, 1)
        share = torch.where(kind < 0.05, torch.ones_like(kind), torch.where(kind < 0.2, uniform((count, 1), 0.45, 0.8), uniform((count, 1), 0.2, 0.45)))
        digit = torch.randint(1, 10, (count, 81), generator=generator, device=device)
        digit = torch.where(uniform((count, 81), 0, 1) < share, digit, torch.zeros_like(digit))
        font, second = (torch.randint(0, len(self.glyphs), (count, 1), generator=generator, device=device) for _ in range(2))
        # Solutions may show what was given in a second face.
        font = torch.where((share == 1) & (uniform((count, 1), 0, 1) < 0.4) & (uniform((count, 81), 0, 1) < 0.6), second, font)
        glyph = self.glyphs[font, (digit - 1).clamp_min(0)].reshape(-1, 1, *self.glyphs.shape[2:]).float() / 255
        # In units of the whole picture: digits take 30 of 48 parts in the bank, a cell 25 of 32. Drawn at twice the size, since shrinking so far would alias.
        size = 25 / 30 * torch.where(uniform((count, 1), 0, 1) < 0.6, uniform((count, 1), 0.48, 0.66), uniform((count, 1), 0.26, 0.88))
        width = size * torch.where(uniform((count, 1), 0, 1) < 0.3, uniform((count, 1), 0.78, 1.15), torch.ones_like(size))
        shift = (normal((count, 1, 2)) * 0.08 * (uniform((count, 1, 1), 0, 1) < 0.4) + normal((count, 81, 2)) * 0.02 * uniform((count, 1, 1), 0, 1)) * 25 / 24
        zero = torch.zeros_like(size)
        theta = torch.stack([torch.stack([16 / 24 / width, zero, zero], -1), torch.stack([zero, 16 / 24 / size, zero], -1)], -2).expand(-1, 81, -1, -1).clone()
        theta[..., 2] = shift / torch.stack([width, size], -1)
        alpha = F.grid_sample(glyph, F.affine_grid(theta.reshape(-1, 2, 3), (count * 81, 1, 2 * side, 2 * side), align_corners=False), align_corners=False)
        alpha = F.avg_pool2d(alpha, 2).view(count, 81, 1, side, side)
        alpha = blurred(alpha, uniform(count, 0.05, 1.1)).clamp(0, 1) ** torch.exp(normal((count, 1, 1, 1, 1)) * 0.3)
        alpha = alpha * uniform((count, 1, 1, 1, 1), 0.75, 1.0) * (digit > 0)[..., None, None, None]
        ink = torch.full((count, 3), 0.5, device=device)
        ink[:, 0] = uniform(count, 0, 1) ** 2 * 0.4
        ink[:, 1:] += normal((count, 2)) * 0.25 * (uniform((count, 1), 0, 1) < 0.15)
        # Some printers tint the cells of the givens, or print them light on dark.
        behind = (digit > 0) & (uniform((count, 1), 0, 1) < 0.12)
        tint = torch.cat([uniform((count, 1), 0.55, 0.97), 0.5 + normal((count, 2)) * 0.08], -1)
        is_dark = uniform((count, 1), 0, 1) < 0.35
        tint = torch.where(is_dark, torch.cat([uniform((count, 1), 0, 0.35), tint[:, 1:]], -1), tint)
        ink = torch.where(is_dark & behind.any(1, keepdim=True), torch.cat([uniform((count, 1), 0.8, 1.0), ink[:, 1:]], -1), ink)
        within = (spots(side, device).abs().amax(-1) < uniform((count, 1, 1), 11.5, 13))[:, None, None] & behind[..., None, None, None]
        ground = torch.where(within, tint.view(-1, 1, 3, 1, 1).clamp(0, 1), ground)
        cells[chosen] = ground * (1 - alpha) + ink.clamp(0, 1).view(-1, 1, 3, 1, 1) * alpha
        labels[chosen] = digit

    def write(self, cells, labels, generator):
        """Fills empty cells of two in five of the grids without entries, in place: by one writer, or with scans of many hands in one ink."""
        device, side = cells.device, cells.shape[-1]

        def uniform(shape, low, high):
            return torch.rand(shape, generator=generator, device=device) * (high - low) + low

        empty = labels == INDEX["."]
        clean = ((labels >= 1) & (labels <= 9) | empty).all(1) & (empty.sum(1) >= 20)
        chosen = clean & (uniform(len(cells), 0, 1) < 0.4)
        # Nearly all, some, or a digit or two, which are the hardest to tell from print.
        kind = uniform(len(cells), 0, 1)
        share = torch.where(kind < 0.4, torch.ones_like(kind), torch.where(kind < 0.75, uniform(len(cells), 0.1, 1), uniform(len(cells), 0.01, 0.12)))
        grid, cell = torch.nonzero(empty & chosen[:, None] & (uniform(labels.shape, 0, 1) <= share[:, None]), as_tuple=True)
        if len(grid) == 0:
            return
        writer = torch.randint(0, len(self.alpha), (len(cells),), generator=generator, device=device)[grid]
        digit = torch.randint(0, 9, (len(grid),), generator=generator, device=device)
        take = torch.randint(0, 4, (len(grid),), generator=generator, device=device)
        scraps = (uniform(len(cells), 0, 1) < 0.35)[grid]
        scan = self.first[digit] + (uniform(len(grid), 0, 1) * self.count[digit]).long().clamp_max(self.count[digit] - 1)
        scans, strokes = self.samples[scan][:, None].float() / 255, self.alpha[writer, digit, take][:, None].float() / 255
        scans, strokes = (F.interpolate(each, (side, side), mode="bilinear", antialias=each.shape[-1] > side) for each in (scans, strokes))
        alpha = torch.where(scraps.view(-1, 1, 1, 1), scans, strokes)
        contrast = uniform(len(cells), 1, 3)[grid].view(-1, 1, 1, 1)
        alpha = torch.where(scraps.view(-1, 1, 1, 1), ((alpha - 0.5) * contrast + 0.5).clamp(0, 1), alpha)
        size = torch.exp(torch.randn(len(grid), generator=generator, device=device) * 0.08)
        size = size * torch.where(scraps, uniform(len(cells), 0.4, 1.05)[grid], torch.exp(uniform(len(cells), -0.25, 0.25))[grid])
        tilt = torch.randn(len(grid), generator=generator, device=device) * 0.06
        shift = torch.randn((len(grid), 2), generator=generator, device=device) * 0.09 * uniform(len(cells), 0.2, 1.2)[grid][:, None]
        shift = shift + (torch.randn((len(cells), 2), generator=generator, device=device) * 0.1)[grid]
        theta = torch.stack([torch.stack([torch.cos(tilt) / size, -torch.sin(tilt) / size, shift[:, 0] / size], -1),
                             torch.stack([torch.sin(tilt) / size, torch.cos(tilt) / size, shift[:, 1] / size], -1)], 1)
        alpha = F.grid_sample(alpha, F.affine_grid(theta, alpha.shape, align_corners=False), align_corners=False)
        # A light press shows less; ink is told against the darkest print, which lies at 0.
        ink = self.ink[writer].clone()
        ink[scraps] = self.ink[torch.randint(0, len(self.ink), (len(cells),), generator=generator, device=device)[grid]][scraps]
        ink[:, 0] = ink[:, 0] * uniform(len(cells), 0.3, 1.0)[grid]
        # A hand presses now more, now less: a stroke is the broader for it, and the darker.
        uneven = (uniform(len(cells), 0, 1) < 0.4) * uniform(len(cells), 0, 1)
        press = torch.randn(len(grid), generator=generator, device=device) * uneven[grid]
        alpha = alpha ** torch.exp(-0.4 * press).view(-1, 1, 1, 1)
        alpha = alpha * (uniform(len(cells), 0.6, 1.0)[grid] * torch.exp(0.25 * press)).clamp_max(1).view(-1, 1, 1, 1)
        cells[grid, cell] = cells[grid, cell] * (1 - alpha) + ink.view(-1, 3, 1, 1) * alpha
        labels[grid, cell] = digit + 10

    def cover(self, cells, alpha, grid, cell, generator):
        """Lays a pen's ink on some cells, in place, as `alpha` [count, S, S] says; one ink for each grid."""
        ink = self.ink[torch.randint(0, len(self.ink), (len(cells),), generator=generator, device=cells.device)[grid]].clone()
        ink[:, 0] = ink[:, 0] * (torch.rand(len(cells), generator=generator, device=cells.device) * 0.7 + 0.3)[grid]
        cells[grid, cell] = cells[grid, cell] * (1 - alpha[:, None]) + ink.view(-1, 3, 1, 1) * alpha[:, None]

    def scribble(self, cells, labels, generator):
        """Hides a cell or two of one grid in twelve under a pen's zigzag, in place: mostly writing or nothing, which is struck out then, seldom print, of which
        nothing can be told."""
        device, side = cells.device, cells.shape[-1]

        def uniform(shape, low, high):
            return torch.rand(shape, generator=generator, device=device) * (high - low) + low

        def normal(shape):
            return torch.randn(shape, generator=generator, device=device)

        printed = (labels >= 1) & (labels <= 9)
        share = uniform((len(cells), 1), 0, 0.04) * (uniform((len(cells), 1), 0, 1) < 0.08)
        grid, cell = torch.nonzero((labels != UNKNOWN) & (uniform(labels.shape, 0, 1) < share * torch.where(printed, 0.4, 1.0)), as_tuple=True)
        count, bends = len(grid), 14
        if count == 0:
            return
        along = torch.linspace(-0.5, 0.5, bends, device=device) + normal((count, bends)) * 0.03
        across = torch.where(torch.arange(bends, device=device) % 2 == 1, -0.45, 0.45) + normal((count, bends)) * 0.06
        angle = uniform((count, 1), -0.7, 0.7)
        size = 26 * uniform((count, 1), 0.5, 0.95)
        points = torch.stack([along * torch.cos(angle) - across * torch.sin(angle), along * torch.sin(angle) + across * torch.cos(angle)], -1) * size[..., None]
        points = points + normal((count, 1, 2)) * 1.5
        spot, distance = spots(side, device), torch.full((count, side, side), 99.0, device=device)
        for begin, end in zip(points.unbind(1), points.unbind(1)[1:]):
            distance = torch.minimum(distance, from_stroke(spot, (begin + end) / 2, (end - begin) / 2))
        width = size[..., None] * uniform((count, 1, 1), 0.025, 0.07)
        alpha = torch.sigmoid((width - distance) * 2.5) * uniform((len(cells), 1, 1), 0.7, 1.0)[grid]
        self.cover(cells, alpha, grid, cell, generator)
        labels[grid, cell] = torch.where(printed[grid, cell], INDEX["x"], INDEX["s"])

    def strike(self, cells, labels, generator):
        """Draws a pen's line, cross or ring over one in ten of the printed digits of a third of the grids, in place: they stay what they are."""
        device = cells.device

        def uniform(shape, low, high):
            return torch.rand(shape, generator=generator, device=device) * (high - low) + low

        share = uniform((len(cells), 1), 0, 0.2) * (uniform((len(cells), 1), 0, 1) < 0.35)
        grid, cell = torch.nonzero((labels >= 1) & (labels <= 9) & (uniform(labels.shape, 0, 1) < share), as_tuple=True)
        count = len(grid)
        if count == 0:
            return
        spot = spots(cells.shape[-1], device)

        def line(angle):
            """Distance [count, S, S] from a stroke through about the cell's middle, in samples of 32 a cell."""
            middle = torch.randn((count, 2), generator=generator, device=device) * 1.2
            half = uniform((count, 1), 5, 13) * torch.stack([torch.cos(angle), torch.sin(angle)], -1)
            return from_stroke(spot, middle, half)

        kind = uniform((count, 1, 1), 0, 1)
        tilt = torch.randn(count, generator=generator, device=device) * 0.25
        level = uniform(count, 0, 1) < 0.4
        first = line(torch.where(level, tilt * 0.6, -0.8 + tilt))
        second = torch.minimum(first, line(0.8 + tilt))
        round_ = ((spot - torch.randn((count, 1, 1, 2), generator=generator, device=device)).norm(dim=-1) - uniform((count, 1, 1), 8.5, 13)).abs()
        distance = torch.where(kind < 0.5, first, torch.where(kind < 0.75, second, round_))
        alpha = torch.sigmoid((uniform((len(cells), 1, 1), 0.5, 1.6)[grid] - distance) * 2.5) * uniform((len(cells), 1, 1), 0.6, 1.0)[grid]
        self.cover(cells, alpha, grid, cell, generator)


def lay(cells, labels, generator):
    """Lays a pen, a finger, a slip of paper or a coin over one grid in eight, in place. Of a cell at which 4 of the 9 probes that generate.py sets lie under it,
    nothing can be told any more."""
    device, side = cells.device, cells.shape[-1]
    chosen = torch.nonzero((labels[:, 0] != UNKNOWN) & (torch.rand(len(cells), generator=generator, device=device) < 0.12))[:, 0]
    count = len(chosen)
    if count == 0:
        return

    def uniform(low, high, *shape):
        return torch.rand((count, *shape), generator=generator, device=device) * (high - low) + low

    def pick(*values):
        """One of some values for each kind of thing."""
        return torch.stack(values)[kind, torch.arange(count, device=device)]

    # Everything in cells, from the grid's top left corner.
    kind = torch.multinomial(torch.tensor([0.4, 0.2, 0.3, 0.1], device=device), count, replacement=True, generator=generator)
    angle, tip = uniform(0, 2 * np.pi), uniform(-0.5, 9.5, 2)
    way = torch.stack([torch.cos(angle), torch.sin(angle)], -1)
    one = torch.ones(count, device=device)
    long = pick(one * 30, one * 30, uniform(0.4, 3), one * 0.01)
    wide = pick(uniform(0.1, 0.5), uniform(0.5, 1.6), uniform(0.3, 2.5), uniform(0.4, 1.3))
    taper = pick(uniform(0.5, 6), one * 0.01, one * 0.01, one * 0.01)

    def under(points):
        """How far points [count, ..., 2] lie inside the thing, and how far across it."""
        away = points - tip.view(count, *[1] * (points.dim() - 2), 2)
        shaped = [each.view(count, *[1] * (points.dim() - 2)) for each in (way[:, 0], way[:, 1], long, wide, taper, kind)]
        x, y, reach, half, point, what = shaped
        behind, across = -(away[..., 0] * x + away[..., 1] * y), away[..., 1] * x - away[..., 0] * y
        slip = torch.minimum(half - across.abs(), torch.minimum(behind, reach - behind))
        nib = half * (behind / (point * half)).clamp(0, 1) - across.abs()
        nib = torch.minimum(nib, behind)
        # Round in front: a finger; round all over, since it has no length: a coin.
        end = behind - half
        blunt = half - torch.stack([(end - end.clamp_min(0).minimum(reach)), across], -1).norm(dim=-1)
        return torch.where(what == 2, slip, torch.where(what == 0, nib, blunt)), across / half

    spot, probes = places(side, device)
    inside, across = under(spot)
    hidden = (under(probes)[0] > 0).sum(-1) >= 4
    shape = (count, 1, 1, 1)
    shadow = torch.sigmoid((under(spot - uniform(-0.25, 0.25, 1, 1, 1, 2))[0] + 0.1) / uniform(0.03, 0.2).view(shape)) * uniform(0, 0.6).view(shape)
    alpha = torch.sigmoid(inside * 25 * 2)[:, :, None]
    luma = pick(uniform(0.05, 1.1), uniform(0.4, 1.0), uniform(0.6, 1.15), uniform(0.3, 0.9))
    chroma = torch.randn((count, 2), generator=generator, device=device) * pick(one * 0.15, one * 0.03, uniform(0, 0.08), one * 0.05)[:, None]
    chroma = chroma + torch.tensor([-0.08, 0.1], device=device) * (kind == 1)[:, None] + 0.5
    bright = luma.view(shape) * (1 + uniform(-0.3, 0.3).view(shape) * across.clamp(-1, 1)) + uniform(0, 0.5).view(shape) * torch.exp(-(across + 0.4) ** 2 / 0.02) * (kind == 0).view(shape)
    colour = torch.cat([bright[:, :, None], chroma.view(count, 1, 2, 1, 1).expand(-1, 81, -1, side, side)], 2)
    ground = cells[chosen]
    ground[:, :, 0] *= 1 - shadow
    cells[chosen] = ground * (1 - alpha) + colour * alpha
    labels[chosen] = torch.where(hidden, INDEX["x"], labels[chosen])


def shine(cells, labels, generator):
    """Lets a narrow streak of light wash out a part of one grid in sixteen, in place; what is gone but for a fifth can't be told any more, as in light.py."""
    device = cells.device
    chosen = torch.nonzero((labels[:, 0] != UNKNOWN) & (torch.rand(len(cells), generator=generator, device=device) < 0.06))[:, 0]
    count = len(chosen)
    if count == 0:
        return

    def uniform(low, high, *shape):
        return torch.rand((count, *shape), generator=generator, device=device) * (high - low) + low

    # In cells, from the grid's top left corner.
    angle, through = uniform(0, np.pi), uniform(0, 9, 2)
    half = 0.08 * 15 ** uniform(0, 1)
    soft = half * uniform(0.1, 0.6)
    peak, ground = uniform(0.4, 1), uniform(1, 1.12)

    def veil(points):
        """How much of what is at points [count, ..., 2] is washed out."""
        away = points - through.view(count, *[1] * (points.dim() - 2), 2)
        shaped = [each.view(count, *[1] * (points.dim() - 2)) for each in (torch.cos(angle), torch.sin(angle), half, soft, peak)]
        x, y, reach, edge, most = shaped
        return most * torch.sigmoid((reach - (away[..., 0] * x + away[..., 1] * y).abs()) / edge)

    spot, probes = places(cells.shape[-1], device)
    alpha = veil(spot)[:, :, None]
    hidden = (veil(probes) > 0.8).sum(-1) >= 4
    colour = torch.full((count, 1, 3, 1, 1), 0.5, device=device)
    colour[:, 0, 0, 0, 0] = ground
    cells[chosen] = cells[chosen] * (1 - alpha) + colour * alpha
    labels[chosen] = torch.where(hidden, INDEX["x"], labels[chosen])


def pose(cells, number):
    """The grids as they are found when the print lies in pose `number` (0 to 3 quarter turns clockwise, 4 to 7 the mirrored ones)."""
    grid = cells.view(-1, 9, 9, *cells.shape[2:])
    if number >= 4:
        grid = grid.flip(2).flip(5)
    turns = number % 4
    grid = torch.rot90(torch.rot90(grid, -turns, (1, 2)), -turns, (4, 5))
    return grid.reshape(cells.shape)


def moved(cells, shift, stretch, tilt):
    """The cells [N, 81, C, S, S], each shifted (in halves of its side) and stretched [N, 81, 2] and tilted [N, 81]; beyond its rim a cell is as at its rim."""
    theta = torch.stack([
        torch.stack([stretch[..., 0] * torch.cos(tilt), -torch.sin(tilt), shift[..., 0]], -1),
        torch.stack([torch.sin(tilt), stretch[..., 1] * torch.cos(tilt), shift[..., 1]], -1),
    ], -2).view(-1, 2, 3)
    flat = cells.reshape(-1, *cells.shape[2:])
    return F.grid_sample(flat, F.affine_grid(theta, flat.shape, align_corners=False), padding_mode="border", align_corners=False).view(cells.shape)


def disturb(cells, generator):
    """What differs from one look at a page to the next: cutting a little off, light, blur, noise, colours of ink and lamp."""
    device, count = cells.device, len(cells)

    def uniform(shape, low, high):
        return torch.rand(shape, generator=generator, device=device) * (high - low) + low

    def normal(shape):
        return torch.randn(shape, generator=generator, device=device)

    # Each cell is cut a little off, scaled and tilted; the whole grid shares a part of it.
    shift = normal((count, 81, 2)) * 0.02 + normal((count, 1, 2)) * 0.03 * (uniform((count, 1, 1), 0, 1) < 0.5)
    stretch = 1 + normal((count, 81, 2)) * 0.02 + normal((count, 1, 1)) * 0.03
    tilt = normal((count, 81)) * 0.02 + normal((count, 1)) * 0.03
    cells = moved(cells, shift, stretch, tilt)
    # A second, separate blur for a third of the grids.
    again = (uniform((count,), 0, 1) < 0.3).nonzero()[:, 0]
    if len(again):
        cells = cells.clone()
        cells[again] = blurred(cells[again], uniform((len(again),), 0.3, 1.3))
    luma, colour = cells[:, :, :1], cells[:, :, 1:] - 0.5
    gamma = torch.exp(normal((count, 1, 1, 1, 1)) * 0.25)
    luma = luma.clamp_min(0) ** gamma
    luma = (luma - 1) * uniform((count, 1, 1, 1, 1), 0.75, 1.1) + 1 + normal((count, 81, 1, 1, 1)) * 0.03
    luma = luma + normal(luma.shape) * (uniform((count, 1, 1, 1, 1), 0, 1) ** 2 * 0.1)
    # Inks and lamps come in all hues: turn the colour plane, or take the colour away.
    angle = normal((count, 1, 1, 1)) * 0.5 + (uniform((count, 1, 1, 1), 0, 1) < 0.3) * uniform((count, 1, 1, 1), 0, 6.28)
    strength = uniform((count, 1, 1, 1), 0.5, 1.5) * (uniform((count, 1, 1, 1), 0, 1) > 0.25)
    cos, sin = torch.cos(angle) * strength, torch.sin(angle) * strength
    blue, red = colour[:, :, 0], colour[:, :, 1]
    colour = torch.stack([cos * blue - sin * red, sin * blue + cos * red], 2)
    colour = colour + normal(colour.shape) * (uniform((count, 1, 1, 1, 1), 0, 1) * 0.02)
    return torch.cat([luma.clamp(0, 1.2), (colour + 0.5).clamp(0, 1)], 2)


def step_loss(net, store, bank, size, photos, generator, rng):
    cells, labels, marks, rules = store.draw(size, photos, rng)
    cells = cells.float() / 255
    cells[:, :, 0] *= 1.2
    if bank:
        bank.print(cells, labels, rules, generator)
        bank.write(cells, labels, generator)
        bank.strike(cells, labels, generator)
        bank.scribble(cells, labels, generator)
    lay(cells, labels, generator)
    shine(cells, labels, generator)
    cells = disturb(cells, generator)
    order = torch.randperm(len(cells), generator=generator, device=cells.device)
    cells, labels, marks, rules = cells[order], labels[order], marks[order], rules[order]
    upright = len(cells) * 5 // 8
    poses = torch.zeros(len(cells), dtype=torch.long, device=cells.device)
    parts = [cells[:upright]]
    others = cells[upright:]
    for number, part in enumerate(others.chunk(7)):
        parts.append(pose(part, number + 1))
    poses[upright:] = torch.cat([torch.full((len(part),), number + 1, device=cells.device) for number, part in enumerate(others.chunk(7))])
    cells = torch.cat(parts)
    with torch.autocast(cells.device.type, dtype=torch.bfloat16, enabled=cells.is_cuda):
        read, dots, whole = net(cells)
    read, dots, whole = read.float(), dots.float(), whole.float()
    cell = F.cross_entropy(read[:upright].reshape(-1, len(CLASSES)), labels[:upright].reshape(-1), ignore_index=UNKNOWN)
    # An empty page, or one of mirror-true digits alone, can't tell its pose; pages of the photos always can.
    poses = torch.where(labels[:, 0] == UNKNOWN, UNKNOWN, poses)
    turned = F.cross_entropy(whole[:, :8], poses, ignore_index=UNKNOWN)
    ruled = F.binary_cross_entropy_with_logits(whole[:upright, 8], rules[:upright])
    noted = (labels[:upright] == INDEX["m"]).float()
    dot = F.binary_cross_entropy_with_logits(dots[:upright], marks[:upright], reduction="none").mean(-1)
    dot = (dot * noted).sum() / noted.sum().clamp_min(1)
    told = labels[:upright] != UNKNOWN
    right = (read[:upright].argmax(-1) == labels[:upright]).sum() / told.sum()
    posed = (whole[:, :8].argmax(-1) == poses).sum() / (poses != UNKNOWN).sum()
    return cell + 0.1 * turned + 0.2 * ruled + 0.1 * dot, torch.stack([cell, turned, ruled, dot, right, posed]).detach()


def parser(doc, sizes, size):
    """What can be said to a training script for networks that see cells."""
    arguments = argparse.ArgumentParser(description=doc)
    arguments.add_argument("--cells", required=True)
    arguments.add_argument("--out", required=True)
    arguments.add_argument("--pens", help="digits (.npz of pen_bank.py) to print and write on grids")
    arguments.add_argument("--minutes", type=float, default=6)
    arguments.add_argument("--batch", type=int, default=112)
    arguments.add_argument("--photos", type=float, default=0.15, help="share of each batch that is real photographs")
    arguments.add_argument("--rate", type=float, default=2e-3, help="learning rate at the start; it falls to nothing along a cosine")
    arguments.add_argument("--seed", type=int, default=1)
    arguments.add_argument("--least", type=int, default=500, help="drawn grids to wait for before training starts")
    arguments.add_argument("--size", choices=sizes, default=size, help="of the network: that of models/SIZE.onnx, `first` being classify.onnx")
    arguments.add_argument("--device", help="such as cpu, cuda or cuda:1")
    arguments.add_argument("--room", type=int, default=20000, help="drawn grids kept at a time (a quarter of a megabyte each)")
    return arguments


def begin(options, side):
    """Seeds everything; gives the device, its generator, the other one, and the grids and pens to draw from."""
    device = options.device or ("cuda" if torch.cuda.is_available() else "cpu")
    torch.manual_seed(options.seed)
    store = Store(options.cells, device, options.room, side)
    while store.sizes()["drawn"] < options.least:
        store.refill()
        time.sleep(1)
    bank = Bank(options.pens, device) if options.pens else None
    return device, torch.Generator(device).manual_seed(options.seed), np.random.default_rng(options.seed), store, bank


def train(net, options, store, step, names, warm=300, every=200, settled=(1000, 0.002)):
    """Trains for as long as `options` say. `step` gives the loss of a batch and its parts, which are told by `names` every so many steps. What comes back, and lies beside the output as .pt,
    is the running mean of the weights, which follows them by the share that `settled` names after so many steps."""
    mean_net = copy.deepcopy(net)
    slow, fast = ([value for value in each.state_dict().values() if value.dtype.is_floating_point] for each in (mean_net, net))
    tune = torch.optim.AdamW(net.parameters(), lr=options.rate, weight_decay=2e-2)
    file = pathlib.Path(options.out).with_suffix(".pt")
    began, count, mean = time.time(), 0, None
    while True:
        share = (time.time() - began) / (options.minutes * 60)
        if share >= 1:
            break
        for group in tune.param_groups:
            group["lr"] = options.rate * min(1, (count + 1) / warm) * (0.5 + 0.5 * np.cos(np.pi * share)) + 2e-6
        loss, parts = step()
        tune.zero_grad()
        loss.backward()
        torch.nn.utils.clip_grad_norm_(net.parameters(), 1.0)
        tune.step()
        with torch.no_grad():
            torch._foreach_lerp_(slow, fast, settled[1] if count > settled[0] else 0.05)
        mean = parts if mean is None else mean.lerp(parts, 0.02)
        count += 1
        if count % every == 0:
            if share < 0.9:
                store.refill()
            if count % 1000 == 0:
                torch.save(mean_net.state_dict(), file)
            told = " ".join(f"{name} {part:.4f}" for name, part in zip(names, mean))
            print(f"step {count} {time.time() - began:.0f} s grids {store.sizes()} {told}", flush=True)
    mean_net.eval()
    torch.save(mean_net.state_dict(), file)
    return mean_net.cpu()


def main():
    arguments = parser(__doc__, SIZES, "first")
    arguments.add_argument("--start", help="weights to go on from, .pt or .onnx")
    options = arguments.parse_args()
    side = SIZES[options.size][0]
    device, generator, rng, store, bank = begin(options, side)
    # Five times as quick on a card of the Hopper kind.
    net = CellNet(*SIZES[options.size]).to(device, memory_format=torch.channels_last)
    if options.start:
        with torch.no_grad():
            take_over(net, options.start, disturb(store.draw(64, 0, rng)[0].float() / 255 * torch.tensor([1.2, 1, 1], device=device).view(3, 1, 1), generator))
    step = lambda: step_loss(net, store, bank, options.batch, round(options.batch * options.photos), generator, rng)
    net = train(net, options, store, step, ("cell", "pose", "rules", "marks", "right", "posed"))
    torch.onnx.export(net, torch.zeros(1, 81, 3, side, side), options.out, input_names=["cells"], output_names=["classes", "marks", "whole"], opset_version=17, dynamo=False)


if __name__ == "__main__":
    main()
