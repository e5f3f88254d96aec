"""Sound puzzles for the pages: the store puzzles.txt, the program that makes it, and variation by symmetry and extra givens.

A puzzle is an 81-character line, row by row, `.` for empty. `python3 puzzles.py` rewrites puzzles.txt (seeded, some minutes).
"""
import functools
import os
import random

HERE = os.path.dirname(os.path.abspath(__file__))
ALL = 0x1FF


def _peers():
    out = []
    for cell in range(81):
        row, col = divmod(cell, 9)
        out.append([o for o in range(81) if o != cell and (o // 9 == row or o % 9 == col or (o // 27 == row // 3 and o % 9 // 3 == col // 3))])
    return out


PEERS = _peers()
BOX = [cell // 27 * 3 + cell % 9 // 3 for cell in range(81)]


def solve(digits, limit=2, rng=None):
    """Up to `limit` solutions (81-character lines) of an 81-character line; the order of trial is shuffled by `rng`."""
    rows, cols, boxes = [0] * 9, [0] * 9, [0] * 9
    grid, empty, found = [0] * 81, [], []
    for cell, char in enumerate(digits):
        if char == ".":
            empty.append(cell)
            continue
        bit = 1 << (int(char) - 1)
        row, col, box = cell // 9, cell % 9, BOX[cell]
        if (rows[row] | cols[col] | boxes[box]) & bit:
            return []
        grid[cell] = int(char)
        rows[row] |= bit
        cols[col] |= bit
        boxes[box] |= bit

    def search():
        best, best_free, least = -1, 0, 10
        for place, cell in enumerate(empty):
            free = ALL & ~(rows[cell // 9] | cols[cell % 9] | boxes[BOX[cell]])
            count = free.bit_count()
            if count < least:
                best, best_free, least = place, free, count
                if count < 2:
                    break
        if best < 0:
            found.append("".join(map(str, grid)))
            return len(found) >= limit
        if least == 0:
            return False
        cell = empty[best]
        empty[best] = empty[-1]
        empty.pop()
        tries = [d for d in range(9) if best_free >> d & 1]
        if rng:
            rng.shuffle(tries)
        row, col, box = cell // 9, cell % 9, BOX[cell]
        stop = False
        for digit in tries:
            bit = 1 << digit
            rows[row] |= bit
            cols[col] |= bit
            boxes[box] |= bit
            grid[cell] = digit + 1
            stop = search()
            rows[row] ^= bit
            cols[col] ^= bit
            boxes[box] ^= bit
            if stop:
                break
        empty.append(cell)
        empty[best], empty[-1] = empty[-1], empty[best]
        return stop

    search()
    return found


def dig(rng, symmetric):
    """A new puzzle with exactly one solution. Minimal unless symmetric, when cells are emptied in pairs under a half turn."""
    full = solve("." * 81, 1, rng)[0]
    puzzle = list(full)
    order = list(range(41)) if symmetric else list(range(81))
    rng.shuffle(order)
    for cell in order:
        group = {cell, 80 - cell} if symmetric else {cell}
        kept = {c: puzzle[c] for c in group}
        for c in group:
            puzzle[c] = "."
        if len(solve("".join(puzzle), 2)) != 1:
            for c, char in kept.items():
                puzzle[c] = char
    return "".join(puzzle)


@functools.lru_cache(1)
def stored():
    """All (puzzle, solution) pairs of puzzles.txt."""
    with open(os.path.join(HERE, "puzzles.txt")) as lines:
        rows = [line.split() for line in lines if line[0] != "#"]
    return [(row[0], row[1]) for row in rows]


def half_turn(puzzle):
    return all((a == ".") == (b == ".") for a, b in zip(puzzle, reversed(puzzle)))


def vary(rng, puzzle, solution):
    """The same puzzle under a random symmetry; patterns that have a half turn keep it."""
    digits = rng.permutation(9) + 1
    lines = []
    for _ in range(2):
        if half_turn(puzzle):
            lines.append(list(range(9)) if rng.random() < 0.5 else list(range(8, -1, -1)))
        else:
            lines.append([3 * b + r for b in rng.permutation(3) for r in rng.permutation(3)])
    rows, cols = lines
    flip = rng.random() < 0.5
    place = [9 * cols[c] + rows[r] if flip else 9 * rows[r] + cols[c] for r in range(9) for c in range(9)]
    relabel = {str(d + 1): str(digits[d]) for d in range(9)} | {".": "."}
    return "".join(relabel[puzzle[p]] for p in place), "".join(relabel[solution[p]] for p in place)


def draw_puzzle(rng):
    """A random (givens, solution) as a book would print it: 22 to about 36 givens."""
    store = stored()
    puzzle, solution = vary(rng, *store[rng.integers(len(store))])
    cells = list(puzzle)
    if rng.random() < 0.75:
        symmetric = half_turn(puzzle)
        goal = int(rng.integers(24, 37))
        for cell in rng.permutation(81):
            if sum(c != "." for c in cells) >= goal:
                break
            cells[cell] = solution[cell]
            if symmetric:
                cells[80 - cell] = solution[80 - cell]
    return "".join(cells), solution


def main():
    rng = random.Random(20260)
    with open(os.path.join(HERE, "puzzles.txt"), "w") as out:
        out.write("# Made by puzzles.py: givens, solution. The first 520 are minimal, the others have a half turn of the pattern.\n")
        for number in range(720):
            puzzle = dig(rng, number >= 520)
            out.write(f"{puzzle} {solve(puzzle, 1)[0]}\n")
            out.flush()


if __name__ == "__main__":
    main()
