"""The shape of the paper and the eye that looks at it: page px to photo px and back.

The sheet is bent along two directions at right angles, each by a profile of slopes (curl at the spine, roll, folds), lengths along it
kept; then turned, tilted and seen by a pinhole with a little lens distortion. Pixel centres are at whole numbers on both sides.
"""
import numpy as np


class Profile:
    """Heights over one direction of the sheet from its slopes (radians); positions in page px from the sheet's middle."""

    def __init__(self, half, slope, level_at):
        self.at = np.linspace(-6 * half, 6 * half, 12289)
        inner = np.clip(self.at, -1.6 * half, 1.6 * half)    # straight on beyond the sheet
        self.slopes = slope(inner) - slope(np.array([level_at]))
        step = self.at[1] - self.at[0]
        middle = (self.slopes[1:] + self.slopes[:-1]) / 2
        self.run = np.concatenate([[0], np.cumsum(np.cos(middle))]) * step
        self.rise = np.concatenate([[0], np.cumsum(np.sin(middle))]) * step
        self.run -= np.interp(0, self.at, self.run)
        self.rise -= np.interp(0, self.at, self.rise)

    def lift(self, at):
        return np.interp(at, self.at, self.run), np.interp(at, self.at, self.rise)

    def slope(self, at):
        return np.interp(at, self.at, self.slopes)


def bends(rng, half, level, spine, creases):
    """A slope function over positions along one direction. `spine` is the position of a book's gutter, or None."""
    parts = []
    if spine is not None:
        top = {"plain": (0.1, 0.35), "rough": (0.15, 0.7), "harsh": (0.3, 0.85)}[level]
        height, reach = rng.uniform(*top), half * rng.uniform(0.12, 0.6)
        sharp = half * 0.01
        parts.append(lambda at: -height * np.sign(spine) * np.tanh((spine - at) * np.sign(spine) / sharp) * np.exp(-np.abs(at - spine) / reach))
    roll = rng.normal(0, {"plain": 0.04, "rough": 0.12, "harsh": 0.16}[level])
    parts.append(lambda at: roll * at / half)
    if rng.random() < {"plain": 0.15, "rough": 0.5, "harsh": 0.6}[level]:
        wave, phase, size = rng.uniform(0.8, 3.0) * np.pi / half, rng.uniform(0, 6.3), rng.uniform(0.02, 0.1 if level != "plain" else 0.04)
        parts.append(lambda at: size * np.sin(at * wave + phase))
    for place, angle, width in creases:
        parts.append(lambda at, place=place, angle=angle, width=width: angle / 2 * np.tanh((at - place) / width))
    return lambda at: sum(part(at) for part in parts)


def folds(rng, half, level):
    """Folds as (position, change of slope, half width), soft ones and creases."""
    chance = {"plain": 0.1, "rough": 0.35, "harsh": 0.55}[level]
    found = []
    while rng.random() < chance and len(found) < 3:
        crease = rng.random() < 0.5
        limit = {"plain": 0.12, "rough": 0.3, "harsh": 0.45}[level]
        place = rng.normal(0, half * 0.12) if rng.random() < 0.4 else rng.uniform(-half, half)
        width = half * (rng.uniform(0.008, 0.02) if crease else rng.uniform(0.03, 0.15))
        found.append((place, rng.choice((-1, 1)) * rng.uniform(0.3, 1) * limit, width))
    return found


