"""Measures speed and memory and writes scripts/bench/RESULTS.md; started by run.sh."""

import datetime
import os
import platform
import re
import statistics
import subprocess
import sys
import time
from pathlib import Path

import cv2
import simplejpeg

import ocr

PHOTOS = Path(os.environ.get("PAGE_PHOTOS", "../shared/photos"))
ROUNDS, COUNT, PAGES = (int(os.environ.get(name, value)) for name, value in (("ROUNDS", 5), ("PHOTOS", 8), ("PAGES", 2000)))
WORK = Path("target/bench")
PROGRAM = "target/release/gridlift"
median = statistics.median


def clock(work):
    start = time.perf_counter()
    result = work()
    return (time.perf_counter() - start) * 1e3, result


# A child's peak counts what its parent held when it was started, so a small process in between starts it and measures.
LAUNCHER = """
import os, subprocess, sys, time
start = time.perf_counter()
child = subprocess.Popen(sys.argv[1:], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
_, _, usage = os.wait4(child.pid, 0)
print((time.perf_counter() - start) * 1e3, usage.ru_maxrss / 1024)
"""


def process(*arguments):
    """Milliseconds and peak MB of a whole process."""
    out = subprocess.run([sys.executable, "-I", "-S", "-c", LAUNCHER, *arguments], capture_output=True, text=True, check=True).stdout
    ms, mb = out.split()
    return float(ms), float(mb)


def bench_program():
    out = subprocess.run(["cargo", "bench", "--no-run", "--bench", "lift"], capture_output=True, text=True, check=True).stderr
    return re.search(r"\((target/\S+)\)", out).group(1)


class Served:
    """`lift` in one process that has lifted before, one thread."""

    def __init__(self, program):
        self.child = subprocess.Popen([program, "--serve"], stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True)

    def lift(self, path):
        print(path, file=self.child.stdin, flush=True)
        return [float(ms) for ms in self.child.stdout.readline().split()]


def decode(path):
    return simplejpeg.decode_jpeg(Path(path).read_bytes(), "RGB")


def interleaved(paths, served, reference):
    """The median over the photos of each photo's median ratio, the reference's median, and the medians of the stages."""
    own, other = {p: [] for p in paths}, {p: [] for p in paths}
    for path in paths:
        served.lift(path), reference(path)
    for _ in range(ROUNDS):
        for path in paths:
            other[path].append(clock(lambda: reference(path))[0])
            own[path].append(served.lift(path))
    ratio = median(median(o[4] for o in own[p]) / median(other[p]) for p in paths)
    stages = [median(o[i] for p in paths for o in own[p]) for i in range(5)]
    return ratio, median(ms for p in paths for ms in other[p]), stages


def encoded(path, progressive, size=None):
    """The photo, resized where asked for, coded anew by OpenCV."""
    to = WORK / f"{Path(path).stem}-{'progressive' if progressive else 'baseline'}-{size or 'same'}.jpg"
    picture = cv2.imread(path)
    picture = cv2.resize(picture, size) if size else picture
    cv2.imwrite(str(to), picture, [cv2.IMWRITE_JPEG_QUALITY, 92, cv2.IMWRITE_JPEG_PROGRESSIVE, int(progressive)])
    return str(to)


def pages_of(paths, count, jobs):
    """Seconds and peak MB of one process that lifts `count` pages."""
    listed = WORK / "list.txt"
    listed.write_text("".join(f"{paths[i % len(paths)]}\n" for i in range(count)))
    ms, mb = process(PROGRAM, "lift", "--jobs", str(jobs), "--from", str(listed))
    return ms / 1e3, mb


