"""A picture read back: its texts and the room they take, its marks, its colours."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations
from xml.etree import ElementTree as ET

from airwarrant.papers.pictures.drawing import Box, text_box

SVG = "{http://www.w3.org/2000/svg}"
#: Coordinates are written to 0.01.
ROUNDING = 0.03


@dataclass(frozen=True)
class Text:
    text: str
    box: Box
    fill: str


def root_of(svg: str) -> ET.Element:
    return ET.fromstring(svg)


def texts(svg: str) -> list[Text]:
    found = []
    for one in root_of(svg).iter(f"{SVG}text"):
        anchor = one.get("text-anchor", "start")
        assert anchor in ("start", "middle", "end")
        box = text_box(
            float(one.attrib["x"]),
            float(one.attrib["y"]),
            one.text or "",
            float(one.attrib["font-size"]),
            anchor,  # type: ignore[arg-type]
            one.get("font-weight") == "bold",
        )
        found.append(Text(one.text or "", box, one.attrib["fill"]))
    return found


def words(svg: str) -> str:
    """All texts after one another without white space, so that a wrapped text is found too."""
    return "".join(re.sub(r"\s", "", one.text) for one in texts(svg))


def view(svg: str) -> Box:
    left, top, width, height = map(float, root_of(svg).attrib["viewBox"].split())
    return Box(left, top, left + width, top + height)


def overlaps(svg: str) -> Iterator[tuple[str, str]]:
    for one, other in combinations(texts(svg), 2):
        if _smaller(one.box).meets(other.box):
            yield one.text, other.text


def outside(svg: str) -> Iterator[str]:
    room = view(svg)
    for one in texts(svg):
        box = _smaller(one.box)
        if box.left < room.left or box.top < room.top or box.right > room.right or box.bottom > room.bottom:
            yield one.text


def _smaller(box: Box) -> Box:
    return Box(box.left + ROUNDING, box.top + ROUNDING, box.right - ROUNDING, box.bottom - ROUNDING)


def rings(svg: str) -> list[tuple[float, float]]:
    """Middles of the open circles of the chart, in the order drawn; those of the key are smaller."""
    return [
        (float(c.attrib["cx"]), float(c.attrib["cy"]))
        for c in root_of(svg).iter(f"{SVG}circle")
        if c.get("fill") == "none" and float(c.attrib["r"]) > 4.0
    ]


def diamonds(svg: str) -> list[tuple[float, float]]:
    """Middles of the filled diamonds of the chart."""
    found = []
    for shape in root_of(svg).iter(f"{SVG}polygon"):
        points = [tuple(map(float, p.split(","))) for p in shape.attrib["points"].split()]
        if len(points) == 4 and points[2][1] - points[0][1] > 9.0:
            found.append((points[0][0], points[1][1]))
    return found


def strokes(svg: str) -> list[tuple[float, float]]:
    """Middles of the thick upright strokes of the chart."""
    return [
        (float(line.attrib["x1"]), (float(line.attrib["y1"]) + float(line.attrib["y2"])) / 2.0)
        for line in root_of(svg).iter(f"{SVG}line")
        if line.get("stroke-width") == "2.4" and float(line.attrib["y2"]) - float(line.attrib["y1"]) > 14.0
    ]


def number(text: str) -> float | None:
    """The number that a tick label of these tests prints."""
    try:
        return float(text.replace(",", "").replace("−", "-"))
    except ValueError:
        return None


def across(svg: str) -> tuple[float, float]:
    """(x at 0, pixels per unit) of the lowest row of numbers in the picture, read from its tick labels alone."""
    ticks = [(number(one.text), one.box) for one in texts(svg) if number(one.text) is not None]
    lowest = max(box.bottom for _, box in ticks)
    places = [((box.left + box.right) / 2.0, value) for value, box in ticks if abs(box.bottom - lowest) < 0.1]
    # The outermost labels may be pushed inwards; the line is taken from the ticks between where there are enough.
    places.sort()
    inner = places[1:-1] if len(places) > 3 else places
    (x1, v1), (x2, v2) = inner[0], inner[-1]
    assert v1 is not None
    assert v2 is not None
    step = (x2 - x1) / (v2 - v1)
    return x1 - v1 * step, step
