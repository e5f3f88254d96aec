"""Writes the small picture files in tests/data/ that the image crate can't write itself.

Needs Pillow. Run from the top folder: python3 scripts/pages/odd_files.py
"""
from pathlib import Path

from PIL import Image, TiffImagePlugin

out = Path("tests/data")
out.mkdir(parents=True, exist_ok=True)
picture = Image.new("RGB", (61, 47))
picture.putdata([(x * 4 % 256, x * y % 256, y * 5 % 256) for y in range(47) for x in range(61)])
picture.save(out / "progressive.jpg", quality=90, progressive=True, subsampling=2)
picture.save(out / "restarts.jpg", quality=90, subsampling=2, restart_marker_blocks=3)
picture.convert("CMYK").save(out / "cmyk.jpg", quality=90)
picture.quantize(16).save(out / "palette.png")
picture.convert("1").save(out / "one_bit.png")
frames = [picture, picture.rotate(180)]
frames[0].save(out / "animated.webp", save_all=True, append_images=frames[1:], lossless=True)
frames[0].save(out / "two_pages.tiff", save_all=True, append_images=frames[1:], compression="tiff_lzw")
# Four pages, coded in four ways: two that are read and two that aren't.
with TiffImagePlugin.AppendingTiffWriter(str(out / "four_ways.tiff"), new=True) as file:
    for page, coding in [("1", "group4"), ("1", "group3"), ("P", None), ("RGB", "tiff_adobe_deflate")]:
        (picture.quantize(16) if page == "P" else picture.convert(page)).save(file, format="TIFF", compression=coding)
        file.newFrame()
