"""Trains a label network on what draw.py draws: `train.py place|text --data DIR --out FILE.onnx --minutes M`.

While it trains it goes on taking in new files of DIR. Files of seeds from 690000 to 699999 are kept for measuring; figures are printed at the end.
"""
import argparse
import glob
import os
import pathlib
import sys
import time

import numpy as np
import torch
import torch.nn.functional as F

import frame
from draw import MARGIN
from export import export
from lines import ALPHABET, LONGEST, NUMBERS
from nets import TURNS, PlaceNet, TextNet, evened

sys.path.append(str(pathlib.Path(__file__).parent.parent / "train"))
from take_over import take_over  # noqa: E402

STRIDE = 4
WIDTHS = (64, 96, 128, 192, 256, 384)      # as WIDTHS of src/label/text.rs


class Store:
    """The drawn examples, on the device."""

    def __init__(self, folder, device, kind):
        self.folder, self.device, self.kind, self.seen = folder, device, kind, set()
        self.parts, self.kept = [], []
        self.data, self.held = None, None

    def refill(self, most=400):
        fresh = [f for f in sorted(glob.glob(os.path.join(self.folder, "*.npz"))) if f not in self.seen and not f.endswith(".part.npz")][:most]
        for file in fresh:
            self.seen.add(file)
            d = np.load(file)
            if self.kind == "place":
                item = (torch.from_numpy(d["frames"]), torch.from_numpy(d["boxes"]))
            else:
                codes = np.zeros((len(d["texts"]), 40), np.int16)
                sizes = np.array([len(t) for t in d["texts"]], np.int32)
                for row, text in zip(codes, d["texts"]):
                    row[:len(text)] = [NUMBERS[c] for c in str(text)[:40]]
                item = tuple(torch.from_numpy(x) for x in (d["strips"], d["widths"], codes, sizes, d["loose"]))
            held = 690000 <= int(os.path.basename(file).split("_")[0]) < 700000
            (self.kept if held else self.parts).append(tuple(x.to(self.device) for x in item))
        if fresh:
            join = lambda parts: tuple(torch.cat(columns) for columns in zip(*parts))
            self.parts = [join(self.parts)] if self.parts else []
            self.kept = [join(self.kept)] if self.kept else []
            self.data, self.held = (self.parts or [None])[0], (self.kept or [None])[0]
        return len(self.data[0]) if self.data else 0


def place_batch(data, size, generator, augment=True, picks=None):
    """Evened surroundings [N, 1, 224, 224], shifted, scaled and tilted at random, and boxes [N, 5] moved with them (px instead of cells)."""
    frames, boxes = data
    device = frames.device
    if picks is None:
        picks = torch.randint(len(frames), (size,), generator=generator, device=device)
    x, box = frames[picks][:, None].float() / 255, boxes[picks].clone()
    box[:, :4] = (box[:, :4] + frame.MARGIN) * frame.PITCH
    if augment:
        n = len(x)
        draw = lambda spread: torch.randn(n, generator=generator, device=device) * spread
        scale_x, scale_y, shift_x, shift_y, shear = 1 + draw(0.015), 1 + draw(0.015), draw(0.012), draw(0.012), draw(0.006)
        theta = torch.stack([torch.stack([scale_x, shear, shift_x], 1), torch.stack([shear * 0, scale_y, shift_y], 1)], 1)
        x = F.grid_sample(x, F.affine_grid(theta, x.shape, align_corners=False), padding_mode="border", align_corners=False)
        half = frame.SIDE / 2
        for left, right, scale, shift in ((0, 2, scale_x, shift_x), (1, 3, scale_y, shift_y)):
            for side in (left, right):
                box[:, side] = ((box[:, side] / half - 1) - shift) / scale * half + half
        x = (x + draw(1.0)[:, None, None, None].abs() * 0.02 * torch.randn(x.shape, generator=generator, device=device)).clamp(0, 1)
        blurred = F.avg_pool2d(x, 3, 1, 1, count_include_pad=False)
        share = torch.rand(n, generator=generator, device=device)[:, None, None, None]
        x = torch.where(share > 0.7, x + (blurred - x) * (share - 0.7) / 0.3, x)
    return evened(x).contiguous(memory_format=torch.channels_last), box


