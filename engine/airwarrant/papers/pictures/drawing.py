"""A picture being drawn: plain SVG elements with presentation attributes, and nothing that refers outside it."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal
from xml.etree import ElementTree as ET

from airwarrant.papers.pictures.characters import clean
from airwarrant.papers.pictures.fitting import shortened, text_width, wrapped
from airwarrant.papers.pictures.palette import INK, PAPER
from airwarrant.papers.pictures.shown import Frame
from airwarrant.papers.pictures.visual_order import runs_left, seen

TEXT: Final = 12.0
SMALL: Final = 10.5
#: Of the text size: from the baseline up, from the baseline down, from line to line.
ASCENT: Final = 0.8
DESCENT: Final = 0.25
LEADING: Final = 1.25

Anchor = Literal["start", "middle", "end"]


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle of the picture."""

    left: float
    top: float
    right: float
    bottom: float

    def meets(self, other: "Box") -> bool:
        """Whether the two share more than an edge."""
        return (
            self.left < other.right and other.left < self.right and self.top < other.bottom and other.top < self.bottom
        )


def text_box(x: float, baseline: float, text: str, size: float, anchor: Anchor, bold: bool = False) -> Box:
    """Return the room that one line of text takes."""
    wide = text_width(text, size, bold)
    left = x - {"start": 0.0, "middle": wide / 2.0, "end": wide}[anchor]
    return Box(left, baseline - ASCENT * size, left + wide, baseline + DESCENT * size)


