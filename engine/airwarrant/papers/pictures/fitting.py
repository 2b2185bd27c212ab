"""Text measured, wrapped and shortened to the room there is."""

from math import fsum

from airwarrant.papers.pictures.characters import BOLD_MORE, clean, cluster_width, clusters

ELLIPSIS = "…"
#: Where a line may break after a character that is not a space.
_BREAKS_AFTER = "-/,;"
#: Room is often a difference of sums that end in this text's own width.
_ROUNDING = 0.01


def text_width(text: str, size: float, bold: bool = False) -> float:
    """Return the width of `text`, already clean, set in one line at `size`; the same unit as `size`."""
    more = BOLD_MORE if bold else 0.0
    # Exact: plain sums differ between versions of Python in the last digit.
    return size * fsum(cluster_width(one) + more for one in clusters(text))


def shortened(text: str, room: float, size: float, bold: bool = False) -> str:
    """Return `text` as one clean line no wider than `room`, its end replaced by an ellipsis where it is too long."""
    line = clean(text)
    return line if text_width(line, size, bold) <= room + _ROUNDING else _cut(line, room, size, bold)


def wrapped(text: str, room: float, size: float, most: int, bold: bool = False) -> tuple[str, ...]:
    """Return `text` as at most `most` clean lines no wider than `room`; no line where there is no text.

    A word wider than the room is broken; what does not fit in the last line ends in an ellipsis.
    """
    lines: list[str] = []
    line = ""
    pieces = _pieces(clean(text), room, size, bold)
    for at, piece in enumerate(pieces):
        if text_width((line + piece).rstrip(), size, bold) <= room + _ROUNDING:
            line += piece
            continue
        if len(lines) == most - 1:
            rest = line + "".join(pieces[at:])
            return (*lines, _cut(rest, room, size, bold))
        lines.append(line.rstrip())
        line = piece
    if line.strip():
        lines.append(line.rstrip())
    return tuple(lines)


def _pieces(text: str, room: float, size: float, bold: bool) -> list[str]:
    """What may stand alone at the end of a line, longest possible and none wider than the room."""
    pieces: list[str] = []
    held = ""
    for one in clusters(text):
        if held and text_width((held + one).rstrip(), size, bold) > room + _ROUNDING:
            pieces.append(held)
            held = ""
        held += one
        if one == " " or (one in _BREAKS_AFTER and len(held) > 2):
            pieces.append(held)
            held = ""
    return [*pieces, held] if held else pieces


def _cut(text: str, room: float, size: float, bold: bool) -> str:
    kept = ""
    for one in clusters(text):
        if text_width(kept + one + ELLIPSIS, size, bold) > room + _ROUNDING:
            break
        kept += one
    return kept.rstrip() + ELLIPSIS
