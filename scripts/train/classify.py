"""Trains the cell network: python3 scripts/train/classify.py --cells DIR --out models/classify.onnx

DIR holds NAME.bin (u8 [grids, 81, 3, 32, 32], upright as printed) beside NAME.jsonl (one truth a grid) as `cargo run --release --example
cut_cells` writes them; it may still be growing while training runs. Files named photo* are the real photographs: they are drawn more often.
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

INDEX = {name: i for i, name in enumerate(CLASSES)}
UNKNOWN = -100  # what cross_entropy leaves out


class Pool:
    """Up to `room` grids on the device: cells u8, classes, marks, other rules. When it is full, new ones take the place of the oldest."""

    def __init__(self, room, device):
        self.room, self.size, self.next = room, 0, 0
        self.parts = [torch.empty(room, 81, 3, 32, 32, dtype=torch.uint8, device=device), torch.empty(room, 81, dtype=torch.long, device=device),
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

    def __init__(self, root, device, room):
        self.root, self.seen = pathlib.Path(root), set()
        self.pools = {"drawn": Pool(room, device), "photo": Pool(500, device)}

    def refill(self):
        for file in sorted(self.root.glob("*.jsonl")):
            if file in self.seen:
                continue
            self.seen.add(file)
            lines = [json.loads(line) for line in file.read_text().splitlines()]
            if not lines:
                continue
            cells = torch.from_numpy(np.fromfile(file.with_suffix(".bin"), np.uint8).reshape(len(lines), 81, 3, 32, 32))
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


class Pens:
    """Writes on printed grids: crisp ink over print as the camera took it, as where someone writes on a poor print or a screen."""

    def __init__(self, file, device):
        data = np.load(file)
        self.alpha = torch.from_numpy(data["alpha"]).to(device)
        red, green, blue = torch.from_numpy(data["ink"].astype(np.float32)).to(device).T / 255
        luma = 0.299 * red + 0.587 * green + 0.114 * blue
        self.ink = torch.stack([luma, 0.5 + 0.564 * (blue - luma) * 2, 0.5 + 0.713 * (red - luma) * 2], -1).clamp(0, 1)

    def write(self, cells, labels, generator):
        """Fills empty cells of a third of the grids without entries by one writer each, in place."""
        device = cells.device

        def uniform(shape, low, high):
            return torch.rand(shape, generator=generator, device=device) * (high - low) + low

        empty = labels == INDEX["."]
        clean = ((labels >= 1) & (labels <= 9) | empty).all(1) & (empty.sum(1) >= 20)
        chosen = clean & (uniform(len(cells), 0, 1) < 0.4)
        full = uniform(len(cells), 0, 1) < 0.7
        share = torch.where(full, torch.ones_like(full, dtype=torch.float), uniform(len(cells), 0.1, 1))
        grid, cell = torch.nonzero(empty & chosen[:, None] & (uniform(labels.shape, 0, 1) <= share[:, None]), as_tuple=True)
        if len(grid) == 0:
            return
        writer = torch.randint(0, len(self.alpha), (len(cells),), generator=generator, device=device)[grid]
        digit = torch.randint(0, 9, (len(grid),), generator=generator, device=device)
        take = torch.randint(0, 4, (len(grid),), generator=generator, device=device)
        alpha = self.alpha[writer, digit, take].float()[:, None] / 255
        size = torch.exp(torch.randn(len(grid), generator=generator, device=device) * 0.08) * torch.exp(uniform(len(cells), -0.25, 0.25))[grid]
        tilt = torch.randn(len(grid), generator=generator, device=device) * 0.06
        shift = torch.randn((len(grid), 2), generator=generator, device=device) * 0.09 * uniform(len(cells), 0.2, 1.2)[grid][:, None]
        theta = torch.stack([torch.stack([torch.cos(tilt) / size, -torch.sin(tilt) / size, shift[:, 0]], -1),
                             torch.stack([torch.sin(tilt) / size, torch.cos(tilt) / size, shift[:, 1]], -1)], 1)
        alpha = F.grid_sample(alpha, F.affine_grid(theta, alpha.shape, align_corners=False), align_corners=False)
        # A light press shows less; ink is told against the darkest print, which lies at 0.
        ink = self.ink[writer].clone()
        ink[:, 0] = ink[:, 0] * uniform(len(cells), 0.3, 1.0)[grid]
        alpha = alpha * uniform(len(cells), 0.6, 1.0)[grid].view(-1, 1, 1, 1)
        cells[grid, cell] = cells[grid, cell] * (1 - alpha) + ink.view(-1, 3, 1, 1) * alpha
        labels[grid, cell] = digit + 10


def pose(cells, number):
    """The grids as they are found when the print lies in pose `number` (0 to 3 quarter turns clockwise, 4 to 7 the mirrored ones)."""
    grid = cells.view(-1, 9, 9, 3, 32, 32)
    if number >= 4:
        grid = grid.flip(2).flip(5)
    turns = number % 4
    grid = torch.rot90(torch.rot90(grid, -turns, (1, 2)), -turns, (4, 5))
    return grid.reshape(cells.shape)


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
    theta = torch.stack([
        torch.stack([stretch[..., 0] * torch.cos(tilt), -torch.sin(tilt), shift[..., 0]], -1),
        torch.stack([torch.sin(tilt), stretch[..., 1] * torch.cos(tilt), shift[..., 1]], -1),
    ], -2).view(-1, 2, 3)
    flat = cells.reshape(-1, 3, 32, 32)
    flat = F.grid_sample(flat, F.affine_grid(theta, flat.shape, align_corners=False), padding_mode="border", align_corners=False)
    cells = flat.view(count, 81, 3, 32, 32)
    # A second, separate blur for a third of the grids.
    sigma = uniform((count,), 0.3, 1.3)
    taps = torch.arange(-3, 4, device=device).float()
    kernel = torch.exp(-(taps**2) / (2 * sigma[:, None] ** 2))
    kernel = kernel / kernel.sum(1, keepdim=True)
    blurred = (uniform((count,), 0, 1) < 0.3).nonzero()[:, 0]
    if len(blurred):
        part = cells[blurred].permute(1, 2, 0, 3, 4).reshape(81 * 3, len(blurred), 32, 32)
        weight = kernel[blurred]
        part = F.conv2d(F.pad(part, (3, 3, 0, 0), mode="replicate"), weight.view(-1, 1, 1, 7), groups=len(blurred))
        part = F.conv2d(F.pad(part, (0, 0, 3, 3), mode="replicate"), weight.view(-1, 1, 7, 1), groups=len(blurred))
        cells = cells.clone()
        cells[blurred] = part.view(81, 3, len(blurred), 32, 32).permute(2, 0, 1, 3, 4)
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


def step_loss(net, store, pens, size, photos, generator, rng):
    cells, labels, marks, rules = store.draw(size, photos, rng)
    cells = cells.float() / 255
    cells[:, :, 0] *= 1.2
    if pens:
        pens.write(cells, labels, generator)
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


def main():
    arguments = argparse.ArgumentParser(description=__doc__)
    arguments.add_argument("--cells", required=True)
    arguments.add_argument("--out", required=True)
    arguments.add_argument("--pens", help="handwritten digits (.npz of pen_bank.py) to write on printed grids")
    arguments.add_argument("--minutes", type=float, default=6)
    arguments.add_argument("--batch", type=int, default=112)
    arguments.add_argument("--photos", type=float, default=0.15, help="share of each batch that is real photographs")
    arguments.add_argument("--rate", type=float, default=2e-3, help="learning rate at the start; it falls to nothing along a cosine")
    arguments.add_argument("--seed", type=int, default=1)
    arguments.add_argument("--least", type=int, default=500, help="drawn grids to wait for before training starts")
    arguments.add_argument("--size", choices=SIZES, default="first", help="of the network: that of classify.onnx or of second.onnx")
    arguments.add_argument("--device", help="such as cpu, cuda or cuda:1")
    arguments.add_argument("--room", type=int, default=20000, help="drawn grids kept at a time (a quarter of a megabyte each)")
    arguments.add_argument("--start", help="weights (.pt) to go on from")
    options = arguments.parse_args()
    device = options.device or ("cuda" if torch.cuda.is_available() else "cpu")
    torch.manual_seed(options.seed)
    rng = np.random.default_rng(options.seed)
    generator = torch.Generator(device).manual_seed(options.seed)
    store = Store(options.cells, device, options.room)
    while store.sizes()["drawn"] < options.least:
        store.refill()
        time.sleep(1)
    pens = Pens(options.pens, device) if options.pens else None
    net = CellNet(*SIZES[options.size]).to(device)
    if options.start:
        net.load_state_dict(torch.load(options.start, map_location=device))
    mean_net = copy.deepcopy(net)
    slow, fast = ([value for value in each.state_dict().values() if value.dtype.is_floating_point] for each in (mean_net, net))
    tune = torch.optim.AdamW(net.parameters(), lr=options.rate, weight_decay=2e-2)
    began, step, mean = time.time(), 0, None
    while True:
        share = (time.time() - began) / (options.minutes * 60)
        if share >= 1:
            break
        for group in tune.param_groups:
            group["lr"] = options.rate * min(1, (step + 1) / 300) * (0.5 + 0.5 * np.cos(np.pi * share)) + 2e-6
        loss, parts = step_loss(net, store, pens, options.batch, round(options.batch * options.photos), generator, rng)
        tune.zero_grad()
        loss.backward()
        torch.nn.utils.clip_grad_norm_(net.parameters(), 1.0)
        tune.step()
        with torch.no_grad():
            torch._foreach_lerp_(slow, fast, 0.002 if step > 1000 else 0.05)
        mean = parts if mean is None else mean.lerp(parts, 0.02)
        step += 1
        if step % 200 == 0:
            if share < 0.9:
                store.refill()
            print(f"step {step} {time.time() - began:.0f} s grids {store.sizes()} cell {mean[0]:.4f} pose {mean[1]:.4f} rules {mean[2]:.4f} marks {mean[3]:.4f} right {mean[4]:.4f} posed {mean[5]:.4f}", flush=True)
    mean_net.eval()
    torch.save(mean_net.state_dict(), pathlib.Path(options.out).with_suffix(".pt"))
    torch.onnx.export(mean_net.cpu(), torch.zeros(1, 81, 3, 32, 32), options.out, input_names=["cells"], output_names=["classes", "marks", "whole"], opset_version=17, dynamo=False)


if __name__ == "__main__":
    main()
