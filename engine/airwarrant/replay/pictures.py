"""Pictures of a replay, drawn from plain numbers: what each name moves by, and how many offers move by how much."""

from collections.abc import Mapping, Sequence
from decimal import Decimal
from math import floor, log10

from airwarrant.papers.pictures.drawing import SMALL, Box, Drawing
from airwarrant.papers.pictures.palette import GRID, PAPER, QUIET, RULE
from airwarrant.papers.pictures.shown import Frame
from airwarrant.papers.pictures.signs import AS_FALL, AS_RISE

_ROW, _TOP, _HALF = 22.0, 8.0, 6.0
_PLOT = 150.0
#: Share of the width for names; room beside a bar for its amount, and without one.
_NAMES, _AMOUNT, _GAP = 0.42, 62.0, 8.0


def money(amount: Decimal) -> str:
    """Whole money with its sign."""
    return f"{amount:+,.0f}" if amount else "0"


def bars(frame: Frame, rows: Sequence[tuple[str, Decimal]]) -> str:
    """One bar a name from nothing to what it moves by: hatched to the right for more, empty to the left for less."""
    drawing = Drawing(frame)
    most = max((abs(float(amount)) for _, amount in rows), default=0.0) or 1.0
    falls, rises = any(a < 0 for _, a in rows), any(a > 0 for _, a in rows)
    names = frame.width * _NAMES
    left = names + (_AMOUNT if falls else _GAP)
    right = frame.width - (_AMOUNT if rises else _GAP)
    nothing = left if not falls else right if not rises else (left + right) / 2.0
    scale = (right - left if not (falls and rises) else (right - left) / 2.0) / most
    bottom = _TOP + _ROW * len(rows)
    drawing.line(nothing, _TOP, nothing, bottom, RULE)
    for at, (name, amount) in enumerate(rows):
        middle = _TOP + _ROW * (at + 0.5)
        end = nothing + float(amount) * scale
        drawing.text(0.0, middle + 4.0, name, room=names)
        _bar(drawing, nothing, end, middle)
        beside, anchor = (end + 6.0, "start") if amount >= 0 else (end - 6.0, "end")
        drawing.text(beside, middle + 4.0, money(amount), size=SMALL, anchor=anchor)  # type: ignore[arg-type]
    return drawing.svg(bottom + 6.0)


def _bar(drawing: Drawing, start: float, end: float, middle: float) -> None:
    sign = AS_RISE if end >= start else AS_FALL
    if abs(end - start) < 1.0:
        drawing.line(start, middle - _HALF, start, middle + _HALF, sign.colour, 2.0)
        return
    box = Box(min(start, end), middle - _HALF, max(start, end), middle + _HALF)
    drawing.rect(box, PAPER, sign.colour, 1.2)
    if sign is AS_RISE:
        drawing.hatch(box, sign.colour)


def steps(differences: Mapping[Decimal, int]) -> tuple[tuple[Decimal, Decimal, int], ...]:
    """Return (from, up to, jobs) of equal steps that hold every offer that moved; at most about twenty."""
    moved = {amount: count for amount, count in differences.items() if amount}
    if not moved:
        return ()
    low, high = min(moved), max(moved)
    wide = _round_step(max(float(high - low), abs(float(high)), 1.0) / 16.0)
    first = int(low // wide)
    last = int(high // wide)
    counts = [0] * (last - first + 1)
    for amount, count in moved.items():
        counts[int(amount // wide) - first] += count
    return tuple(((first + at) * wide, (first + at + 1) * wide, count) for at, count in enumerate(counts))


def _round_step(wanted: float) -> Decimal:
    """The next 1, 2 or 5 of a power of ten."""
    power = Decimal(10) ** floor(log10(wanted))
    return next(
        step * power for step in (Decimal(1), Decimal(2), Decimal(5), Decimal(10)) if float(step * power) >= wanted
    )


def histogram(frame: Frame, rows: Sequence[tuple[Decimal, Decimal, int]]) -> str:
    """Columns of how many offers move by how much."""
    drawing = Drawing(frame)
    left, right, top = 8.0, frame.width - 8.0, 22.0
    ground = top + _PLOT
    most = max(count for _, _, count in rows)
    wide = (right - left) / len(rows)
    drawing.line(left, top, right, top, GRID)
    drawing.line(left, ground, right, ground, RULE)
    every = max(1, -(-len(rows) // max(1, int((right - left) // 70.0))))
    for at, (low, high, count) in enumerate(rows):
        x = left + wide * at
        sign = AS_FALL if high <= 0 else AS_RISE
        if count:
            box = Box(x + 1.5, ground - _PLOT * count / most, x + wide - 1.5, ground)
            drawing.rect(box, PAPER, sign.colour, 1.2)
            if sign is AS_RISE:
                drawing.hatch(box, sign.colour)
            if wide >= 22.0:
                drawing.text(x + wide / 2.0, box.top - 4.0, f"{count:,}", size=SMALL, anchor="middle", fill=QUIET)
        if at % every == 0:
            drawing.line(x, ground, x, ground + 4.0, RULE)
            drawing.text(max(x, 14.0), ground + 16.0, money(low), size=SMALL, anchor="middle")
    return drawing.svg(ground + 24.0)
