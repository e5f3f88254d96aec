"""Trains the lattice network on generated pages and exports it: python3 scripts/train/find.py --pages DIR --out models/find.onnx

DIR holds folders of generated pages (scripts/pages/generate.py); it may still be growing while training runs. `--photos FILE` adds
real photographs (an .npz made by scripts/train/pack_photos.py) of which the main grid alone is known. Runs on a GPU where there is one.
"""

import argparse
import json
import pathlib
import time

import numpy as np
import torch
import torch.nn.functional as F
from PIL import Image

from lattice_net import STRIDE, LatticeNet
from take_over import take_over

STORE = 960  # pages are kept at this long side, so that crops can be enlarged
REACH = 24  # how far a pixel's surroundings go when the light is evened
SIDE = 640  # what the network sees in training


def load_page(folder, line):
    """The luma at STORE, and the page's lattices [G, 10, 10, 2] in its pixels with a flag whether they are all of the page's."""
    with Image.open(folder / line["photo"]) as image:
        luma = image.convert("L")
    scale = STORE / max(luma.size)
    size = [max(1, round(side * scale)) for side in luma.size]
    small = luma.resize(size, Image.BOX if scale < 1 else Image.BILINEAR)
    page = np.full((STORE, STORE), 128, np.uint8)
    page[: size[1], : size[0]] = np.asarray(small)
    grids = np.array([grid["lattice"] for grid in line["grids"]], np.float32).reshape(-1, 10, 10, 2)
    factors = np.array([size[0] / luma.size[0], size[1] / luma.size[1]], np.float32)
    return page, (grids + 0.5) * factors - 0.5


class Store:
    """Pages on the device, refilled from a growing folder."""

    def __init__(self, root, device):
        self.root, self.device = pathlib.Path(root), device
        self.seen, self.pages, self.grids, self.complete, self.photos = {}, [], [], [], 0

    def refill(self, limit, pool):
        fresh = []
        for truth in sorted(self.root.glob("**/truth.jsonl")):
            done = self.seen.get(truth, 0)
            lines = truth.read_text().split("\n")[:-1][done : done + limit - len(fresh)]
            fresh += [(truth.parent, json.loads(line)) for line in lines]
            self.seen[truth] = done + len(lines)
        for page, grids in pool.map(lambda item: load_page(*item), fresh):
            self.add(page, grids, True)

    def add(self, page, grids, complete):
        self.pages.append(torch.from_numpy(page).to(self.device))
        self.grids.append(torch.from_numpy(grids).to(self.device))
        self.complete.append(complete)

    def add_photos(self, file):
        data = np.load(file, allow_pickle=False)
        for page, lattice in zip(data["pages"], data["lattices"]):
            self.add(page, lattice[None], False)
        self.photos = len(self.pages)


def transforms(count, generator, device):
    """Random similarity and mild perspective maps from crop pixels to stored page pixels, [count, 3, 3]."""

    def uniform(low, high):
        return torch.rand(count, generator=generator, device=device) * (high - low) + low

    quarter = torch.randint(0, 4, (count,), generator=generator, device=device) * (np.pi / 2)
    tilt = torch.randn(count, generator=generator, device=device) * 0.12
    wild = (torch.rand(count, generator=generator, device=device) < 0.1) * uniform(-0.7, 0.7)
    angle = quarter + tilt + wild
    zoom = torch.exp(uniform(np.log(0.75), np.log(2.3)))  # stored pixels a crop pixel
    squeeze = torch.exp(uniform(-0.12, 0.12))
    mirror = torch.where(torch.rand(count, generator=generator, device=device) < 0.5, -1.0, 1.0)
    cos, sin = torch.cos(angle) * zoom, torch.sin(angle) * zoom
    zero, one = torch.zeros_like(cos), torch.ones_like(cos)
    turn = torch.stack([cos * mirror, -sin * squeeze, zero, sin * mirror, cos * squeeze, zero, zero, zero, one], -1).view(-1, 3, 3)
    slant = torch.stack([one, zero, zero, zero, one, zero, uniform(-1, 1) * 1.2e-4, uniform(-1, 1) * 1.2e-4, one], -1).view(-1, 3, 3)
    return turn @ slant, zoom


