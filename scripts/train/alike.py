"""Trains the network that tells copies of a digit: python3 scripts/train/alike.py --cells DIR --out models/alike.onnx

DIR and the pens are those of classify.py. Print is the same wherever a digit stands twice, whatever the typeface; what a hand wrote isn't. The network gives each digit's picture a
place, so that two of one digit lie near each other where both are print (contrastive learning as in Hadsell et al. 2006, with a logistic loss; how unsure a place is, is learnt as in
Kendall and Gal 2017). It never sees which grid a picture is from, nor which digit it shows.
"""

import argparse
import copy
import pathlib
import time

import numpy as np
import torch
from torch import nn
import torch.nn.functional as F

from cell_net import Again, stage
from classify import Bank, Store, disturb

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
    tilt, stretch = tilt[..., 0], torch.exp(stretch)
    theta = torch.stack([torch.stack([stretch[..., 0] * torch.cos(tilt), -torch.sin(tilt), shift[..., 0]], -1),
                         torch.stack([torch.sin(tilt), stretch[..., 1] * torch.cos(tilt), shift[..., 1]], -1)], -2).view(-1, 2, 3)
    flat = cells.reshape(-1, *cells.shape[2:])
    return F.grid_sample(flat, F.affine_grid(theta, flat.shape, align_corners=False), padding_mode="border", align_corners=False).view(cells.shape)


def step_loss(net, store, bank, size, photos, generator, rng):
    """The loss of a batch of grids, and its parts: of two prints, a print and a written digit, two written ones."""
    cells, labels, _, rules = store.draw(size, photos, rng)
    cells = cells.float() / 255
    cells[:, :, 0] *= 1.2
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
    arguments = argparse.ArgumentParser(description=__doc__)
    arguments.add_argument("--cells", required=True)
    arguments.add_argument("--out", required=True)
    arguments.add_argument("--pens", required=True, help="digits (.npz of pen_bank.py) to print and write on grids")
    arguments.add_argument("--minutes", type=float, default=6)
    arguments.add_argument("--batch", type=int, default=112)
    arguments.add_argument("--photos", type=float, default=0.15, help="share of each batch that is real photographs")
    arguments.add_argument("--rate", type=float, default=2e-3, help="learning rate at the start; it falls to nothing along a cosine")
    arguments.add_argument("--seed", type=int, default=1)
    arguments.add_argument("--least", type=int, default=500, help="drawn grids to wait for before training starts")
    arguments.add_argument("--size", choices=SIZES, default="alike")
    arguments.add_argument("--device", help="such as cpu, cuda or cuda:1")
    arguments.add_argument("--room", type=int, default=20000, help="drawn grids kept at a time")
    options = arguments.parse_args()
    device = options.device or ("cuda" if torch.cuda.is_available() else "cpu")
    torch.manual_seed(options.seed)
    rng = np.random.default_rng(options.seed)
    generator = torch.Generator(device).manual_seed(options.seed)
    side, widths, again = SIZES[options.size]
    store = Store(options.cells, device, options.room, side)
    while store.sizes()["drawn"] < options.least:
        store.refill()
        time.sleep(1)
    bank = Bank(options.pens, device)
    net = AlikeNet(side, widths, again).to(device, memory_format=torch.channels_last)
    mean_net = copy.deepcopy(net)
    slow, fast = ([value for value in each.state_dict().values() if value.dtype.is_floating_point] for each in (mean_net, net))
    tune = torch.optim.AdamW(net.parameters(), lr=options.rate, weight_decay=2e-2)
    began, step, mean = time.time(), 0, None
    while True:
        share = (time.time() - began) / (options.minutes * 60)
        if share >= 1:
            break
        for group in tune.param_groups:
            group["lr"] = options.rate * min(1, (step + 1) / 200) * (0.5 + 0.5 * np.cos(np.pi * share)) + 2e-6
        loss, parts = step_loss(net, store, bank, options.batch, round(options.batch * options.photos), generator, rng)
        tune.zero_grad()
        loss.backward()
        torch.nn.utils.clip_grad_norm_(net.parameters(), 1.0)
        tune.step()
        with torch.no_grad():
            torch._foreach_lerp_(slow, fast, 0.005 if step > 400 else 0.05)
        mean = parts if mean is None else mean.lerp(parts, 0.02)
        step += 1
        if step % 100 == 0:
            if share < 0.9:
                store.refill()
            print(f"step {step} {time.time() - began:.0f} s grids {store.sizes()} two prints {mean[0]:.4f} one {mean[1]:.4f} none {mean[2]:.4f}", flush=True)
    mean_net.eval()
    torch.save(mean_net.state_dict(), pathlib.Path(options.out).with_suffix(".pt"))
    torch.onnx.export(mean_net.cpu(), torch.zeros(2, 3, side, side), options.out, input_names=["cells"], output_names=["places", "unsure"],
                      dynamic_axes={"cells": {0: "count"}, "places": {0: "count"}, "unsure": {0: "count"}}, opset_version=17, dynamo=False)


if __name__ == "__main__":
    main()
