"""A page read as a reader does: its text without markup and pictures, its numbers, what it refers to."""

import re
from html.parser import HTMLParser

from airwarrant.papers.numbers import typeset

#: Elements that have no end.
_VOID = {"meta", "br", "img", "input", "hr", "link", "wbr", "col"}


class _Reader(HTMLParser):
    def __init__(self) -> None:
        super().__init__(convert_charrefs=True)
        self.texts: list[str] = []
        self.opened: list[str] = []
        self.elements: list[tuple[str, dict[str, str | None]]] = []
        self.broken: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))
        if tag not in _VOID:
            self.opened.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.elements.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        if not self.opened or self.opened.pop() != tag:
            self.broken.append(tag)

    def handle_data(self, data: str) -> None:
        if not {"style", "svg"} & set(self.opened):
            self.texts.append(data)


def read(html: str) -> _Reader:
    """Parse a page."""
    reader = _Reader()
    reader.feed(html)
    reader.close()
    return reader


def text_of(html: str) -> str:
    """What a reader sees beside the pictures, with single spaces."""
    return " ".join(" ".join(read(html).texts).split())


def prose_of(html: str) -> str:
    """Sentences of a page: what stands in paragraphs and lists, each ended as a sentence is."""
    bare = re.sub(r"<(style|svg|table|header|footer)\b.*?</\1>", " ", html, flags=re.DOTALL)
    blocks = [text_of(block) for block in re.findall(r"<(?:p|li)\b[^>]*>.*?</(?:p|li)>", bare, re.DOTALL)]
    return " ".join(block if block[-1] in ".!?" else f"{block}." for block in blocks if block)


def as_printed(text: str) -> str:
    """A text of the result as a page has it."""
    return " ".join(typeset(text).split())


def numbers_of(html: str) -> list[str]:
    """Every number of the text, in order of size of their text: what two languages must share."""
    return sorted(re.findall(r"\d[\d,.]*\d|\d", text_of(html)))


def refers_outside(html: str) -> list[str]:
    """Whatever would make a browser ask for something else than the page."""
    found = re.findall(r"url\(\s*['\"]?(?!#)[^)]*\)|@import[^;]*", html)
    for tag, attrs in read(html).elements:
        for name, value in attrs.items():
            outside = name in ("src", "href", "srcset", "data", "poster", "action", "xlink:href", "background")
            if name.startswith("on") or (outside and not (value or "").startswith("#")):
                found.append(f"{tag} {name}={value}")
        if tag in ("script", "iframe", "object", "embed", "link", "form"):
            found.append(tag)
    return found