def project(maps, points):
    """Points [N, P, 2] through maps [N, 3, 3]."""
    ones = torch.ones_like(points[..., :1])
    moved = torch.cat([points, ones], -1) @ maps.transpose(1, 2)
    return moved[..., :2] / moved[..., 2:].clamp_min(1e-6)


def batch(store, size, generator, rng):
    device = store.device
    # Photographs are few, so they are drawn more often than their number says.
    photos = round(size * 0.12) if store.photos else 0
    picks = np.concatenate([rng.integers(0, store.photos, photos), rng.integers(store.photos, len(store.pages), size - photos)])
    pages = torch.stack([store.pages[i] for i in picks]).float()[:, None] / 255
    maps, zoom = transforms(size, generator, device)
    # The crop's middle looks at a random place of the page, mostly such that the page fills the crop.
    spread = torch.rand(size, 2, generator=generator, device=device)
    extent = torch.tensor([[STORE, STORE]], device=device) * 1.0
    half = (SIDE * zoom / 2)[:, None]
    low, high = torch.minimum(half, extent / 2) * 0.8, torch.maximum(extent - half, extent / 2)
    target = low + spread * (high - low)
    move = torch.eye(3, device=device).repeat(size, 1, 1)
    move[:, :2, 2] = target
    centre = torch.eye(3, device=device).repeat(size, 1, 1)
    centre[:, :2, 2] = -(SIDE - 1) / 2
    maps = move @ maps @ centre
    axis = torch.arange(SIDE, device=device).float()
    spots = torch.stack(torch.meshgrid(axis, axis, indexing="xy"), -1).view(1, -1, 2).expand(size, -1, -1)
    source = project(maps, spots).view(size, SIDE, SIDE, 2)
    image = F.grid_sample(pages, (source + 0.5) / STORE * 2 - 1, mode="bilinear", padding_mode="border", align_corners=False)
    image = even(disturb(image, generator))
    inverse = torch.linalg.inv(maps)
    targets = draw_targets(store, picks, inverse, size)
    return image, targets


def disturb(image, generator):
    """Light, contrast, blur, noise and negatives are the generator's work: here only what makes each look at a page another."""
    device, size = image.device, image.shape[0]

    def uniform(low, high):
        return (torch.rand(size, generator=generator, device=device) * (high - low) + low).view(-1, 1, 1, 1)

    image = image ** torch.exp(uniform(-0.5, 0.5))
    image = (image - 0.5) * uniform(0.55, 1.1) + 0.5 + uniform(-0.12, 0.12)
    image = image + torch.randn(image.shape, generator=generator, device=device) * uniform(0, 0.03)
    return image.clamp(0, 1)


def even(image):
    """Each pixel against its surroundings, as src/decode/even.rs does it: shadows and dark corners go, lines stay."""

    def box(x):
        for size, edge in (((REACH * 2 + 1, 1), (REACH, 0)), ((1, REACH * 2 + 1), (0, REACH))):
            x = F.avg_pool2d(x, size, 1, edge, count_include_pad=False)
        return x

    mean = box(image)
    spread = (box(image * image) - mean * mean).clamp_min(0).sqrt()
    return ((image - mean) / (spread + 0.02) / 6 + 0.5).clamp(0, 1)


