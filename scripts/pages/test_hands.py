"""Checks of the writers: the same seed writes the same, every digit comes out at its size, sources may be absent."""
import os
import sys
import unittest

import numpy as np

sys.path.insert(0, os.path.dirname(os.path.abspath(__file__)))
import hands
from hands import Hand


def ink_box(alpha):
    rows, columns = np.flatnonzero((alpha > 60).any(1)), np.flatnonzero((alpha > 60).any(0))
    return columns[0], rows[0], columns[-1] + 1, rows[-1] + 1


class HandsTest(unittest.TestCase):
    def test_same_seed_same_writing(self):
        for seed in range(12):
            pages = []
            for _ in range(2):
                rng = np.random.default_rng(seed)
                hand = Hand(rng)
                pages.append([hand.digit(rng, digit, 34) for digit in range(1, 10)] + [hand.ring(rng, 40), hand.scribble(rng, 40)])
            for (first, ink), (second, other) in zip(*pages):
                self.assertEqual(ink, other)
                self.assertTrue(np.array_equal(first, second), seed)

    def test_digits_have_their_size(self):
        wrong = []
        for seed in range(60):
            rng = np.random.default_rng(seed)
            hand = Hand(rng)
            for size in (18, 40, 96):
                for digit in range(1, 10):
                    alpha, ink = hand.digit(rng, digit, size)
                    self.assertEqual((alpha.dtype, alpha.ndim, len(ink)), (np.uint8, 2, 3))
                    _, top, _, bottom = ink_box(alpha)
                    if not 0.65 * size - 3 <= bottom - top <= 1.5 * size + 3:
                        wrong.append((seed, hand.source, size, digit, bottom - top))
        self.assertEqual(wrong, [])

    def test_marks_are_small_and_signs_are_there(self):
        for seed in range(30):
            rng = np.random.default_rng(seed)
            hand = Hand(rng)
            for digit in range(1, 10):
                alpha, _ = hand.mark(rng, digit, 14)
                self.assertLess(max(alpha.shape), 48)
                self.assertGreater(alpha.max(), 60)
            for sign in (hand.cross_out, hand.ring, hand.tick, hand.scribble):
                alpha, _ = sign(rng, 40)
                self.assertGreater((alpha > 60).sum(), 20)

    def test_one_writer_writes_alike(self):
        """Two fives of one writer differ less than fives of two writers, on average."""
        def small(hand, rng):
            alpha, _ = hand.digit(rng, 5, 48)
            x0, y0, x1, y1 = ink_box(alpha)
            return np.asarray(hands.Image.fromarray(alpha[y0:y1, x0:x1]).resize((16, 24)), np.float32) / max(1, alpha.max())

        same, other, last = [], [], None
        for seed in range(80):
            rng = np.random.default_rng(seed)
            hand = Hand(rng)
            first, second = small(hand, rng), small(hand, rng)
            same.append(np.abs(first - second).mean())
            if last is not None:
                other.append(np.abs(first - last).mean())
            last = first
        self.assertLess(np.mean(same), 0.75 * np.mean(other))

    def test_works_without_fetched_files(self):
        kept = hands.samples, hands.font_files, hands.fonts.printed
        try:
            hands.samples, hands.font_files, hands.fonts.printed = (lambda: {}), (lambda: ()), (lambda: [])
            for seed in range(20):
                self.assertEqual(Hand(np.random.default_rng(seed)).source, "strokes")
        finally:
            hands.samples, hands.font_files, hands.fonts.printed = kept


if __name__ == "__main__":
    unittest.main()
