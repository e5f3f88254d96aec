"""Tests of the page composer: `python3 -m unittest discover scripts/pages`. They need what fetch.sh fetches."""
import unittest

import numpy as np

import fonts
import puzzles
from canvas import Canvas, turn_pixels, turn_points
from extras import EXTRAS
from generate import LEVELS, make
from grid import draw_grid, misprint
from page import LAYOUTS, Composer, compose
from style import GridStyle, random_style


class CanvasTest(unittest.TestCase):
    def test_rule_of_width_one_darkens_one_column(self):
        canvas = Canvas(7, 3)
        canvas.rule(True, 3.0, -0.5, 2.5, 1.0, (0, 0, 0))
        self.assertEqual(canvas.pixels[1, :, 0].tolist(), [255, 255, 255, 0, 255, 255, 255])

    def test_rule_between_columns_is_shared(self):
        canvas = Canvas(7, 3)
        canvas.rule(True, 3.5, -0.5, 2.5, 1.0, (0, 0, 0))
        self.assertEqual(canvas.pixels[1, :, 0].tolist(), [255, 255, 255, 128, 128, 255, 255])

    def test_points_turn_with_the_pixels(self):
        canvas = Canvas(9, 5)
        canvas.pixels[1, 7] = 0
        for turn in (0, 90, 180, 270):
            x, y = turn_points([7, 1], turn, 9, 5).astype(int)
            self.assertEqual(int(turn_pixels(canvas.pixels, turn)[y, x, 0]), 0, turn)


class PuzzleTest(unittest.TestCase):
    def test_every_stored_puzzle_has_exactly_its_solution(self):
        self.assertGreaterEqual(len(puzzles.stored()), 500)
        for puzzle, solution in puzzles.stored():
            self.assertEqual(puzzles.solve(puzzle, 2), [solution])

    def test_stored_puzzles_are_minimal(self):
        for puzzle, _ in puzzles.stored()[:520:26]:
            for cell in range(81):
                if puzzle[cell] != ".":
                    self.assertEqual(len(puzzles.solve(puzzle[:cell] + "." + puzzle[cell + 1:], 2)), 2)

    def test_drawn_puzzles_stay_sound(self):
        rng = np.random.default_rng(5)
        for _ in range(20):
            givens, solution = puzzles.draw_puzzle(rng)
            self.assertEqual(puzzles.solve(givens, 2), [solution])

    def test_misprints_spoil_the_puzzle(self):
        rng = np.random.default_rng(6)
        store = puzzles.stored()
        for kind in ("equal", "wrong", "missing"):
            for puzzle, solution in store[:8]:
                spoiled, noted = misprint(rng, puzzle, solution, kind)
                found = puzzles.solve(spoiled, 2)
                if kind == "missing":
                    self.assertEqual(len(found), 2)
                else:
                    self.assertNotIn(solution, found)
                self.assertEqual(sum(a != b for a, b in zip(spoiled, puzzle)), 1)
                self.assertEqual(noted["kind"], kind)


class GridTest(unittest.TestCase):
    def test_lattice_lies_in_the_middle_of_the_lines(self):
        rng = np.random.default_rng(7)
        for pitch in (17.3, 42.0, 88.6):
            style = GridStyle(inner_width=0.05, inner_ink=(0, 0, 0), box_width=0.1, box_ink=(0, 0, 0), font=random_style(rng).font)
            canvas = Canvas(pitch * 9 + 90, pitch * 9 + 90)
            grid = draw_grid(canvas, 20.4, 20.4, pitch * 9, style, "." * 81, "1" * 81, rng)
            dark = 255.0 - canvas.pixels[round(20.4 + pitch / 2), :, 0]
            for x in grid.lattice[0, :, 0]:
                near = np.arange(int(x - pitch / 4), int(x + pitch / 4) + 1)
                self.assertAlmostEqual(float((dark[near] * near).sum() / dark[near].sum()), x, delta=0.1)    # a rule thinner than a px sits off by up to this


class FontTest(unittest.TestCase):
    def test_held_out_families_are_some_and_apart(self):
        train, held = ({fonts.family_of(f) for f in fonts.shelf(kind)[0]} for kind in (False, True))
        self.assertFalse(train & held)
        self.assertEqual(held, set(fonts.HELD_OUT))
        self.assertGreaterEqual(len(held), 15)

    def test_every_print_font_has_nine_distinct_digits(self):
        for path in fonts.shelf(False)[0] + fonts.shelf(True)[0]:
            face = fonts.load(path, 40)
            self.assertEqual(len({bytes(face.getmask(d)) for d in "123456789"}), 9, path)


class PageTest(unittest.TestCase):
    def test_same_seed_same_page(self):
        one, two = make(11, "rough"), make(11, "rough")
        self.assertTrue(np.array_equal(one[0], two[0]))
        self.assertEqual(one[1], two[1])

    def test_truth_agrees_with_itself(self):
        for seed in range(24):
            image, truth = make(seed, LEVELS[seed % 4])
            self.assertEqual(image.shape, (truth["height"], truth["width"], 3))
            for grid in truth["grids"]:
                self.check(grid)

    def check(self, grid):
        self.assertEqual(np.array(grid["lattice"]).shape, (10, 10, 2))
        marks = {mark["cell"] for mark in grid["marks"]}
        for cell in range(81):
            given, entry, read = grid["givens"][cell], grid["entries"][cell], grid["cells"][cell]
            self.assertTrue(given == "." or entry == ".")
            self.assertIn(read, ("x", "s" if given + entry == ".." else "x", given if given != "." else f"e{entry}" if entry != "." else "m" if f"r{cell // 9 + 1}c{cell % 9 + 1}" in marks else "."))
            if given != ".":
                self.assertEqual(given, grid["solution"][cell])
        a, b, c = (np.array(grid["lattice"][r][k]) for r, k in ((0, 0), (0, 9), (9, 0)))
        self.assertGreater(np.cross([*(b - a), 0], [*(c - a), 0])[2], 0, "a grid is never mirrored")
        angle = np.degrees(np.arctan2(*(b - a)[::-1]))
        self.assertLess(abs((angle - grid["turn"] + 180) % 360 - 180), 60)

    def test_each_layout_has_the_grids_it_should(self):
        for layout in LAYOUTS:
            page = compose(np.random.default_rng(3), "plain", layout=layout)
            self.assertEqual(bool(page.block.grids), layout != "none", layout)

    def test_other_rules_leave_marks_on_the_print(self):
        for kind in EXTRAS:
            plain, other = (Composer(np.random.default_rng(5), "clean", False, None).grid(300, rules=rules) for rules in ("plain", kind))
            self.assertEqual(other.grids[0].rules, kind)
            self.assertTrue((plain.canvas.pixels != other.canvas.pixels).any(), kind)

    def test_asked_for_misprint_is_on_the_page(self):
        _, truth = make(4, "clean", misprint="equal", layout="single")
        grid = truth["grids"][0]
        self.assertEqual(grid["misprint"]["kind"], "equal")
        self.assertEqual(puzzles.solve(grid["givens"], 1), [])


if __name__ == "__main__":
    unittest.main()
