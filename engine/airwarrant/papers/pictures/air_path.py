"""This house's air path, from room to room: what each piece costs, what is tight, what leaks, and what is fine."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Final

from airwarrant.papers.pictures.air_path_glyphs import (
    BOX_HIGH,
    BOXES,
    HALF,
    WIDEST,
    draw_ducts,
    draw_fine,
    draw_flow,
    draw_glyph,
    draw_leak,
    draw_new,
    draw_tight,
)
from airwarrant.papers.pictures.air_path_parts import AirPath, Outlet, PathWords, Piece
from airwarrant.papers.pictures.characters import clean
from airwarrant.papers.pictures.drawing import ASCENT, LEADING, SMALL, TEXT, Box, Drawing
from airwarrant.papers.pictures.fitting import text_width, wrapped
from airwarrant.papers.pictures.palette import ALERT, FOUND, GRID, INK, PREDICTED, PREDICTED_TINT, QUIET, RULE
from airwarrant.papers.pictures.shown import Frame, Shown

_EDGE: Final = 4.0
_LANE: Final = 36.0
_LANES_SHARE: Final = 0.3
_ARROW: Final = 26.0
_LEAST_ROW: Final = 34.0
_ROW_PAD: Final = 5.0
_BAR: Final = 8.0
_BAR_LINE: Final = 15.0
_SIDE_BY_SIDE: Final = 520.0
_BARS_AT: Final = 0.61
_LEAST_BAR: Final = 0.25
_SWATCH: Final = 13.0
_TAG_GAP: Final = 12.0
_MARK: Final = 20.0
_JOINT: Final = 26.0
_NOTE_LINES: Final = 3


@dataclass(frozen=True, slots=True)
class _Scale:
    """The most that any piece loses, and the width of the longest text behind a bar."""

    most_lost: float
    longest_text: float


@dataclass(frozen=True, slots=True)
class _Tag:
    """A short text with a sign before it."""

    draw: Callable[[Drawing, float, float], None]
    text: str
    ink: str
    bold: bool = False


@dataclass(slots=True)
class _Path:
    """The picture under way: the columns, how far down it is, and what is drawn of ducts when all rows are known."""

    drawing: Drawing
    words: PathWords
    lanes: tuple[float, ...]
    names: float
    name_room: float
    bars: float
    bar_room: float
    scale: _Scale
    both: bool
    y: float = 0.0
    ducts: list[tuple[list[tuple[float, float]], bool]] = field(default_factory=list)
    signs: list[tuple[Piece, float, float]] = field(default_factory=list)
    arrows: list[tuple[float, float, bool]] = field(default_factory=list)

    @property
    def beside(self) -> bool:
        return self.bars > self.names


def air_path(frame: Frame, path: AirPath, words: PathWords, most_rooms: int = 12) -> str:
    """Return the picture: the duct runs down its left side, returns side by side until they meet.

    The bar of a piece is as long as the pressure it loses, all on one scale. A tight piece has two wedges in the duct, a leak a
    broken arrow into it or out of it. After `most_rooms` rooms the rest is counted.
    """
    drawing = Drawing(frame)
    under = _begun(drawing, path, words)
    _head(under)
    _returns(under, path)
    begin = under.y
    for piece in path.common:
        _row(under, piece, under.lanes[0])
    if path.rooms:
        _rooms(under, path.rooms, most_rooms)
    if under.y > begin:
        under.ducts.append(([(under.lanes[0], begin), (under.lanes[0], under.y)], False))
    _draw_duct(under)
    return drawing.svg(under.y + _EDGE + 2.0)


def _begun(drawing: Drawing, path: AirPath, words: PathWords) -> _Path:
    count = max(1, len(path.returns))
    # Beyond about a dozen returns the ducts lie over one another; the names keep their room.
    step = min(_LANE, _LANES_SHARE * drawing.width / count)
    lanes = tuple(_EDGE + WIDEST + 2.0 + step * lane for lane in range(count))
    names = lanes[-1] + WIDEST + _ARROW + 6.0
    pieces = [*(piece for one in path.returns for piece in one), *path.common]
    shown = [s for p in pieces for s in (p.lost, p.lost_after) if s is not None]
    lost = [s.middle for s in shown if s.middle is not None]
    both = any(p.lost_after is not None or p.new or any(leak.after for leak in p.leaks) for p in pieces)
    both = both or any(room.flow_after for room in path.rooms)
    scale = _Scale(
        max([0.0, *lost]), max((text_width(clean(s.words(words.missing)), TEXT) for s in shown), default=0.0)
    )
    room = drawing.width - _EDGE - names
    if drawing.width < _SIDE_BY_SIDE:
        return _Path(drawing, words, lanes, names, room, names, room, scale, both)
    bars = _BARS_AT * drawing.width
    return _Path(drawing, words, lanes, names, bars - 14.0 - names, bars, drawing.width - _EDGE - bars, scale, both)


def _head(under: _Path) -> None:
    """Over the columns: what the names are, what the bars are, and the two kinds of bar."""
    drawing, words = under.drawing, under.words
    left = drawing.paragraph(_EDGE, _EDGE, words.path, under.names + under.name_room - _EDGE, size=SMALL, fill=QUIET)
    top = _EDGE if under.beside else left
    y = drawing.paragraph(under.bars, top, words.lost, under.bar_room, size=SMALL, fill=QUIET)
    x = under.bars
    for text, after in ((words.found, False), *(((words.after, True),) if under.both else ())):
        wide = 30.0 + text_width(clean(text), SMALL)
        if x > under.bars and x + wide > under.bars + under.bar_room:
            x, y = under.bars, y + LEADING * SMALL
        _bar(drawing, Box(x, y + 2.0, x + 22.0, y + 2.0 + _BAR), after)
        ink = PREDICTED if after else FOUND
        drawing.text(x + 28.0, y + ASCENT * SMALL, text, size=SMALL, fill=ink, room=under.bar_room - 28.0)
        x += wide + 14.0
    under.y = max(left, y + LEADING * SMALL) + 8.0


def _returns(under: _Path, path: AirPath) -> None:
    """Each return in its own lane, one below the other, then the joint that leads them into the first lane."""
    begins = []
    for lane, pieces in zip(under.lanes, path.returns, strict=False):
        first = len(under.signs)
        for piece in pieces:
            _row(under, piece, lane)
        begins.append(under.signs[first][2] if pieces else under.y)
    if len(path.returns) > 1:
        joint = under.y + _JOINT / 2.0
        under.y += _JOINT
        for lane, begin, pieces in list(zip(under.lanes, begins, path.returns, strict=True))[1:]:
            if pieces:
                new = all(piece.new for piece in pieces)
                under.ducts.append(([(lane, begin), (lane, joint), (under.lanes[0], joint)], new))
    if path.returns and path.returns[0]:
        new = all(piece.new for piece in path.returns[0])
        under.ducts.append(([(under.lanes[0], begins[0]), (under.lanes[0], under.y)], new))


def _row(under: _Path, piece: Piece, lane: float) -> None:
    """A piece: its sign in the duct, its name with what is to be said of it, and its bars."""
    drawing, words = under.drawing, under.words
    top = under.y
    drawing.line(under.names, top, drawing.width - _EDGE, top, GRID, 0.8)
    tags = [_Tag(draw_new, words.new, PREDICTED, True)] if piece.new else []
    if piece.mark == "tight":
        tags.append(_Tag(_wedges, words.tight, ALERT, True))
    elif piece.mark == "fine":
        tags.append(_Tag(draw_fine, words.fine, QUIET))
    y = _tagged(under, top + _ROW_PAD, piece.name, TEXT, INK, tags)
    y = drawing.paragraph(under.names, y, piece.note, under.name_room, size=SMALL, fill=QUIET, most=_NOTE_LINES)
    arrows = []
    for leak in piece.leaks:
        arrows.append((y + SMALL * 0.55, leak.inward))
        after = [_Tag(_swatch_after, leak.after, PREDICTED)] if clean(leak.after) else []
        y = _tagged(under, y, leak.text, SMALL, ALERT, after)
    ends = _bars(under, piece, top + _ROW_PAD if under.beside else y + 1.0)
    under.y = max(y, ends, top + _LEAST_ROW - _ROW_PAD) + _ROW_PAD
    middle = (top + under.y) / 2.0
    if arrows and piece.kind in BOXES:
        middle = max(top + 15.0, arrows[0][0] - 4.0)
    elif arrows:
        # A sign in the duct stands clear of the arrows of its own leaks.
        middle = max(top + 15.0, min(middle, arrows[0][0] - 18.0))
    under.signs.append((piece, lane, middle))
    half = WIDEST if piece.kind in BOXES else HALF
    under.arrows.extend((lane + (half if abs(at - middle) < BOX_HIGH else HALF), at, inward) for at, inward in arrows)


def _tagged(under: _Path, top: float, text: str, size: float, ink: str, tags: Sequence[_Tag]) -> float:
    """Text with tags behind it, each on a line of its own where it does not fit; returns where the next line may begin."""
    drawing = under.drawing
    lines = wrapped(text, under.name_room, size, _NOTE_LINES)
    below = drawing.paragraph(under.names, top, text, under.name_room, size=size, fill=ink, most=_NOTE_LINES)
    x = under.names + (text_width(lines[-1], size) + _TAG_GAP if lines else 0.0)
    baseline = below - (LEADING - ASCENT) * size
    for tag in tags:
        wide = _MARK + text_width(clean(tag.text), SMALL, tag.bold)
        if not lines or x + wide > under.names + under.name_room:
            left = under.names + _MARK
            tag.draw(drawing, under.names + 8.0, below + SMALL * 0.5)
            below = drawing.paragraph(
                left,
                below,
                tag.text,
                under.name_room - _MARK,
                size=SMALL,
                fill=tag.ink,
                bold=tag.bold,
                most=_NOTE_LINES,
            )
            lines = ()
            continue
        tag.draw(drawing, x + 8.0, baseline - SMALL * 0.33)
        drawing.text(x + _MARK, baseline, tag.text, size=SMALL, fill=tag.ink, bold=tag.bold)
        x += wide + _TAG_GAP
    return below


def _wedges(drawing: Drawing, x: float, y: float) -> None:
    draw_tight(drawing, x, y, HALF - 2.0)


def _swatch(drawing: Drawing, x: float, y: float) -> None:
    _bar(drawing, Box(x - 4.0, y - 4.0, x + 4.0, y + 4.0), False)


def _swatch_after(drawing: Drawing, x: float, y: float) -> None:
    _bar(drawing, Box(x - 4.0, y - 4.0, x + 4.0, y + 4.0), True)


def _bars(under: _Path, piece: Piece, y: float) -> float:
    if piece.lost is not None and not piece.new:
        y = _bar_line(under, piece.lost, False, y)
    if piece.lost_after is not None:
        y = _bar_line(under, piece.lost_after, True, y)
    return y


def _bar_line(under: _Path, lost: Shown, after: bool, y: float) -> float:
    """A bar with its text behind it; the longest bar leaves room for the longest text."""
    drawing = under.drawing
    text = lost.words(under.words.missing)
    longest = max(
        _LEAST_BAR * under.bar_room, min(0.52 * under.bar_room, under.bar_room - under.scale.longest_text - 8.0)
    )
    middle = lost.middle
    wide = 0.0 if middle is None or under.scale.most_lost <= 0.0 else max(0.0, middle) / under.scale.most_lost * longest
    box = Box(under.bars, y + 2.5, under.bars + wide, y + 2.5 + _BAR)
    if wide > 0.0:
        _bar(drawing, box, after)
    elif middle is not None:
        drawing.line(box.left, box.top, box.left, box.bottom, PREDICTED if after else FOUND, 1.5)
    left = under.bars + wide + 7.0
    room = under.bars + under.bar_room - left
    ends = drawing.paragraph(left, y, text, room, fill=PREDICTED if after else FOUND, most=2)
    return max(ends, y + _BAR_LINE)


def _bar(drawing: Drawing, box: Box, after: bool) -> None:
    drawing.rect(box, PREDICTED_TINT if after else FOUND, PREDICTED if after else FOUND, 1.0)
    if after:
        drawing.hatch(box, PREDICTED)


def _rooms(under: _Path, rooms: tuple[Outlet, ...], most: int) -> None:
    """The duct as a comb, one tooth a room."""
    drawing, words = under.drawing, under.words
    drawing.line(under.names, under.y, drawing.width - _EDGE, under.y, GRID, 0.8)
    under.y = (
        drawing.paragraph(under.names, under.y + _ROW_PAD, words.rooms, under.name_room, size=SMALL, fill=QUIET) + 3.0
    )
    for room in rooms[:most]:
        top = under.y
        short = [_Tag(_draw_short, words.short, ALERT, True)] if room.short else []
        y = _tagged(under, top, room.name, TEXT, INK, short)
        tooth = top + TEXT * 0.5
        drawing.line(under.lanes[0] + HALF, tooth, under.names - 6.0, tooth, RULE, 2.0)
        ends = _flows(under, room, top if under.beside else y)
        under.y = max(y, ends) + 4.0
    if len(rooms) > most:
        text = words.more(len(rooms) - most)
        under.y = drawing.paragraph(under.names, under.y, text, under.name_room, size=SMALL, fill=QUIET) + 2.0


def _draw_short(drawing: Drawing, x: float, y: float) -> None:
    drawing.polygon([(x - 5.0, y - 4.0), (x + 5.0, y - 4.0), (x, y + 5.0)], "none", ALERT, 1.5)


def _flows(under: _Path, room: Outlet, y: float) -> float:
    """Both states after one another; the second on a line of its own where there is no room."""
    drawing = under.drawing
    x = under.bars
    below = y
    for text, draw, ink in ((room.flow, _swatch, FOUND), (room.flow_after, _swatch_after, PREDICTED)):
        if not clean(text):
            continue
        wide = _SWATCH + text_width(clean(text), TEXT)
        if x > under.bars and x + wide > under.bars + under.bar_room:
            x, y = under.bars, below
        draw(drawing, x + 4.5, y + TEXT * 0.5)
        left = x + _SWATCH
        below = max(below, drawing.paragraph(left, y, text, under.bars + under.bar_room - left, fill=ink, most=2))
        x += max(wide + 16.0, 0.3 * under.bar_room)
    return below


def _draw_duct(under: _Path) -> None:
    draw_ducts(under.drawing, under.ducts)
    for piece, lane, y in under.signs:
        at = draw_glyph(under.drawing, piece.kind, lane, y, piece.new)
        if piece.mark == "tight":
            draw_tight(under.drawing, at, y)
        elif piece.kind in ("duct", "branches"):
            draw_flow(under.drawing, lane, y)
    for wall, y, inward in under.arrows:
        draw_leak(under.drawing, wall - 2.0, under.names - 4.0, y, inward)
