"""Trains the network that tells copies of a digit: python3 scripts/train/alike.py --cells DIR --out models/alike.onnx

DIR and the pens are those of classify.py. Print is the same wherever a digit stands twice, whatever the typeface; what a hand wrote isn't. The network gives each digit's picture a
place, so that two of one digit lie near each other where both are print (contrastive learning as in Hadsell et al. 2006, with a logistic loss; how unsure a place is, is learnt as in
Kendall and Gal 2017). It never sees which grid a picture is from, nor which digit it shows.
"""

import torch
from torch import nn
import torch.nn.functional as F

from cell_net import Again, stage
from classify import begin, disturb, moved, parser, train

# Side of the cells, widths of the stages that see, and how often each but the first looks again.
SIZES = {"alike": (48, (32, 64, 96), 1), "alike32": (32, (24, 40, 64), 0)}
DIMENSIONS = 128
# Log odds that two pictures at one place are copies; the same number stands in src/classify/alike.rs.
LEVEL = 5.0
# More givens no puzzle has: of a finished grid nobody knows which are of one typeface.
MOST_GIVENS = 55


class AlikeNet(nn.Module):
    """Pictures of cells [N, 3, S, S] to places [N, DIMENSIONS] and how unsure these are [N, 1], at least 1."""

    def __init__(self, side, widths, again):
        super().__init__()
        stages = [[stage(before, after, 2)] + [Again(after) for _ in range(again if before != 3 else 0)] for before, after in zip((3, *widths), widths)]
        self.eye = nn.Sequential(*(part for parts in stages for part in parts))
        self.place = nn.Linear(widths[-1] * (side >> len(widths)) ** 2, DIMENSIONS)
        self.unsure = nn.Linear(widths[-1] * (side >> len(widths)) ** 2, 1)

    def forward(self, cells):
        x = self.eye((cells - 0.5) * 2.0)
        x = x.reshape(-1, x.shape[1] * x.shape[2] * x.shape[3])
        # Softplus out of plain operations.
        unsure = self.unsure(x)
        return self.place(x), 1 + F.relu(unsure) + torch.log(1 + torch.exp(-torch.abs(unsure)))


def jostle(cells, generator):
    """Shifts, sizes and tilts each cell of four in five grids for itself, some by much: where print stands in its cell tells nothing of whether it is a copy."""
    device, count = cells.device, len(cells)
    much = torch.rand((count, 1), generator=generator, device=device) * (torch.rand((count, 1), generator=generator, device=device) < 0.8)
    shift, stretch, tilt = (torch.randn((count, 81, parts), generator=generator, device=device) * (most * much)[..., None] for parts, most in ((2, 0.16), (2, 0.04), (1, 0.05)))
    return moved(cells, shift, torch.exp(stretch), tilt[..., 0])


def step_loss(net, store, bank, size, photos, generator, rng):
    """The loss of a batch of grids, and its parts: of two prints, a print and a written digit, two written ones."""
    cells, labels, _, rules = store.draw(size, photos, rng)
    cells = cells.float() / 255
    cells[:, :, 0] *= 1.2
    if bank:
        bank.print(cells, labels, rules, generator)
        bank.write(cells, labels, generator)
        bank.strike(cells, labels, generator)
    cells = disturb(jostle(cells, generator), generator)
    is_given, is_digit = (labels >= 1) & (labels <= 9), (labels >= 1) & (labels <= 18)
    grid, cell = torch.nonzero(is_digit & (is_given.sum(1, keepdim=True) <= MOST_GIVENS), as_tuple=True)
    is_given, digit = is_given[grid, cell], (labels[grid, cell] - 1) % 9
    with torch.autocast(cells.device.type, dtype=torch.bfloat16, enabled=cells.is_cuda):
        places, unsure = net(cells[grid, cell])
    places, unsure = places.float(), unsure.float()[:, 0]
    kind = grid * 9 + digit
    a, b = torch.nonzero(torch.triu(kind[:, None] == kind[None], 1), as_tuple=True)
    odds = LEVEL - ((places[a] - places[b]) ** 2).sum(1) / (unsure[a] + unsure[b])
    prints = is_given[a].long() + is_given[b].long()
    loss = F.binary_cross_entropy_with_logits(odds, (prints == 2).float(), reduction="none")
    parts = torch.stack([(loss * (prints == count)).sum() / (prints == count).sum().clamp_min(1) for count in (2, 1, 0)])
    return parts @ torch.tensor([1.0, 1.0, 0.3], device=parts.device), parts.detach()


def main():
    options = parser(__doc__, SIZES, "alike").parse_args()
    side, widths, again = SIZES[options.size]
    device, generator, rng, store, bank = begin(options, side)
    net = AlikeNet(side, widths, again).to(device, memory_format=torch.channels_last)
    step = lambda: step_loss(net, store, bank, options.batch, round(options.batch * options.photos), generator, rng)
    net = train(net, options, store, step, ("two prints", "one", "none"), warm=200, every=100, settled=(400, 0.005))
    torch.onnx.export(net, torch.zeros(2, 3, side, side), options.out, input_names=["cells"], output_names=["places", "unsure"],
                      dynamic_axes={"cells": {0: "count"}, "places": {0: "count"}, "unsure": {0: "count"}}, opset_version=17, dynamo=False)


if __name__ == "__main__":
    main()
