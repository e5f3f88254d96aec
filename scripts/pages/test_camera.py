"""Checks of the camera: the same seed gives the same photo, and warp says where a point of the page really lies."""
import functools
import os
import sys
import unittest

import numpy as np

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
import camera
from lens import Sheet
from render import render

LEVELS = ("clean", "plain", "rough", "harsh")


@functools.lru_cache(4)
def dotted_page(width=1100, height=1500):
    """White with grey discs (radius 9, soft rims) at known centres, some between pixels."""
    page = np.full((height, width), 255, np.float32)
    centres = np.array([[x + 0.37, y + 0.61] for y in range(75, height - 60, 150) for x in range(85, width - 60, 155)])
    for cx, cy in centres:
        left, top = int(cx) - 12, int(cy) - 12
        y, x = np.mgrid[top:top + 25, left:left + 25]
        page[top:top + 25, left:left + 25] -= 255 * np.clip(9.5 - np.hypot(x - cx, y - cy), 0, 1)
    return np.repeat(np.clip(page, 0, 255).astype(np.uint8)[..., None], 3, 2), centres


def look(level, seed):
    """The bare rendering of the dotted page (no light, no noise) and its view."""
    rng = np.random.default_rng(seed)
    page, centres = dotted_page()
    height, width = page.shape[:2]
    middle = (width / 2, height / 2)
    sheet = Sheet(rng, width, height, level, "left" if level != "clean" else None, middle)
    view = camera.choose_view(rng, sheet, level, middle, 1800.0)
    camera.aim(rng, view, (900, 1200), None, (width, height), level)
    image, _, _ = render(page, np.zeros(2), view, (900, 1200), level)
    return np.asarray(image.convert("L"), np.float64), view, centres


def misses(image, view, centres):
    """For each disc well in view: how far warp's place is from the centre of its darkness, photo px."""
    found = []
    for place, centre in zip(view.warp(centres), centres):
        x, y = np.round(place).astype(int)
        # The disc's rim, so that the window takes in all of it and the darkness is weighed as the eye sees it.
        turn = np.linspace(0, 2 * np.pi, 64, endpoint=False)
        rim = view.warp(centre + 9.5 * np.stack([np.cos(turn), np.sin(turn)], 1))
        reach = int(np.ceil(np.abs(rim - place).max())) + 3
        if x < reach or y < reach or x >= image.shape[1] - reach or y >= image.shape[0] - reach:
            continue
        dark = 255 - image[y - reach:y + reach + 1, x - reach:x + reach + 1]
        ys, xs = np.mgrid[y - reach:y + reach + 1, x - reach:x + reach + 1]
        seen = np.array([(dark * xs).sum(), (dark * ys).sum()]) / dark.sum()
        # Perspective and bending move a disc's centre of darkness off its centre's image: compare with the rim's centroid.
        ahead = np.roll(rim, -1, 0)
        cross = rim[:, 0] * ahead[:, 1] - ahead[:, 0] * rim[:, 1]
        centroid = ((rim + ahead) * cross[:, None]).sum(0) / (3 * cross.sum())
        found.append(np.hypot(*(seen - centroid)))
    return np.array(found)


class CameraTest(unittest.TestCase):
    def test_points_land_where_warp_says(self):
        for level in LEVELS:
            for seed in range(3):
                with self.subTest(level=level, seed=seed):
                    errors = misses(*look(level, seed))
                    self.assertGreater(len(errors), 20)
                    self.assertLess(np.percentile(errors, 90), 0.1)
                    self.assertLess(errors.max(), 0.3)
                    self.assertLess(errors.mean(), 0.06)

    def test_unwarp_undoes_warp(self):
        for level in LEVELS:
            _, view, centres = look(level, 5)
            self.assertLess(np.abs(view.unwarp(view.warp(centres)) - centres).max(), 0.02, level)

    def test_same_seed_same_photo(self):
        page, _ = dotted_page(500, 700)
        for level in LEVELS:
            first, second = (camera.photograph(page, np.random.default_rng(3), level, [60, 60, 300, 300]) for _ in range(2))
            self.assertTrue(np.array_equal(first.image, second.image), level)
            self.assertTrue(np.array_equal(first.hidden, second.hidden), level)
            other = camera.photograph(page, np.random.default_rng(4), level, [60, 60, 300, 300])
            self.assertFalse(first.image.shape == other.image.shape and np.array_equal(first.image, other.image), level)

    def test_photos_are_well_formed(self):
        page, centres = dotted_page(500, 700)
        for level in LEVELS:
            for seed in range(6):
                photo = camera.photograph(page, np.random.default_rng(seed), level, [60, 60, 300, 300] if seed % 2 else None)
                self.assertEqual((photo.image.dtype, photo.image.shape[2]), (np.uint8, 3))
                self.assertGreaterEqual(min(photo.image.shape[:2]), 300)
                self.assertLessEqual(max(photo.image.shape[:2]), 2000)
                self.assertTrue(np.isfinite(photo.warp(centres)).all())

    def test_covered_points_are_those_hidden(self):
        page, _ = dotted_page(300, 300)
        photo = camera.photograph(page, np.random.default_rng(0), "clean")
        photo.hidden[10:20, 30:40] = True
        covered = photo.covered(np.array([[35.0, 15.0], [29.0, 15.0], [-5.0, 15.0], [1e6, 0.0]]))
        self.assertEqual(covered.tolist(), [True, False, False, False])


if __name__ == "__main__":
    unittest.main()