def place_targets(box):
    """Where the output should be on [N, 3, 56, 56], where it doesn't matter, and the distances [N, 4, 56, 56] in cells."""
    side, device = frame.SIDE // STRIDE, box.device
    axis = (torch.arange(side, device=device).float() + 0.5) * STRIDE
    y, x = torch.meshgrid(axis, axis, indexing="ij")
    left, top, right, bottom = (box[:, i, None, None] for i in range(4))
    far = torch.stack([x - left, y - top, right - x, bottom - y], 1)
    within = far.amin(1)
    # A label less high than two output cells counts as being that high, so that some cell's middle lies in it.
    slack = (STRIDE * 0.5 - torch.minimum(right - left, bottom - top) / 2).clamp_min(0) + 0.01
    turn = torch.stack([box[:, 4] == t for t in TURNS], 1)
    hit = (within > -slack)[:, None] & turn[:, :, None, None]
    doubt = ((within > -slack - STRIDE)[:, None] & ~hit & (box[:, 4] >= 0)[:, None, None, None])
    return hit.float(), doubt, far / frame.PITCH


def place_loss(output, box):
    hit, doubt, far = place_targets(box)
    logits = output[:, :3].float()
    p = torch.sigmoid(logits).clamp(1e-4, 1 - 1e-4)
    count = hit.sum((1, 2, 3), keepdim=True).clamp_min(1)
    positive = -((1 - p) ** 2 * torch.log(p) * hit / count).sum()
    negative = -(p ** 2 * torch.log(1 - p) * (1 - hit) * ~doubt).sum() / 8
    here = hit.amax(1, keepdim=True) > 0
    reach = torch.tensor([1.5, 9.0, 1.5, 9.0], device=output.device)
    side_ways = (box[:, 4] > 0)[:, None]
    reach = torch.where(side_ways, reach.roll(1)[None], reach[None])[:, :, None, None]
    high = torch.minimum(box[:, 2] - box[:, 0], box[:, 3] - box[:, 1]).clamp_min(2)[:, None, None, None] / frame.PITCH
    want = torch.minimum(far, reach)
    moved = ((torch.minimum(output[:, 3:].float(), reach + 0.5) - want).abs() / high).clamp_max(8) * here / count
    n = len(output)
    return positive / n + negative / n + 1.0 * moved.sum() / n / 4, (positive.item() / n, negative.item() / n, moved.sum().item() / n / 4)


