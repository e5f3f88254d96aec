"""Grids set on a typewriter or in plain text: lines between boxes are rows of signs."""
import fonts


def draw_lines(canvas, style, xs, ys, pitch):
    """Rows of dashes, columns of bars, and pluses where they meet: as signs of the font itself, or ruled."""
    if style.signs:
        draw_signs(canvas, style, xs, ys, pitch)
    else:
        draw_rules(canvas, style, xs, ys, pitch)


def lines_drawn(style):
    return (0, 3, 6, 9) if style.frame == "box" else (3, 6)


def draw_rules(canvas, style, xs, ys, pitch):
    width = max(style.box_width * pitch, 0.8)
    step = pitch / (2 if style.inner_width < 0.015 else 3)
    lines = lines_drawn(style)
    for i in lines:
        for shift in (-width, width) if style.inner_width > 0.02 else (0,):
            canvas.rule(False, ys[i] + shift, xs[0], xs[9], width, style.box_ink, (0.75 * step, 0.25 * step))
        canvas.rule(True, xs[i], ys[0] + 0.1 * pitch, ys[9], width, style.box_ink, (0.8 * (ys[9] - ys[0]) / 9, 0.2 * (ys[9] - ys[0]) / 9))
        for j in lines:
            canvas.rule(True, xs[i], ys[j] - 0.3 * step, ys[j] + 0.3 * step, width, style.box_ink)


def draw_signs(canvas, style, xs, ys, pitch):
    """`signs` are those of a row's line, of a column's and of where they meet; a space stands for none."""
    level, upright, meeting = style.signs
    share, _ = fonts.digit_height(style.font)
    face = fonts.sized(style.font, style.digit_share * pitch / share)
    step = face.getlength("-")
    lines = lines_drawn(style)
    for i in lines:
        count = max(1, round((xs[9] - xs[0]) / step))
        places = [xs[0] + (xs[9] - xs[0]) * (n + 0.5) / count for n in range(count)]
        for x in places:
            if level != " " and min(abs(x - xs[j]) for j in (0, 3, 6, 9)) > 0.6 * step:
                middle_of(canvas, x, ys[i], level, face, style.box_ink)
        for row in range(9):
            if upright != " ":
                middle_of(canvas, xs[i], (ys[row] + ys[row + 1]) / 2, upright, face, style.box_ink)
        for j in lines:
            if meeting != " ":
                middle_of(canvas, xs[i], ys[j], meeting, face, style.box_ink)


def middle_of(canvas, x, y, sign, face, ink):
    """A sign with the middle of its ink at (x, y)."""
    left, top, right, bottom = face.getbbox(sign, anchor="ls")
    canvas.text(x - (left + right) / 2, y - (top + bottom) / 2, sign, face, ink, "ls")
