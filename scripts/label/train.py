"""Trains a label network on what draw.py draws: `train.py place|text --data DIR --out FILE.onnx --minutes M`.

While it trains it goes on taking in new files of DIR. FILE.pt gets the same weights to go on from. Files of seeds from 690000 to 699999 are kept for measuring; figures are printed at the end.
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
from torch.optim.swa_utils import AveragedModel, get_ema_multi_avg_fn

import frame
from draw import MARGIN, SOURCES
from export import export
from lines import ALPHABET, LONGEST, NUMBERS
from nets import TURNS, PlaceNet, TextNet, evened

sys.path.append(str(pathlib.Path(__file__).parent.parent / "train"))
from take_over import take_over  # noqa: E402

STRIDE = 4
WIDTHS = (64, 96, 128, 192, 256, 384)      # the program takes all multiples of 32 between them (WIDTHS of src/label/text.rs)
STEADY = 0.999                              # of the running mean of the weights, which is what is kept
SHARES = (0.1, 0.4, 0.5)                    # of each of SOURCES in a batch


class Store:
    """The drawn examples, on the device: `data` and, of seeds that only measure, `held`, each a tuple of tensors with a row for each example."""

    def __init__(self, folder, device, kind):
        self.folder, self.device, self.kind, self.seen = folder, device, kind, set()
        self.rows = {False: [], True: []}
        self.sizes = {False: 0, True: 0}
        self.picks = []

    def refill(self, most=400):
        fresh = [f for f in sorted(glob.glob(os.path.join(self.folder, "*.npz"))) if f not in self.seen and not f.endswith(".part.npz")][:most]
        for file in fresh:
            self.seen.add(file)
            d = np.load(file)
            if self.kind == "place":
                item = (torch.from_numpy(d["frames"]), torch.from_numpy(d["boxes"]))
            else:
                codes = np.zeros((len(d["texts"]), 40), np.int16)
                sizes = np.array([min(len(t), 40) for t in d["texts"]], np.int32)
                for row, text in zip(codes, d["texts"]):
                    row[:min(len(text), 40)] = [NUMBERS[c] for c in str(text)[:40]]
                item = tuple(torch.from_numpy(x) for x in (d["strips"], d["widths"], codes, sizes, d["spans"], d["sources"]))
            self.add(690000 <= int(os.path.basename(file).split("_")[0]) < 700000, item)
        if fresh and self.kind == "text" and self.data:
            self.picks = picks_of(self.data)
        return self.sizes[False]

    def add(self, held, item):
        """Into buffers that double when they are full."""
        rows, size, count = self.rows[held], self.sizes[held], len(item[0])
        if not rows or size + count > len(rows[0]):
            grown = [torch.empty((2 * (size + count), *part.shape[1:]), dtype=part.dtype, device=self.device) for part in item]
            for new, old in zip(grown, rows):
                new[:size] = old[:size]
            self.rows[held] = rows = grown
        for row, part in zip(rows, item):
            row[size:size + count] = part.to(self.device)
        self.sizes[held] += count

    @property
    def data(self):
        return tuple(row[:self.sizes[False]] for row in self.rows[False])

    @property
    def held(self):
        return tuple(row[:self.sizes[True]] for row in self.rows[True])


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
    parts = (positive / n, negative / n, moved.sum() / n / 4)
    return sum(parts), tuple(part.detach() for part in parts)


def picks_of(data):
    """[(width, share of batches, [examples of each of SOURCES])] for each of WIDTHS that some line takes."""
    widths, sources = data[1] - 2 * MARGIN, data[5]
    picks, lower = [], 0
    for width in WIDTHS:
        fits = (widths <= width) & (widths > lower)
        lower = width
        of = [torch.nonzero(fits & (sources == i))[:, 0] for i in range(len(SOURCES))]
        # As often as labels are that long on pages, but lines drawn loosely have a say, since they are more.
        share = sum(len(each) / max(1, int((sources == i).sum())) * part for i, (each, part) in enumerate(zip(of, SHARES)))
        if share:
            picks.append((width, share, of))
    return picks


def text_picks(picks, size, generator, rng):
    """A batch of lines of one width, so that short labels aren't mostly padding: from each source its share, as far as there are any."""
    shares = np.array([share for _, share, _ in picks])
    _, _, of = picks[rng.choice(len(picks), p=shares / shares.sum())]
    parts = np.array([part if len(each) else 0 for each, part in zip(of, SHARES)])
    counts = rng.multinomial(size, parts / parts.sum())
    return torch.cat([each[torch.randint(len(each), (int(count),), generator=generator, device=each.device)] for each, count in zip(of, counts) if count])