def text_batch(data, size, generator, augment=True, picks=None):
    """Lines [N, 1, 32, W] at one of WIDTHS, normalised, with codes, their sizes and the width of each that counts."""
    strips, widths, codes, sizes, loose = data
    device = strips.device
    if picks is None:
        # One width a batch, so that short labels aren't mostly padding: a random line's, and others that fit. Most labels are short.
        for _ in range(4):
            wide = widths[torch.randint(len(widths), (1,), generator=generator, device=device)].item() - 2 * MARGIN
            if wide <= 128:
                break
        limit = next(w for w in WIDTHS if w >= min(wide, LONGEST))
        lower = max([w for w in WIDTHS if w < limit], default=0)
        fits = (widths - 2 * MARGIN <= limit) & (widths - 2 * MARGIN > lower)
        from_pages = fits & ~loose
        # Lines of pages count as much as loose ones.
        if torch.rand(1, generator=generator, device=device).item() < 0.5 and from_pages.any():
            fits = from_pages
        fits = torch.nonzero(fits)[:, 0]
        picks = fits[torch.randint(len(fits), (size,), generator=generator, device=device)]
    n, limit = len(picks), next(w for w in WIDTHS if w >= min(int((widths[picks].max() - 2 * MARGIN).item()), LONGEST))
    x = strips[picks, :, :limit + 2 * MARGIN][:, None].float()
    high, wide = x.shape[2], x.shape[3]
    own = (widths[picks] - 2 * MARGIN).clamp_max(limit).float()
    draw = lambda spread: (torch.randn(n, generator=generator, device=device) * spread if augment else torch.zeros(n, device=device))
    scale_y, shift_y, shear, tilt = 1 + draw(0.08), draw(1.2), draw(0.03), draw(0.006)
    # In width: what lies before and behind the text is cut at another place.
    first, last = draw(4).clamp(-MARGIN, 8), draw(4).clamp(-MARGIN, 8)
    scale_x = (1 + draw(0.08)).clamp(0.8, 1.2)
    length = ((own - first - last) / scale_x).clamp(16, limit)
    columns = torch.arange(limit, device=device).float()[None, None]
    rows = torch.arange(frame.STRIP, device=device).float()[None, :, None]
    middle = (rows - frame.STRIP / 2 + 0.5) * scale_y[:, None, None] + shift_y[:, None, None]
    sx = MARGIN + first[:, None, None] + torch.minimum(columns, length[:, None, None] - 1) * scale_x[:, None, None] + shear[:, None, None] * middle
    sy = middle + high / 2 - 0.5 + tilt[:, None, None] * (columns - own[:, None, None] / 2)
    grid = torch.stack([(sx.expand(n, frame.STRIP, limit) + 0.5) / wide * 2 - 1, (sy + 0.5) / high * 2 - 1], -1)
    x = F.grid_sample(x, grid, padding_mode="border", align_corners=False)
    if augment:
        x = x + draw(4)[:, None, None, None].abs() * torch.randn(x.shape, generator=generator, device=device)
    return spread_out(x, length), codes[picks].long(), sizes[picks].long(), length


def spread_out(x, length):
    """Against mean and spread of the columns that count; the rest is the mean."""
    counts = (torch.arange(x.shape[3], device=x.device)[None] < length[:, None]).float()[:, None, None]
    total = counts.sum((2, 3), keepdim=True) * x.shape[2]
    mean = (x * counts).sum((2, 3), keepdim=True) / total
    spread = (((x - mean) ** 2 * counts).sum((2, 3), keepdim=True) / total).sqrt()
    return ((x - mean) / (spread + 4) * counts).contiguous(memory_format=torch.channels_last)


def text_loss(output, codes, sizes, length):
    steps = torch.full((len(output),), output.shape[1], dtype=torch.long, device=output.device)
    losses = F.ctc_loss(output.transpose(0, 1).float(), codes, steps, sizes, reduction="none", zero_infinity=True)
    loss = (losses.clamp_max(60)).mean()
    return loss, (loss.item(),)


def read(output):
    """The likeliest path's texts of log probabilities [N, T, C]."""
    texts = []
    for path in output.argmax(-1).tolist():
        text, before = "", 0
        for code in path:
            if code and code != before:
                text += ALPHABET[code - 1]
            before = code
        texts.append(" ".join(text.split()))
    return texts


def measure_text(net, data):
    net.eval()
    right, total = {}, {}
    with torch.no_grad():
        for start in range(0, len(data[0]), 64):
            picks = torch.arange(start, min(start + 64, len(data[0])), device=data[0].device)
            x, codes, sizes, length = text_batch(data, 0, None, False, picks)
            for text, code, size, loose in zip(read(net(x)), codes.tolist(), sizes.tolist(), data[4][picks].tolist()):
                truth = "".join(ALPHABET[c - 1] for c in code[:size])
                right[loose] = right.get(loose, 0) + (text == truth)
                total[loose] = total.get(loose, 0) + 1
    net.train()
    return " ".join(f"{'loose' if k else 'pages'} {right[k]}/{total[k]} {100 * right[k] / total[k]:.1f} %" for k in sorted(total))


