"""Text written from right to left, put in the order and the forms in which it is seen.

A browser does this by itself; the PDF renderer sets SVG text character by character from left to right and does not. So it is
done here, and the text element says that nothing is left to reorder.
"""

import unicodedata
from collections.abc import Mapping, Sequence
from types import MappingProxyType
from typing import Final

from airwarrant.papers.pictures.characters import clusters

_RIGHT: Final = frozenset(("R", "AL"))
_NUMBER: Final = frozenset(("EN", "AN"))
_MIRRORED: Final = MappingProxyType(dict(zip("()[]{}<>«»", ")(][}{><»«", strict=True)))
_IN_NUMBERS: Final = ".,:/"
_SIGNS: Final = "+-−"
_TATWEEL: Final = "\u0640"
_LAM: Final = "\u0644"


def _forms() -> Mapping[str, Mapping[str, str]]:
    """Letter, or lam and alef, to its presentation forms by name, from the decompositions of the Unicode database."""
    found: dict[str, dict[str, str]] = {}
    for code in (*range(0xFB50, 0xFC00), *range(0xFE80, 0xFEFD)):
        form, *letters = unicodedata.decomposition(chr(code)).split() or [""]
        if form in ("<isolated>", "<final>", "<initial>", "<medial>"):
            whole = "".join(chr(int(letter, 16)) for letter in letters)
            found.setdefault(whole, {})[form.strip("<>")] = chr(code)
    return MappingProxyType(found)


_FORMS: Final = _forms()


def runs_left(text: str) -> bool:
    """Whether any of `text` is written from right to left."""
    return any(unicodedata.bidirectional(c) in _RIGHT for c in text)


def seen(text: str) -> str:
    """Return one line of clean text as it is seen from left to right, Arabic letters in their joined forms.

    Notes
    -----
    Of the Unicode Bidirectional Algorithm (Unicode Standard Annex 9) the part for text without direction marks, which `clean`
    takes out: the line's direction is that of its first letter (P2, P3), spaces and signs go with what surrounds them (N1, N2),
    numbers read from left to right (I1, I2), runs are turned by level (L2) and brackets mirrored (L4). Weak types are taken
    together: a number keeps the signs inside it.
    """
    if not runs_left(text):
        return text
    parts = list(clusters(_joined(text)))
    levels = _levels(parts)
    parts = [_MIRRORED.get(p, p) if level % 2 else p for p, level in zip(parts, levels, strict=True)]
    for level in range(max(levels), 0, -1):
        start = 0
        while start < len(parts):
            end = start
            while end < len(parts) and levels[end] >= level:
                end += 1
            parts[start:end] = parts[start:end][::-1]
            levels[start:end] = levels[start:end][::-1]
            start = max(end, start + 1)
    return "".join(parts)


def _levels(parts: Sequence[str]) -> list[int]:
    kinds = [_kind(part) for part in parts]
    base = next((kind for kind in kinds if kind in ("left", "right")), "left")
    for at, kind in enumerate(kinds):
        inside = 0 < at < len(kinds) - 1 and kinds[at - 1] == kinds[at + 1] == "number"
        if (
            kind == "neutral"
            and inside
            and (parts[at] in _IN_NUMBERS or (parts[at] in _SIGNS and not _after_arabic(parts, at)))
        ):
            kinds[at] = "number"
    low = 1 if base == "right" else 0
    levels = []
    for at, kind in enumerate(kinds):
        before = next((k for k in reversed(kinds[:at]) if k in ("left", "right")), base)
        if kind == "number":
            levels.append(2 if before == "right" else low + low % 2)
        elif kind == "neutral":
            after = next((k for k in kinds[at + 1 :] if k != "neutral"), base)
            # A number counts as right to left for the signs around it where it stands among such letters.
            after = before if after == "number" else after
            direction = before if before == after else base
            levels.append(1 if direction == "right" else low + low % 2)
        else:
            levels.append(1 if kind == "right" else low + low % 2)
    return levels


def _after_arabic(parts: Sequence[str], at: int) -> bool:
    """Whether the last letter before is Arabic: a sign between two numbers then parts them (W2, W4)."""
    names = (unicodedata.bidirectional(part[0]) for part in reversed(parts[:at]))
    return next((name for name in names if name in ("L", "R", "AL")), "") == "AL"


def _kind(part: str) -> str:
    name = unicodedata.bidirectional(part[0])
    if name in _RIGHT:
        return "right"
    return "left" if name == "L" else "number" if name in _NUMBER else "neutral"


def _joined(text: str) -> str:
    """Each Arabic letter in the form that its neighbours ask for; marks on a letter do not part it from the next."""
    letters = [at for at, c in enumerate(text) if unicodedata.category(c) != "Mn"]
    out = list(text)
    skip = -1
    for n, at in enumerate(letters):
        if at == skip:
            continue
        before = text[letters[n - 1]] if n else ""
        after = text[letters[n + 1]] if n + 1 < len(letters) else ""
        letter = text[at]
        if letter == _LAM and after and letter + after in _FORMS:
            letter, skip = letter + after, letters[n + 1]
            after = ""
            out[skip] = ""
        forms = _FORMS.get(letter)
        if forms is None:
            continue
        to_before = _joins_on(before) and "final" in forms
        to_after = "initial" in forms and _joins_back(after)
        name = ("medial" if to_after else "final") if to_before else ("initial" if to_after else "isolated")
        out[at] = forms.get(name, out[at])
    return "".join(out)


def _joins_on(letter: str) -> bool:
    return letter == _TATWEEL or "initial" in _FORMS.get(letter, ())


def _joins_back(letter: str) -> bool:
    return letter == _TATWEEL or "final" in _FORMS.get(letter, ())
