"""Fetches the fonts of fonts.list into .cache/fonts/{print,hand}, cut down to the letters that pages are set in and unhinted.

fonts.lock pins package, version and the SHA-256 of each archive: an archive that differs stops the run. A package without a line in
fonts.lock is taken at its present version and gains one. FONTS.md is rewritten from what was fetched. Needs npm, apt-get, dpkg-deb, fontTools.
"""
import glob
import hashlib
import json
import logging
import os
import shutil
import subprocess
import tempfile
import urllib.request
from concurrent.futures import ThreadPoolExecutor

from fontTools import subset
from fontTools.ttLib import TTFont

HERE = os.path.dirname(os.path.abspath(__file__))
CACHE = os.path.join(HERE, ".cache", "fonts")
# Latin of all of Europe, Cyrillic, and signs by numbers.
LETTERS = [*range(0x20, 0x7F), *range(0xA1, 0x180), *range(0x218, 0x21C), *range(0x401, 0x460), 0x490, 0x491,
           *map(ord, "–—‘’“”„•…№★☆第問題号回")]


def read_list():
    rows = [line.split() for line in open(os.path.join(HERE, "fonts.list")) if line.strip() and line[0] != "#"]
    return [(shelf, source, package, styles.split(",")) for shelf, source, package, styles in rows]


def read_lock():
    path = os.path.join(HERE, "fonts.lock")
    if not os.path.exists(path):
        return {}
    return {row[0]: (row[1], row[2]) for row in (line.split() for line in open(path)) if row}


def from_npm(registry, name, version):
    """The URL that the registry names for a package's version, None for the present one, and the archive; None where it lacks the package."""
    try:
        about = urllib.request.Request(f"{registry}/@expo-google-fonts%2f{name}", headers={"Accept": "application/vnd.npm.install-v1+json"})
        with urllib.request.urlopen(about, timeout=60) as answer:
            package = json.load(answer)
        url = package["versions"][version or package["dist-tags"]["latest"]]["dist"]["tarball"]
        with urllib.request.urlopen(url, timeout=300) as answer:
            return url, answer.read()
    except (OSError, KeyError, ValueError) as error:
        print(f"{name}: {error}")
        return None


def download(rows, lock, folder):
    """Gives {package: archive path}; the registries of npm and apt-get are asked."""
    found = {}
    registry = subprocess.run(["npm", "config", "get", "registry"], capture_output=True, text=True, check=True).stdout.strip().rstrip("/")
    npm = [row[2] for row in rows if row[1] == "npm"]
    with ThreadPoolExecutor(6) as pool:
        answers = pool.map(lambda name: from_npm(registry, name, lock.get(name, (None,))[0]), npm)
        for name, answer in zip(npm, answers):
            if answer:
                url, archive = answer
                found[name] = os.path.join(folder, "expo-google-fonts-" + url.rsplit("/", 1)[-1])
                with open(found[name], "wb") as out:
                    out.write(archive)
    for package in [row[2] for row in rows if row[1] == "deb"]:
        spec = package + (f"={lock[package][0]}" if package in lock else "")
        subprocess.run(["apt-get", "download", "-qq", spec], cwd=folder)
        hits = glob.glob(os.path.join(folder, f"{package}_*.deb"))
        if hits:
            found[package] = hits[0]
    return found


def version_of(source, package, archive):
    name = os.path.basename(archive)
    if source == "npm":
        return name[len(f"expo-google-fonts-{package}-"):-len(".tgz")]
    return subprocess.run(["dpkg-deb", "-f", archive, "Version"], capture_output=True, text=True, check=True).stdout.strip()


def unpack(source, archive, folder):
    os.makedirs(folder)
    if source == "npm":
        subprocess.run(["tar", "xzf", archive, "-C", folder], check=True)
    else:
        subprocess.run(["dpkg-deb", "-x", archive, folder], check=True)
    return [p for ending in ("ttf", "otf") for p in sorted(glob.glob(os.path.join(folder, "**", f"*.{ending}"), recursive=True))]


