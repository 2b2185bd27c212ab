"""Words of the reason tree in each language; titles of rules, checks and values come with the result."""

import tomllib
from collections.abc import Callable, Mapping
from importlib.resources import files

#: What a text of the result reads in the tree's language.
Say = Callable[[str], str]


class ReasonWords:
    """Words of one language by dotted name, and the result's own texts in it."""

    def __init__(self, language: str = "en", say: Say = str) -> None:
        text = (files("airwarrant.result") / "reasons" / f"{language}.toml").read_text(encoding="utf-8")
        self._words = dotted(tomllib.loads(text))
        self.say = say

    def __call__(self, name: str, /, **holes: object) -> str:
        """Return a word with its ``{holes}`` filled."""
        return self._words[name].format(**holes)

    def of(self, word: str) -> str:
        """Return what a closed word of a result is called, the word itself where it has no other name."""
        return self._words.get(f"word.{word.replace(' ', '-')}", word)

    def names(self) -> frozenset[str]:
        """Every dotted name."""
        return frozenset(self._words)


def dotted(block: Mapping[str, object], before: str = "") -> dict[str, str]:
    """Return the texts of nested tables by dotted name."""
    found: dict[str, str] = {}
    for name, value in block.items():
        if isinstance(value, Mapping):
            found |= dotted(value, f"{before}{name}.")
        else:
            found[f"{before}{name}"] = str(value)
    return found