def text_batch(data, picks, generator, augment=True):
    """Lines [N, 1, 32, W] at one of WIDTHS, normalised, with codes, their sizes and the width of each that counts."""
    strips, widths, codes, sizes, spans, sources = data
    device, n = strips.device, len(picks)
    limit = next(w for w in WIDTHS if w >= min(int((widths[picks].max() - 2 * MARGIN).item()), LONGEST))
    x = strips[picks, :, :limit + 2 * MARGIN][:, None].float()
    high, wide = x.shape[2], x.shape[3]
    own = (widths[picks] - 2 * MARGIN).clamp_max(limit).float()
    draw = lambda spread: (torch.randn(n, generator=generator, device=device) * spread if augment else torch.zeros(n, device=device))
    chance = lambda: (torch.rand(n, generator=generator, device=device) if augment else torch.ones(n, device=device))
    program = (sources[picks] == SOURCES.index("program")).float()
    # What is found as the line is less or more high than its text; the program's own cuts err already.
    zoom = torch.exp(draw(0.10) * (1 - 0.6 * program))
    scale_x, scale_y = (zoom * (1 + draw(0.06))).clamp(0.75, 1.3), zoom * (1 + draw(0.06))
    shift_y, shear, tilt = draw(1.3), draw(0.05), draw(0.008)
    # In width: what lies before and behind the text is cut at another place, never the text itself.
    room = lambda edge: (edge - 1 - MARGIN).clamp(-MARGIN, 8)
    first = torch.minimum(draw(4).clamp(-MARGIN, 8), room(spans[picks, 0]))
    last = torch.minimum(draw(4).clamp(-MARGIN, 8), room(widths[picks] - spans[picks, 1]))
    length = (own - first - last) / scale_x
    # What would be too long for the width is set narrower.
    scale_x = scale_x * (length / limit).clamp_min(1)
    length = length.clamp(16, limit)
    columns = torch.arange(limit, device=device).float()[None, None]
    rows = torch.arange(frame.STRIP, device=device).float()[None, :, None]
    middle = (rows - frame.STRIP / 2 + 0.5) * scale_y[:, None, None] + shift_y[:, None, None]
    sx = MARGIN + first[:, None, None] + torch.minimum(columns, length[:, None, None] - 1) * scale_x[:, None, None] + shear[:, None, None] * middle
    sy = middle + high / 2 - 0.5 + tilt[:, None, None] * (columns - own[:, None, None] / 2)
    grid = torch.stack([(sx.expand(n, frame.STRIP, limit) + 0.5) / wide * 2 - 1, (sy + 0.5) / high * 2 - 1], -1)
    x = F.grid_sample(x, grid, padding_mode="border", align_corners=False)
    if augment:
        wear_out(x, draw, chance, generator)
    return spread_out(x, length), codes[picks].long(), sizes[picks].long(), length


