"""Kinds of one number side by side, a row for each thing that has them; a long list comes as several pictures on one scale."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from airwarrant.papers.pictures.drawing import Drawing
from airwarrant.papers.pictures.pages import PageWords, pages
from airwarrant.papers.pictures.rows import Column, draw_rows, draw_series
from airwarrant.papers.pictures.shown import Axis, Frame, Shown
from airwarrant.papers.pictures.signs import AS_FOUND, AS_PREDICTED, AS_WANTED, Sign

#: What is drawn over what, the lowest first: a reading is never hidden.
_LAYERS: Final = (AS_WANTED, AS_PREDICTED, AS_FOUND)


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of number: the head of its column, its sign, one of `_LAYERS`, and the number of each row."""

    head: str
    sign: Sign
    shown: Sequence[Shown]


def side_by_side(
    frame: Frame,
    names: Sequence[str],
    kinds: Sequence[Kind],
    axis: Axis,
    heading: str,
    missing: str,
    page: PageWords,
    most: int,
) -> tuple[str, ...]:
    """Return pictures of at most `most` rows, columns in the order of `kinds`; none for no rows.

    `heading` stands over the names, `missing` for a number that is not there.
    """
    values = [0.0, *(value for kind in kinds for one in kind.shown for value in one.places())]
    out = []
    for part, rows in pages(frame, range(len(names)), most, page):
        drawing = Drawing(part)
        some = [Kind(kind.head, kind.sign, [kind.shown[row] for row in rows]) for kind in kinds]
        columns = [Column(kind.head, kind.sign, tuple(one.words(missing) for one in kind.shown)) for kind in some]
        placed = draw_rows(drawing, [names[row] for row in rows], columns, axis, values, heading=heading)
        for kind in sorted(some, key=lambda one: _LAYERS.index(one.sign)):
            draw_series(drawing, placed, kind.sign, kind.shown)
        out.append(drawing.svg(placed.bottom))
    return tuple(out)