def draw_targets(store, picks, inverse, size):
    """Heatmaps [N, 4, h, w], offsets [N, 2, h, w], weight of offsets [N, 1, h, w], weight of all [N, 1, h, w]."""
    device, side = store.device, SIDE // STRIDE
    counts = torch.tensor([len(store.grids[i]) for i in picks], device=device)
    owner = torch.repeat_interleave(torch.arange(size, device=device), counts)
    complete = torch.tensor([store.complete[i] for i in picks], device=device)
    lattices = torch.cat([store.grids[i] for i in picks])
    crop = project(inverse[owner], lattices.view(-1, 100, 2))
    points = (crop - (STRIDE - 1) / 2) / STRIDE  # the middle of an output cell lies between four crop pixels
    corners = points[:, [0, 9, 99, 90]]
    pitch = (corners[:, 2] - corners[:, 0]).norm(dim=-1) / 12.7
    usable = (pitch >= 2.2) & (points > -4 * side).all(-1).all(-1) & (points < 4 * side).all(-1).all(-1)

    axis = torch.arange(side, device=device).float()
    spots = torch.stack(torch.meshgrid(axis, axis, indexing="xy"), -1)
    weight = torch.ones(size, side, side, device=device)
    weight[~complete] = 0
    known = usable & ~complete[owner]
    weight.index_reduce_(0, owner[known], inside_quad(spots, corners[known], 0.6), "amax")
    weight.index_reduce_(0, owner[~usable], 1 - inside_quad(spots, corners[~usable], 0.5), "amin")
    points, corners, pitch, owner = points[usable], corners[usable], pitch[usable], owner[usable]

    heat = torch.zeros(4, size * side * side, device=device)
    inside = heat[3].view(size, side, side)
    inside.index_reduce_(0, owner, inside_quad(spots, corners, 0.0), "amax")
    index = torch.arange(10, device=device)
    box, border = index % 3 == 0, index % 9 == 0
    box, border = (box[:, None] & box[None]).view(-1), (border[:, None] | border[None]).view(-1)
    step = torch.arange(-3, 4, device=device)
    reach = torch.stack(torch.meshgrid(step, step, indexing="xy"), -1).view(1, 1, -1, 2)
    sigma = (pitch * 0.14).clamp(0.6, 1.6).view(-1, 1, 1)
    cells = points.round()[:, :, None] + reach
    delta = points[:, :, None] - cells
    good = ((cells >= 0) & (cells < side)).all(-1)
    value = torch.exp(-(delta**2).sum(-1) / (2 * sigma**2)) * good
    cells = cells.clamp(0, side - 1).long()
    flat = (owner.view(-1, 1, 1) * side + cells[..., 1]) * side + cells[..., 0]
    for channel, mask in enumerate((torch.ones_like(box), box, border)):
        heat[channel].scatter_reduce_(0, flat.view(-1), (value * mask.view(1, -1, 1)).view(-1), "amax")
    offset = torch.zeros(2, size * side * side, device=device)
    near = torch.zeros(size * side * side, device=device)
    close = (delta.abs().amax(-1) <= 1.01) & good
    offset[:, flat[close]] = delta[close].T
    near[flat[close]] = 1.0

    def shaped(flat_maps):
        return flat_maps.view(-1, size, side, side).transpose(0, 1)

    return shaped(heat), shaped(offset), shaped(near[None]), weight[:, None]


def inside_quad(spots, corners, margin):
    """[T, h, w]: 1.0 where a spot lies inside the quads [T, 4, 2] widened by `margin` cells."""
    middle = corners.mean(1, keepdim=True)
    corners = middle + (corners - middle) * (1 + margin / 4.5)
    side = corners.roll(-1, 1) - corners
    relative = spots[None, None] - corners[:, :, None, None]
    cross = side[:, :, None, None, 0] * relative[..., 1] - side[:, :, None, None, 1] * relative[..., 0]
    return ((cross > 0).all(1) | (cross < 0).all(1)).float()