def main():
    WORK.mkdir(parents=True, exist_ok=True)
    rows, stages = [], []

    def tell(what, own, reference, ratio, must, aim):
        rows.append(f"| {what} | {own} | {reference} | {ratio} | {must} | {aim} |")
        print(rows[-1], flush=True)

    def in_process(name, paths, reference, named, form, must, aim):
        ratio, other, took = interleaved(paths, served, reference)
        tell(f"{name}, in process, one thread", f"{took[4]:.1f} ms", f"{named} {other:.1f} ms", form(ratio), must, aim)
        stages.append(f"| {name} | " + " | ".join(f"{ms:.1f}" for ms in took) + " |")

    full = [str(p) for p in sorted(PHOTOS.glob("full/*.jpg"))][:COUNT]
    small = [str(p) for p in sorted(PHOTOS.glob("printed/*.jpg"))]
    small = [p for p in small if cv2.imread(p).shape[:2] in ((480, 640), (640, 480))][: 2 * COUNT]
    program = bench_program()
    served = Served(program)
    times = lambda ratio: f"{ratio:.2f} x"
    share = lambda ratio: f"1/{1 / ratio:.1f}"
    in_process("8-megapixel photos, baseline JPEG", full, decode, "libjpeg-turbo", times, "1.6 x", "1.0 x")
    progressive = [encoded(p, True) for p in full]
    in_process("the same, coded anew as progressive JPEG", progressive, decode, "libjpeg-turbo", times, "1.6 x", "1.0 x")
    in_process("640x480 photos", small, ocr.lift, "OpenCV + OCR as it comes", share, "1/25", "1/60")
    in_process("640x480 photos", small, lambda path: ocr.lift(path, ocr.SQUARE), "the same, told that cells are square", share, "1/25", "1/60")

    whole = [(process(PROGRAM, "lift", "--jobs", jobs, p)[0], clock(lambda: decode(p))[0], jobs) for _ in range(ROUNDS) for p in full for jobs in "12"]
    for jobs in "12":
        own, other = median(o for o, _, j in whole if j == jobs), median(d for _, d, j in whole if j == jobs)
        tell(f"8-megapixel photos, a process each, --jobs {jobs}", f"{own:.1f} ms", f"bare decode {other:.1f} ms", times(own / other), "3 x", "2 x")
    start = median(process(program, "--start")[0] for _ in range(4 * ROUNDS))
    tell("process start to first inference done (find's network alone)", f"{start:.1f} ms", "", "", "30 ms", "18 ms")
    large = encoded(full[0], False, (3000, 4000))
    tell("peak memory, one 12-megapixel photo", f"{median(process(PROGRAM, 'lift', large)[1] for _ in range(3)):.0f} MB", "", "", "100 MB", "50 MB")
    one, two = zip(*((pages_of(small + full, 60, 1)[0], pages_of(small + full, 60, 2)[0]) for _ in range(3)))
    tell("pages a second, --jobs 2 against 1", f"{60 / median(two):.1f} /s", f"{60 / median(one):.1f} /s", times(median(one) / median(two)), "1.8 x", "1.95 x")
    few, many = pages_of(small, 100, 2)[1], pages_of(small, PAGES, 2)[1]
    tell(f"memory of {PAGES:,} pages against 100, --jobs 2", f"{many:.0f} MB", f"{few:.0f} MB", times(many / few), "1.1 x", "")

    out = subprocess.run(["cargo", "bench", "--bench", "prove"], capture_output=True, text=True, check=True).stdout
    micros = {name.strip(): float(us) for name, us in re.findall(r"^(\S.*?)\s{2,}([\d.]+)", out, re.M)}
    for name in ("17 givens", "minimal"):
        own, other = micros[f"{name}: count to two"], micros[f"{name}: SAT solver"]
        tell(f"prove, {name}: count to two", f"{own:.1f} us", f"batsat, rules preloaded {other:.0f} us", share(own / other), "1/50", "1/500")
    tell("canonical form, minimal puzzles", f"{micros['minimal: id'] / 1e3:.3f} ms", "", "", "1 ms", "0.1 ms")

    # What the same program reads of all photographs, so that no speed is won at its cost.
    judged = subprocess.run(["cargo", "run", "--release", "--quiet", "--example", "judge_pages", "--", str(PHOTOS)], capture_output=True, text=True, check=True).stdout
    read = [[cell.strip() for cell in line.split("|")[1:-1]] for line in judged.splitlines() if line.startswith("|")]
    kept = [read[0].index(name) for name in ("pages", "number", "found", "givens exact", "proven", "wrong", "entries right", "entries as print")]
    accuracy = ["| " + " | ".join(line[i] for i in kept) + " |" for line in read]
    print(*accuracy, sep="\n", flush=True)

    cpu = next((line.split(":")[1].strip() for line in open("/proc/cpuinfo") if line.startswith("model name")), platform.processor())
    kind = "AVX-512, " if "avx512f" in Path("/proc/cpuinfo").read_text() else ""
    load = os.getloadavg()[1]
    Path("scripts/bench/RESULTS.md").write_text(f"""# Speed

Written by `sh scripts/bench/run.sh` on {datetime.date.today()}: {cpu}, {kind}{os.cpu_count()} cores, load {load:.1f} (this run's own and others').
Medians, own and reference interleaved in one run ({ROUNDS} rounds, {len(full)} and {len(small)} photos), wall time. libjpeg-turbo by simplejpeg {simplejpeg.__version__ if hasattr(simplejpeg, '__version__') else ''}
decodes to RGB. "OpenCV + OCR" is `scripts/bench/ocr.py`: RapidOCR's recogniser by onnxruntime, one thread.

| what | gridlift | reference | ratio | must | aim |
| --- | --- | --- | --- | --- | --- |
""" + "\n".join(rows) + """

Stages in process, milliseconds:

| photos | decode | find | read | label | whole |
| --- | --- | --- | --- | --- | --- |
""" + "\n".join(stages) + """

What the same program reads of all photographs (`judge_pages`):

""" + "\n".join(accuracy) + "\n")


if __name__ == "__main__":
    sys.exit(main())
