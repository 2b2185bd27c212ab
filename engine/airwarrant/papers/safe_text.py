"""Text of a record on a page: every character that can mislead or break a page is made visible; the rest stays as it was written."""

import unicodedata

#: Marks that turn the direction of text around them; on a bill they could make one amount look like another.
_TURNING = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069\u200e\u200f\u061c")
_KEPT = frozenset("\n\t")
_SHOWN = "\N{REPLACEMENT CHARACTER}"


def visible(text: str) -> str:
    """Return the text with control characters, turning marks and lone surrogates replaced by a visible sign."""
    if text.isascii() and text.isprintable():
        return text
    return "".join(_SHOWN if _hidden(one) else one for one in text)


def _hidden(one: str) -> bool:
    if one in _KEPT:
        return False
    return one in _TURNING or unicodedata.category(one) in ("Cc", "Cs", "Cn")