class Sheet:
    """A page of width x height px, bent. `gutter` is 'left', 'right' or None: the side bound into a book."""

    def __init__(self, rng, width, height, level, gutter, look_at):
        self.middle = np.array([(width - 1) / 2, (height - 1) / 2])
        self.gutter = gutter
        angle = rng.normal(0, 0.02) if gutter or rng.random() < 0.6 else rng.normal(0, 0.3)
        self.axes = np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
        halves = (width / 2, height / 2)
        flat = np.array(look_at) - self.middle
        if level == "clean":
            self.folds = ([], [])
            self.profiles = [Profile(half, lambda at: at * 0.0, 0.0) for half in halves]
            return
        spine = {"left": -halves[0], "right": halves[0], None: None}[gutter]
        self.folds = folds(rng, halves[0], level), folds(rng, halves[1], level)
        slopes = bends(rng, halves[0], level, spine, self.folds[0]), bends(rng, halves[1], level, None, self.folds[1])
        self.profiles = [Profile(halves[i], slopes[i], float(self.axes[i] @ flat)) for i in (0, 1)]

    def lift(self, points):
        """Page px [N, 2] to space [N, 3], height upwards, in px of the flat page."""
        along = (np.asarray(points, np.float64) - self.middle) @ self.axes.T
        (x, z), (y, more) = self.profiles[0].lift(along[:, 0]), self.profiles[1].lift(along[:, 1])
        flat = np.stack([x, y], 1) @ self.axes
        return np.concatenate([flat, (z + more)[:, None]], 1)

    def tilt(self, points):
        """Slopes of the paper at page px, along x and y."""
        along = (np.asarray(points, np.float64) - self.middle) @ self.axes.T
        return np.tan(np.stack([self.profiles[i].slope(along[:, i]) for i in (0, 1)], 1)) @ self.axes


class View:
    """Projects a sheet: in-plane turn, tilt, pinhole, distortion; then `place` fits it into the photo."""

    def __init__(self, sheet, turn, tilt, tilt_towards, distance, barrel, look_at):
        self.sheet = sheet
        self.look_at = sheet.lift(np.array([look_at]))[0]
        self.distance, self.barrel = distance, barrel
        spin = np.array([[np.cos(turn), -np.sin(turn), 0], [np.sin(turn), np.cos(turn), 0], [0, 0, 1]])
        axis = np.array([np.cos(tilt_towards), np.sin(tilt_towards), 0])
        cross = np.array([[0, 0, axis[1]], [0, 0, -axis[0]], [-axis[1], axis[0], 0]])
        lean = np.eye(3) + np.sin(tilt) * cross + (1 - np.cos(tilt)) * cross @ cross
        self.rotation = lean @ spin
        self.scale, self.shift = 1.0, np.zeros(2)

    def project(self, points):
        """Page px to the picture plane, in page px at the distance looked at."""
        space = (self.sheet.lift(points) - self.look_at) @ self.rotation.T
        depth = np.maximum(self.distance - space[:, 2], self.distance * 0.05)
        flat = space[:, :2] * (self.distance / depth)[:, None]
        radius = np.minimum((flat**2).sum(1) / self.distance**2, 1.0)
        return flat * (1 + self.barrel * radius)[:, None]

    def place(self, scale, shift):
        self.scale, self.shift = scale, np.asarray(shift, np.float64)

    def warp(self, points):
        """Page px [N, 2] to photo px [N, 2]."""
        return self.project(np.asarray(points, np.float64).reshape(-1, 2)) * self.scale + self.shift

    def unwarp(self, points, guess=None, rounds=12):
        """Photo px [N, 2] to page px [N, 2], by Newton's method from `guess` (page px) or a linear one."""
        points = np.asarray(points, np.float64).reshape(-1, 2)
        middle = self.sheet.middle
        if guess is None:
            spread = np.array([[x, y] for x in (-1, 0, 1) for y in (-1, 0, 1)]) * middle + middle
            known = np.hstack([self.warp(spread), np.ones((9, 1))])
            guess = np.hstack([points, np.ones((len(points), 1))]) @ np.linalg.lstsq(known, spread, rcond=None)[0]
        guess = np.array(guess, np.float64).reshape(-1, 2)
        limit = 0.25 * middle.max()
        for _ in range(rounds):
            here = self.warp(guess)
            miss = here - points
            if np.abs(miss).max() < 1e-3:
                break
            dx, dy = self.warp(guess + [0.5, 0]) - here, self.warp(guess + [0, 0.5]) - here
            area = dx[:, 0] * dy[:, 1] - dx[:, 1] * dy[:, 0]
            area = np.where(np.abs(area) < 1e-9, 1e-9, area)
            step = np.stack([miss[:, 0] * dy[:, 1] - miss[:, 1] * dy[:, 0], miss[:, 1] * dx[:, 0] - miss[:, 0] * dx[:, 1]], 1) * (0.5 / area)[:, None]
            guess -= np.clip(step, -limit, limit)
        return guess