class Drawing:
    """Collects elements in the order they are drawn; `svg` closes it."""

    def __init__(self, frame: Frame) -> None:
        self.frame = frame
        self.width = frame.width
        self.texts: list[Box] = []
        self._body: list[ET.Element] = []

    def line(self, x1: float, y1: float, x2: float, y2: float, stroke: str, width: float = 1.0, dash: str = "") -> None:
        """A straight line."""
        ends = {"x1": _n(x1), "y1": _n(y1), "x2": _n(x2), "y2": _n(y2)}
        self._add("line", {**ends, **_stroked(stroke, width, dash)})

    def polyline(self, points: Sequence[tuple[float, float]], stroke: str, width: float = 1.5, dash: str = "") -> None:
        """A line through `points`, not closed and not filled; nothing below two points."""
        if len(points) > 1:
            through = " ".join(f"{_n(x)},{_n(y)}" for x, y in points)
            shape = {"points": through, "fill": "none", "stroke-linejoin": "round"}
            self._add("polyline", {**shape, **_stroked(stroke, width, dash)})

    def polygon(self, points: Sequence[tuple[float, float]], fill: str, stroke: str = "", width: float = 1.0) -> None:
        """A closed shape."""
        through = " ".join(f"{_n(x)},{_n(y)}" for x, y in points)
        self._add("polygon", {"points": through, "fill": fill, **_stroked(stroke, width, "")})

    def rect(
        self, box: Box, fill: str, stroke: str = "", width: float = 1.0, dash: str = "", round_by: float = 0.0
    ) -> None:
        """A rectangle."""
        size = {"width": _n(box.right - box.left), "height": _n(box.bottom - box.top)}
        rounding = {"rx": _n(round_by)} if round_by else {}
        place = {"x": _n(box.left), "y": _n(box.top), **size, **rounding}
        self._add("rect", {**place, "fill": fill, **_stroked(stroke, width, dash)})

    def circle(self, x: float, y: float, radius: float, fill: str, stroke: str = "", width: float = 1.0) -> None:
        """A circle."""
        place = {"cx": _n(x), "cy": _n(y), "r": _n(radius)}
        self._add("circle", {**place, "fill": fill, **_stroked(stroke, width, "")})

    def hatch(self, box: Box, stroke: str, step: float = 4.0) -> None:
        """Fill `box` with slanted lines, each with its own ends: a pattern would need a reference."""
        height = box.bottom - box.top
        x = box.left - height + step
        lines = []
        while x < box.right:
            begin, end = max(x, box.left), min(x + height, box.right)
            if end - begin > 0.3:
                lines.append(f"M{_n(begin)} {_n(box.bottom - (begin - x))}L{_n(end)} {_n(box.bottom - (end - x))}")
            x += step
        if lines:
            self._add("path", {"d": "".join(lines), "fill": "none", **_stroked(stroke, 0.8, "")})

    def text(
        self,
        x: float,
        baseline: float,
        text: str,
        *,
        size: float = TEXT,
        anchor: Anchor = "start",
        fill: str = INK,
        bold: bool = False,
        room: float | None = None,
        whole: str = "",
    ) -> Box:
        """One line of text, shortened to `room` where it is given; the whole of it stays as the element's own title."""
        line = clean(text) if room is None else shortened(text, room, size, bold)
        box = text_box(x, baseline, line, size, anchor, bold)
        if not line:
            return box
        attributes = {"x": _n(x), "y": _n(baseline), "font-size": _n(size), "fill": fill}
        if anchor != "start":
            attributes["text-anchor"] = anchor
        if bold:
            attributes["font-weight"] = "bold"
        if runs_left(line):
            attributes |= {"direction": "ltr", "unicode-bidi": "bidi-override"}
        element = ET.Element("text", attributes)
        element.text = seen(line)
        full = clean(whole or text)
        if full != element.text:
            group = ET.Element("g")
            ET.SubElement(group, "title").text = full
            group.append(element)
            element = group
        self._body.append(element)
        self.texts.append(box)
        return box

    def paragraph(
        self,
        x: float,
        top: float,
        text: str,
        room: float,
        *,
        size: float = TEXT,
        anchor: Anchor = "start",
        fill: str = INK,
        bold: bool = False,
        most: int = 2,
    ) -> float:
        """Text wrapped to `room` in at most `most` lines, the first beginning at `top`; returns where the next may begin."""
        lines = wrapped(text, room, size, most, bold)
        for at, line in enumerate(lines):
            baseline = top + ASCENT * size + at * LEADING * size
            # Only a last line that was cut needs the whole.
            whole = text if line.endswith("…") else line
            self.text(x, baseline, line, size=size, anchor=anchor, fill=fill, bold=bold, whole=whole)
        return top + len(lines) * LEADING * size

    def svg(self, height: float) -> str:
        """Return the picture as one SVG element that can stand in an HTML page or in a file."""
        prefix = self.frame.prefix
        root = ET.Element(
            "svg",
            {
                "xmlns": "http://www.w3.org/2000/svg",
                "viewBox": f"0 0 {_n(self.width)} {_n(height)}",
                "width": _n(self.width),
                "height": _n(height),
                "role": "img",
                "aria-labelledby": f"{prefix}-title {prefix}-desc",
                "font-family": "Helvetica, Arial, sans-serif",
            },
        )
        ET.SubElement(root, "title", {"id": f"{prefix}-title"}).text = clean(self.frame.title)
        ET.SubElement(root, "desc", {"id": f"{prefix}-desc"}).text = clean(self.frame.description)
        ET.SubElement(root, "rect", {"width": _n(self.width), "height": _n(height), "fill": PAPER})
        root.extend(self._body)
        return ET.tostring(root, encoding="unicode")

    def _add(self, tag: str, attributes: dict[str, str]) -> None:
        self._body.append(ET.Element(tag, attributes))


def paragraph_height(text: str, room: float, size: float = TEXT, most: int = 2, bold: bool = False) -> float:
    """Return the height that `Drawing.paragraph` will take."""
    return len(wrapped(text, room, size, most, bold)) * LEADING * size


def _stroked(stroke: str, width: float, dash: str) -> dict[str, str]:
    if not stroke:
        return {}
    return {"stroke": stroke, "stroke-width": _n(width), **({"stroke-dasharray": dash} if dash else {})}


def _n(value: float) -> str:
    """Two decimals of a pixel, never ``-0``."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
