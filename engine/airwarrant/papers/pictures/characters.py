"""Text made safe for a picture, and the width of each character."""

import unicodedata
from collections.abc import Iterator
from math import fsum
from types import MappingProxyType
from typing import Final

# Hundredths of an em, the wider of DejaVu Sans 2.37 and Liberation Sans 2.1 (metrics of Arial), rounded up to two: read from the
# fonts' own tables. A reader's sans-serif is rarely wider than these two.
_BY_WIDTH: Final = {
    24: "′",
    28: "'ijlìíîïı",
    30: "IÌÍÎÏ",
    32: " ,.\xa0·‘’\u202f\u2009",
    34: "/:;\\|¦",
    36: "f",
    38: "-″",
    40: "()[]t",
    42: "!r¡²³¹",
    46: '"',
    48: "ªº",
    50: "*J`¨°´¸",
    52: "“”",
    54: "szšž",
    56: "?L_c§¯ç–",
    58: "k",
    60: "vxyýÿ•",
    62: "FTaeo«»¿àáâãäåèéêëðòóôõöø",
    64: "$0123456789bdghnpqu{}¢£¤¥µ¶ßñùúûüþ€",
    68: "EKPSYÈÉÊËÝÞŠŸ",
    70: "ABVXZÀÁÂÃÄÅŽ",
    74: "CRUÇÙÚÛÜ",
    76: "HNÑ",
    78: "&DGÐ",
    80: "OQÒÓÔÕÖØ",
    82: "w",
    84: "#+<=>^~¬±×÷−≤≥≈↑↓",
    88: "M",
    96: "%",
    98: "m¼½¾",
    100: "W©®Ææ—…→←™",
    102: "@",
    104: "œ�",
    108: "Œ",
}
_WIDTH: Final = MappingProxyType({c: w / 100.0 for w, group in _BY_WIDTH.items() for c in group})
_FULL_WIDTH: Final = 1.3
_OTHER: Final = MappingProxyType({"Lu": 1.1, "Ll": 0.95, "Lo": 0.9, "Nd": 0.7})
_OTHERWISE: Final = 1.0
#: A mark set apart from its letter, as some renderers do, on a dotted circle.
_MARK: Final = 0.65
#: What bold adds to a character of the two fonts.
BOLD_MORE: Final = 0.09

_JOINER: Final = "\u200d"
_DIRECTION: Final = frozenset("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
_KEPT_SPACES: Final = frozenset("\xa0\u202f\u2009")
_MOST_MARKS: Final = 3


def clean(text: str) -> str:
    """Return `text` as one line that XML 1.0 can hold and that keeps within its line.

    Control characters and marks that turn the direction of what follows are left out, all white space becomes single spaces, and
    a half of a surrogate pair becomes the replacement character. A letter and its mark become one character where there is one
    (normalization form C), and more than three marks on one letter are cut to three.

    References
    ----------
    Extensible Markup Language (XML) 1.0 (Fifth Edition), W3C 2008, production 2, Char.
    """
    kept: list[str] = []
    marks = 0
    for c in unicodedata.normalize("NFC", "".join(map(_one, text))):
        marks = marks + 1 if unicodedata.category(c) in ("Mn", "Me") else 0
        if marks <= _MOST_MARKS and not (c == " " and (not kept or kept[-1] == " ")):
            kept.append(c)
    return "".join(kept).strip()


def _one(c: str) -> str:
    code = ord(c)
    if c in _KEPT_SPACES:
        return c
    if c.isspace():
        return " "
    if 0xD800 <= code <= 0xDFFF:
        return "\ufffd"
    if c in _DIRECTION or unicodedata.category(c) == "Cc" or code & 0xFFFE == 0xFFFE:
        return ""
    # Ligatures of whole phrases are wider than any table: spell them out.
    if 0xFB50 <= code <= 0xFDFF or 0xFE70 <= code <= 0xFEFF:
        return unicodedata.normalize("NFKC", c).replace("\ufeff", "")
    return c


def clusters(text: str) -> Iterator[str]:
    """Yield what a reader sees as one character: a letter with its marks, a flag, a joined picture."""
    held = ""
    flags = 0
    for c in text:
        flag = "\U0001f1e6" <= c <= "\U0001f1ff"
        joins = held and (_is_added(c) or held[-1] == _JOINER or (flag and flags % 2 == 1))
        if held and not joins:
            yield held
            held = ""
        held += c
        flags = flags + 1 if flag else 0
    if held:
        yield held


def _is_added(c: str) -> bool:
    return c == _JOINER or unicodedata.category(c) in ("Mn", "Me", "Mc") or "\U0001f3fb" <= c <= "\U0001f3ff"


def cluster_width(cluster: str) -> float:
    """Return the width of one cluster in em, its parts side by side: not every renderer joins them."""
    return fsum(map(_character_width, cluster))


def _character_width(c: str) -> float:
    if c in _WIDTH:
        return _WIDTH[c]
    category = unicodedata.category(c)
    if category == "Cf" or "\ufe00" <= c <= "\ufe0f":
        return 0.0
    if category in ("Mn", "Me"):
        return _MARK
    if unicodedata.east_asian_width(c) in ("W", "F") or ord(c) > 0xFFFF:
        return _FULL_WIDTH
    return _OTHER.get(category, _OTHERWISE)
