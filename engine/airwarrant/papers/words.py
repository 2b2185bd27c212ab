"""Words of the papers themselves, headings and labels, in each language; what is said of a job comes with its result."""

import tomllib
from collections.abc import Mapping
from importlib.resources import files

from airwarrant.errors import CallError, Fault
from airwarrant.result.why_words import dotted

LANGUAGES = ("en", "es")


class Words:
    """Words of one language by dotted name; a name that is missing is a fault of the program, never an empty place on a paper."""

    def __init__(self, language: str, words: Mapping[str, str]) -> None:
        self.language = language
        self._words = words

    def __call__(self, name: str, **holes: object) -> str:
        """Return a word with its ``{holes}`` filled."""
        text = self._words[name]
        return text.format(**holes) if holes else text

    def has(self, name: str) -> bool:
        """Whether there is such a word."""
        return name in self._words

    def of(self, group: str, name: str) -> str:
        """Return what a closed word of a record is called, or the word itself with its hyphens as spaces."""
        key = f"{group}.{name}"
        return self._words.get(key, name.replace("-", " ").replace("_", " "))

    def names(self) -> frozenset[str]:
        """Every dotted name."""
        return frozenset(self._words)


def words_of(language: str) -> Words:
    """Read the words of a language.

    Raises
    ------
    CallError
        If the papers do not speak it.
    """
    if language not in LANGUAGES:
        raise CallError([Fault("language", f"--language {language}", " or ".join(LANGUAGES))])
    found: dict[str, str] = {}
    for file in (files("airwarrant.papers") / "words" / language).iterdir():
        if file.name.endswith(".toml"):
            found |= dotted(tomllib.loads(file.read_text(encoding="utf-8")))
    return Words(language, found)
