"""Makes showcase.jpg beside it, the picture at the head of the README, from what the program itself draws: `python3 scripts/pages/showcase.py`.

Runs `target/release/gridlift lift --picture` on three sample pages and puts the pictures side by side. Needs Pillow and a built program.
"""
import os
import subprocess
import tempfile

from PIL import Image

ROOT = os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "..")
PAGES = ("clean", "misprint", "phone")  # proven, misprinted, doubtful
HEIGHT, GAP, QUALITY = 620, 12, 82


def main():
    program = os.path.join("target", "release", "gridlift")
    with tempfile.TemporaryDirectory() as folder:
        files = [f"samples/{name}.jpg" for name in PAGES]
        ended = subprocess.run([program, "lift", "--picture", folder, *files], cwd=ROOT, stdout=subprocess.DEVNULL)
        if ended.returncode not in (0, 1):  # 1: some page needs a person, as two of these do
            raise SystemExit(f"{program} ended with {ended.returncode}")
        pictures = []
        for file in files:
            with Image.open(os.path.join(folder, file)) as image:
                pictures.append(image.resize((round(image.width * HEIGHT / image.height), HEIGHT), Image.LANCZOS))
    row = Image.new("RGB", (sum(p.width for p in pictures) + GAP * (len(pictures) - 1), HEIGHT), "white")
    left = 0
    for picture in pictures:
        row.paste(picture, (left, 0))
        left += picture.width + GAP
    row.save(os.path.join(ROOT, "scripts", "pages", "showcase.jpg"), quality=QUALITY)


if __name__ == "__main__":
    main()