def wear_out(x, draw, chance, generator):
    """Strokes bolder or thinner, blur, uneven light, the negative and noise, each on some of the lines [N, 1, H, W] of 0 to 255, in place."""
    n, _, high, wide = x.shape
    each = lambda values: values[:, None, None, None]
    x += each((chance() < 0.25) * chance()) * (-F.max_pool2d(-x, 3, 1, 1) - x)
    x += each((chance() < 0.15) * chance() * 0.7) * (F.max_pool2d(x, 3, 1, 1) - x)
    for size in (3, 5):
        blurred = F.avg_pool2d(F.avg_pool2d(x, size, 1, size // 2, count_include_pad=False), size, 1, size // 2, count_include_pad=False)
        x += each((chance() < 0.2) * chance()) * (blurred - x)
    along = torch.linspace(-1, 1, wide, device=x.device)[None, None, None]
    across = torch.linspace(-1, 1, high, device=x.device)[None, None, :, None]
    x *= 1 + each(draw(0.06)) * along + each(draw(0.04)) * across
    negative = each((chance() < 0.1).float())
    x += negative * (255 - 2 * x)
    grain = torch.randn(x.shape, generator=generator, device=x.device)
    coarse = F.avg_pool2d(grain, 3, 1, 1) * 3
    x += each(draw(6).abs() * (chance() < 0.6)) * torch.where(each(chance() < 0.5), grain, coarse)


def spread_out(x, length):
    """Against mean and spread of the columns that count; the rest is the mean."""
    counts = (torch.arange(x.shape[3], device=x.device)[None] < length[:, None]).float()[:, None, None]
    total = counts.sum((2, 3), keepdim=True) * x.shape[2]
    mean = (x * counts).sum((2, 3), keepdim=True) / total
    spread = (((x - mean) ** 2 * counts).sum((2, 3), keepdim=True) / total).sqrt()
    return ((x - mean) / (spread + 4) * counts).contiguous(memory_format=torch.channels_last)


def text_loss(output, codes, sizes):
    steps = torch.full((len(output),), output.shape[1], dtype=torch.long, device=output.device)
    losses = F.ctc_loss(output.transpose(0, 1).float(), codes, steps, sizes, reduction="none", zero_infinity=True)
    # The unreadable tells little: beyond 30 nats a line counts by the logarithm, which leaves even the first steps a slope.
    loss = torch.where(losses > 30, 30 + 30 * torch.log(losses.clamp_min(30) / 30), losses).mean()
    return loss, (loss.detach(),)


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
            x, codes, sizes, _ = text_batch(data, picks, None, False)
            for text, code, size, source in zip(read(net(x)), codes.tolist(), sizes.tolist(), data[5][picks].tolist()):
                truth = "".join(ALPHABET[c - 1] for c in code[:size])
                right[source] = right.get(source, 0) + (text.replace(" ", "") == truth.replace(" ", ""))
                total[source] = total.get(source, 0) + 1
    net.train()
    return " ".join(f"{SOURCES[k]} {right[k]}/{total[k]} {100 * right[k] / total[k]:.1f} %" for k in sorted(total))


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
    rng = np.random.default_rng(1)
    batch = lambda size: (place_batch(store.data, size, generator) if options.kind == "place"
                          else text_batch(store.data, text_picks(store.picks, size, generator, rng), generator))
    if options.start:
        take_over(net, options.start, batch(64)[0])
    tune = torch.optim.AdamW(net.parameters(), lr=rate, weight_decay=1e-2)
    steady = AveragedModel(net, multi_avg_fn=get_ema_multi_avg_fn(STEADY), use_buffers=True)
    began, step, mean = time.time(), 0, None
    while (share := (time.time() - began) / (options.minutes * 60)) < 1:
        for group in tune.param_groups:
            group["lr"] = rate * min(1, (step + 1) / 200) * (0.5 + 0.5 * np.cos(np.pi * share)) + 1e-5
        with torch.autocast(device.split(":")[0], dtype=torch.bfloat16, enabled=device != "cpu"):
            if options.kind == "place":
                x, box = batch(options.batch)
                loss, parts = place_loss(net(x), box)
            else:
                x, codes, sizes, _ = batch(options.batch)
                loss, parts = text_loss(net(x), codes, sizes)
        tune.zero_grad()
        loss.backward()
        torch.nn.utils.clip_grad_norm_(net.parameters(), 2.0)
        tune.step()
        steady.update_parameters(net)
        parts = torch.stack(parts)
        mean = parts if mean is None else mean + 0.02 * (parts - mean)
        step += 1
        if step % 200 == 0:
            if share < 0.9:
                store.refill()
            print(f"step {step} {time.time() - began:.0f} s examples {len(store.data[0])} loss {' '.join(f'{v:.4f}' for v in mean.tolist())}", flush=True)
        if step % 2000 == 0 and store.held:
            print((measure_place if options.kind == "place" else measure_text)(steady.module, store.held), flush=True)
    net = steady.module
    if store.held:
        print("at the end:", (measure_place if options.kind == "place" else measure_text)(net, store.held), flush=True)
    net.cpu().eval()
    torch.save(net.state_dict(), pathlib.Path(options.out).with_suffix(".pt"))
    export(net, options.kind, options.out)


if __name__ == "__main__":
    main()