def loss_of(output, targets):
    heat, offset, near, weight = targets
    logits = output[:, :3].float()
    p = torch.sigmoid(logits).clamp(1e-4, 1 - 1e-4)
    truth = heat[:, :3]
    # The penalty-reduced focal loss of Law and Deng 2018 (CornerNet).
    hit = (truth > 0.95).float()
    positive = -((1 - p) ** 2) * torch.log(p) * truth**4
    negative = -((1 - truth) ** 4) * p**2 * torch.log(1 - p)
    focal = ((positive + negative) * weight).sum() / (hit.sum() + 50)
    inside = F.binary_cross_entropy_with_logits(output[:, 3:4].float(), heat[:, 3:4], weight=weight, reduction="mean")
    moved = ((output[:, 4:6].float() - offset).abs() * near).sum() / (near.sum() * 2 + 50)
    return focal + inside + 2 * moved, (focal.item(), inside.item(), moved.item())


def main():
    arguments = argparse.ArgumentParser(description=__doc__)
    arguments.add_argument("--pages", required=True)
    arguments.add_argument("--photos")
    arguments.add_argument("--out", required=True)
    arguments.add_argument("--minutes", type=float, default=6)
    arguments.add_argument("--batch", type=int, default=48)
    arguments.add_argument("--rate", type=float, default=3e-3, help="learning rate at the start; it falls to nothing along a cosine")
    arguments.add_argument("--seed", type=int, default=1)
    arguments.add_argument("--least", type=int, default=300, help="drawn pages to wait for before training starts")
    arguments.add_argument("--device", help="such as cpu, cuda or cuda:1")
    arguments.add_argument("--start", help="weights to go on from, .pt or .onnx")
    options = arguments.parse_args()
    from concurrent.futures import ThreadPoolExecutor

    device = options.device or ("cuda" if torch.cuda.is_available() else "cpu")
    torch.manual_seed(options.seed)
    rng = np.random.default_rng(options.seed)
    generator = torch.Generator(device).manual_seed(options.seed)
    store = Store(options.pages, device)
    if options.photos:
        store.add_photos(options.photos)
    net = LatticeNet().to(device)
    tune = torch.optim.AdamW(net.parameters(), lr=options.rate, weight_decay=1e-2)
    began, step, mean = time.time(), 0, None
    pool = ThreadPoolExecutor(6)
    while len(store.pages) - store.photos < options.least:
        store.refill(300, pool)
        time.sleep(1)
    if options.start:
        take_over(net, options.start, batch(store, 16, generator, rng)[0])
    began = time.time()
    while True:
        share = (time.time() - began) / (options.minutes * 60)
        if share >= 1:
            break
        for group in tune.param_groups:
            group["lr"] = options.rate * min(1, (step + 1) / 200) * (0.5 + 0.5 * np.cos(np.pi * share)) + 1e-5
        image, targets = batch(store, options.batch, generator, rng)
        with torch.autocast(device.split(":")[0], dtype=torch.bfloat16, enabled=device != "cpu"):
            output = net(image.contiguous(memory_format=torch.channels_last))
        loss, parts = loss_of(output, targets)
        tune.zero_grad()
        loss.backward()
        torch.nn.utils.clip_grad_norm_(net.parameters(), 1.0)
        tune.step()
        mean = np.array(parts) if mean is None else 0.98 * mean + 0.02 * np.array(parts)
        step += 1
        if step % 100 == 0:
            if share < 0.8:
                store.refill(200, pool)
            print(f"step {step} {time.time() - began:.0f} s pages {len(store.pages)} focal {mean[0]:.4f} inside {mean[1]:.4f} offset {mean[2]:.4f}", flush=True)
    net.eval()
    torch.save(net.state_dict(), pathlib.Path(options.out).with_suffix(".pt"))
    export(net.cpu(), options.out)


def export(net, path):
    """ONNX with free height and width."""
    torch.onnx.export(net, torch.zeros(1, 1, 480, 640), path, input_names=["luma"], output_names=["marks"], opset_version=17, dynamo=False,
                      dynamic_axes={"luma": {2: "height", 3: "width"}, "marks": {2: "rows", 3: "columns"}})


if __name__ == "__main__":
    main()