def pick(files, source, style):
    """The first file of that style: npm names are Family_400Regular.ttf, Debian's are matched from the start of the name."""
    for path in files:
        name = os.path.basename(path)
        style_name = name.rsplit("_", 1)[-1] if source == "npm" else name
        if style_name.startswith(style) and (source == "deb" or "Italic" not in style_name):
            return path
    return None


def shrink(path, target):
    options = subset.Options(hinting=False, desubroutinize=True, layout_features=[], notdef_outline=True, name_IDs=[1, 2, 13, 14])
    font = subset.load_font(path, options)
    licence = font["name"].getDebugName(14) or font["name"].getDebugName(13) or "see the package"
    family = font["name"].getDebugName(16) or font["name"].getDebugName(1)
    worker = subset.Subsetter(options)
    worker.populate(unicodes=LETTERS)
    worker.subset(font)
    if not all(ord(d) in font.getBestCmap() for d in "123456789"):
        raise ValueError(f"{path} lacks digits")
    subset.save_font(font, target, options)
    return family, " ".join(licence.split())[:70]


def write_characters():
    """What each print font can set goes into characters.json."""
    able = {}
    for path in sorted(glob.glob(os.path.join(CACHE, "print", "*.[to]tf"))):
        with TTFont(path, lazy=True) as font:
            able[os.path.basename(path)] = "".join(map(chr, sorted(font.getBestCmap())))
    with open(os.path.join(CACHE, "characters.json"), "w") as out:
        json.dump(able, out, ensure_ascii=False)


def main():
    logging.getLogger("fontTools").setLevel(logging.ERROR)
    rows, lock = read_list(), read_lock()
    table = []
    for shelf in ("print", "hand"):
        os.makedirs(os.path.join(CACHE, shelf), exist_ok=True)
    with tempfile.TemporaryDirectory() as folder:
        archives = download(rows, lock, folder)
        for shelf, source, package, styles in rows:
            if package not in archives:
                print(f"{package}: not fetched; check the network, or strike it from fonts.list")
                continue
            archive = archives[package]
            digest = hashlib.sha256(open(archive, "rb").read()).hexdigest()
            version = version_of(source, package, archive)
            if package in lock and lock[package] != (version, digest):
                raise SystemExit(f"{package} {version}: archive differs from fonts.lock; find out why before trusting it")
            lock[package] = (version, digest)
            inside = os.path.join(folder, "open-" + package)
            files = unpack(source, archive, inside)
            for style in styles:
                path = pick(files, source, style)
                if path is None:
                    print(f"{package}: no style {style}; there are {[os.path.basename(f) for f in files][:30]}")
                    continue
                name, ending = os.path.splitext(os.path.basename(path))
                family, licence = shrink(path, os.path.join(CACHE, shelf, name + ending))
                table.append((shelf, family, name, f"{package} {version}", licence))
            shutil.rmtree(inside)
    write_characters()
    with open(os.path.join(HERE, "fonts.lock"), "w") as out:
        out.writelines(f"{name} {version} {digest}\n" for name, (version, digest) in sorted(lock.items()))
    with open(os.path.join(HERE, "FONTS.md"), "w") as out:
        out.write("# Fonts behind the drawn pages\n\nFetched by `fetch.sh` into `.cache/`, never kept in the repository. npm packages are of the scope\n"
                  "`@expo-google-fonts`; `fonts-*` are Debian's. The licence is what the font file itself says.\n\n"
                  "| shelf | family | file | package and version | licence |\n| --- | --- | --- | --- | --- |\n")
        out.writelines("| " + " | ".join(row) + " |\n" for row in table)
    print(f"{len(table)} fonts of {len({row[1] for row in table})} families")


if __name__ == "__main__":
    main()