def measure_place(net, data):
    """Labels found (the best output cell lies within the box and tells its turn) and frames without a label left alone."""
    net.eval()
    found = labels = alone = none = 0
    with torch.no_grad():
        for start in range(0, len(data[0]), 64):
            picks = torch.arange(start, min(start + 64, len(data[0])), device=data[0].device)
            x, box = place_batch(data, 0, None, False, picks)
            p = torch.sigmoid(net(x)[:, :3])
            hit = place_targets(box)[0]
            best = p.flatten(1).max(1)
            at = hit.flatten(1).gather(1, best.indices[:, None])[:, 0]
            has = box[:, 4] >= 0
            found += int(((at > 0) & (best.values > 0.5) & has).sum())
            labels += int(has.sum())
            alone += int(((best.values < 0.5) & ~has).sum())
            none += int((~has).sum())
    net.train()
    return f"found {found}/{labels} {100 * found / max(labels, 1):.1f} % left alone {alone}/{none} {100 * alone / max(none, 1):.1f} %"


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("kind", choices=("place", "text"))
    parser.add_argument("--data", required=True)
    parser.add_argument("--out", required=True)
    parser.add_argument("--minutes", type=float, default=6)
    parser.add_argument("--batch", type=int, default=128)
    parser.add_argument("--rate", type=float, help="learning rate at the start [3e-3 from nothing, else 1e-3]; it falls along a cosine")
    parser.add_argument("--least", type=int, default=500, help="examples to wait for")
    parser.add_argument("--device", default="cuda" if torch.cuda.is_available() else "cpu")
    parser.add_argument("--start", help="weights to go on from, .pt or .onnx")
    options = parser.parse_args()
    rate = options.rate or (1e-3 if options.start else 3e-3)
    torch.manual_seed(1)
    device = options.device
    generator = torch.Generator(device).manual_seed(1)
    store = Store(options.data, device, options.kind)
    while store.refill() < options.least:
        time.sleep(2)
    net = (PlaceNet if options.kind == "place" else TextNet)().to(device, memory_format=torch.channels_last)
    print(sum(p.numel() for p in net.parameters()), "parameters", flush=True)
    if options.start:
        batch = place_batch if options.kind == "place" else text_batch
        take_over(net, options.start, batch(store.data, 64, generator)[0])
    tune = torch.optim.AdamW(net.parameters(), lr=rate, weight_decay=1e-2)
    began, step, mean = time.time(), 0, None
    while (share := (time.time() - began) / (options.minutes * 60)) < 1:
        for group in tune.param_groups:
            group["lr"] = rate * min(1, (step + 1) / 200) * (0.5 + 0.5 * np.cos(np.pi * share)) + 1e-5
        with torch.autocast(device.split(":")[0], dtype=torch.bfloat16, enabled=device != "cpu"):
            if options.kind == "place":
                x, box = place_batch(store.data, options.batch, generator)
                loss, parts = place_loss(net(x), box)
            else:
                x, codes, sizes, length = text_batch(store.data, options.batch, generator)
                loss, parts = text_loss(net(x), codes, sizes, length)
        tune.zero_grad()
        loss.backward()
        torch.nn.utils.clip_grad_norm_(net.parameters(), 2.0)
        tune.step()
        mean = np.array(parts) if mean is None else 0.98 * mean + 0.02 * np.array(parts)
        step += 1
        if step % 200 == 0:
            if share < 0.85:
                store.refill()
            print(f"step {step} {time.time() - began:.0f} s examples {len(store.data[0])} loss {' '.join(f'{v:.4f}' for v in mean)}", flush=True)
        if step % 1000 == 0 and store.held:
            print((measure_place if options.kind == "place" else measure_text)(net, store.held), flush=True)
    net.eval()
    if store.held:
        print("at the end:", (measure_place if options.kind == "place" else measure_text)(net, store.held), flush=True)
    export(net.cpu().eval(), options.kind, options.out)


if __name__ == "__main__":
    main()
