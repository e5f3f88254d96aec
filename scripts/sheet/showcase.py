"""Makes the README's picture of sheets: python3 scripts/sheet/showcase.py (needs Pillow and a built program)."""

import pathlib
import subprocess
import tempfile

from PIL import Image

TOP = pathlib.Path(__file__).resolve().parents[2]
PROGRAM = TOP / "target/release/gridlift"
SOURCE = "Orchard Hours, Pear Tree Press, 2026. May be copied for its readers"
HEIGHT = 620  # of the picture, in pixels


def sheet(folder, *arguments):
    subprocess.run([PROGRAM, "sheet", folder / "puzzles.txt", *arguments], check=True)


def page(path, height):
    picture = Image.open(path).convert("RGB")
    return picture.resize((round(picture.width * height / picture.height), height), Image.LANCZOS)


def frame(path, height):
    """A frame over a camera's picture, which a flat green stands for."""
    picture = Image.open(path)
    ground = Image.new("RGBA", picture.size, (112, 138, 118, 255))
    ground.alpha_composite(picture)
    return ground.convert("RGB").resize((round(picture.width * height / picture.height), height), Image.LANCZOS)


def main():
    lines = (TOP / "scripts/pages/puzzles.txt").read_text().splitlines()
    puzzles = [line.split(" ")[0] for line in lines if not line.startswith("#")]
    with tempfile.TemporaryDirectory() as folder:
        folder = pathlib.Path(folder)
        (folder / "puzzles.txt").write_text("\n".join(puzzles[28:34]) + "\n")
        sheet(folder, "-o", folder / "page.png", "--per-page", "2", "--notes", "--title", "Week 7: a pair in each",
              "--link", "https://example.org/orchard/7", "--source", SOURCE)
        one = ["--grid", "2", "--boards"]
        sheet(folder, *one, "-o", folder / "steps.png", "--per-page", "4", "--steps", "9-12", "--title", "Week 7: step by step", "--source", SOURCE)
        sheet(folder, *one, "-o", folder / "frame.png", "--steps", "9", "--frame", "1920x1080")
        gap = 14
        left, middle = page(folder / "page-1.png", HEIGHT - 2 * gap), page(folder / "steps.png", HEIGHT - 2 * gap)
        right = frame(folder / "frame-009.png", 400)
        picture = Image.new("RGB", (left.width + middle.width + right.width + 4 * gap, HEIGHT), (214, 214, 210))
        across = gap
        for part in (left, middle, right):
            picture.paste(part, (across, (HEIGHT - part.height) // 2))
            across += part.width + gap
        picture.quantize(200, method=Image.Quantize.FASTOCTREE).save(TOP / "scripts/sheet/sheets.png", optimize=True)


main()
