"""The print fonts of the pages: which there are, which are held out, and how large their digits come out."""
import functools
import glob
import json
import os
import re

from PIL import ImageFont

HERE = os.path.dirname(os.path.abspath(__file__))
PRINT = os.path.join(HERE, ".cache", "fonts", "print")

# Families of every kind, never seen in training: drawn only with heldout=True.
HELD_OUT = ("SourceSans3", "IBMPlexSans", "PublicSans", "Cabin", "Heebo", "Rubik", "C059", "PTSerif", "LibreBaskerville", "Literata",
            "ZillaSlab", "RobotoCondensed", "Oswald", "Carlito", "ClearSans", "Inconsolata", "LinLibertine")
# What newspapers and cheap booklets set: neutral grotesques and Times-like romans, drawn as often as all others together.
NEWSPAPER = ("Arimo", "LiberationSans", "NimbusSans", "NimbusRoman", "LiberationSerif", "OpenSans", "Roboto", "SourceSans3", "NotoSans",
             "LibreFranklin", "WorkSans", "DejaVuSans", "Lato", "FiraSans", "Inter", "Heebo", "PublicSans", "Archivo", "NotoSerif",
             "PTSans", "MerriweatherSans", "Hind", "ClearSans", "Carlito", "Barlow", "IBMPlexSans", "AlbertSans", "Almarai")


def family_of(path):
    return re.split(r"[-_]", os.path.splitext(os.path.basename(path))[0])[0]


@functools.lru_cache(1)
def printed():
    """All print font files."""
    return sorted(glob.glob(os.path.join(PRINT, "*.[to]tf")))


@functools.lru_cache(2)
def shelf(heldout):
    """All print font files, and those of them that newspapers would use."""
    files = printed()
    if not files:
        raise FileNotFoundError(f"no fonts in {PRINT}: run scripts/pages/fetch.sh first")
    files = [f for f in files if (family_of(f) in HELD_OUT) == heldout]
    return files, [f for f in files if family_of(f) in NEWSPAPER]


@functools.lru_cache(1)
def characters():
    """All that each print font file can set, by its name: fetch_fonts.py writes it down, so that drawing needs no fontTools."""
    with open(os.path.join(HERE, ".cache", "fonts", "characters.json")) as file:
        return {name: frozenset(text) for name, text in json.load(file).items()}


def covers(path, text):
    return characters()[os.path.basename(path)].issuperset(text)


@functools.lru_cache(512)
def able(heldout, letters):
    """As `shelf`, of the fonts that can set these letters."""
    return tuple([file for file in files if covers(file, letters)] for files in shelf(heldout))


def choose(rng, heldout=False, newspaper=0.5, text=""):
    """A font that can set a text; None where none of the shelf can."""
    everything, plain = able(heldout, frozenset(text)) if text else shelf(heldout)
    source = plain if plain and rng.random() < newspaper else everything
    return source[rng.integers(len(source))] if source else None


def setting(rng, path, text):
    """The font, or where it can't set a text another of its shelf that can; None where none can."""
    return path if covers(path, text) else choose(rng, family_of(path) in HELD_OUT, 0.5, text)


def fixed(rng, heldout=False):
    """A font of one width, as typewriters have."""
    files = [file for file in shelf(heldout)[0] if re.search("Mono|Cour|Cousine", file)]
    return files[rng.integers(len(files))]


def sister(path):
    """Another style of the same family, bolder mostly; the font itself where it has none."""
    others = [file for file in printed() if family_of(file) == family_of(path) and file != path]
    return others[-1] if others else path


@functools.lru_cache(512)
def load(path, size):
    return ImageFont.truetype(path, max(2.0, size), layout_engine=ImageFont.Layout.BASIC)


def sized(path, size):
    """The font at a size in px an em, in steps of a quarter px so that sizes can be shared."""
    return load(path, round(size * 4) / 4)


@functools.lru_cache(1024)
def digit_height(path):
    """Height of the digits 1-9 together, as a share of the em, and the middle of that stretch above the baseline."""
    box = load(path, 200).getbbox("123456789", anchor="ls")
    return (box[3] - box[1]) / 200, -(box[1] + box[3]) / 400
