"""A TOML or JSON text as data together with the place of every value and key."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from airwarrant.errors import InputError
from airwarrant.source.json_text import parse_json
from airwarrant.source.place import Place
from airwarrant.source.syntax import Path, Refused
from airwarrant.source.toml_text import parse_toml


@dataclass(frozen=True, slots=True)
class Document:
    """A file's data and where each part of it stands.

    Attributes
    ----------
    file : str
        Name of the file as its reader knows it.
    data : dict
        The values, as ``tomli`` or ``json`` give them.
    places : Mapping
        Path of a value -> place of its first character. A path is a tuple of keys and list positions; ``()`` is all.
    key_places : Mapping
        Path of a value -> place of the first character of its key.
    """

    file: str
    data: dict[str, Any]
    places: Mapping[Path, Place]
    key_places: Mapping[Path, Place]

    def place(self, path: Path) -> Place:
        """Return the place of the value at `path`, else that of the nearest part around it that exists."""
        return _nearest(self.places, path, self.file)

    def key_place(self, path: Path) -> Place:
        """Return the place of the key at `path`, else that of the value or of what is around it."""
        return self.key_places.get(path) or self.place(path)


def read_toml(text: bytes, file: str, *, error: type[InputError]) -> Document:
    """Read a TOML 1.0 text.

    Parameters
    ----------
    text : bytes
        The file's bytes, UTF-8.
    file : str
        Name used in every place.
    error : type of InputError
        What to raise.

    Raises
    ------
    InputError
        Of the type `error`, with every fault found in the text.
    """
    try:
        data, places, keys = parse_toml(text, file)
    except Refused as refused:
        raise error(refused.faults) from None
    return Document(file, data, places, keys)


def read_json(text: bytes, file: str, *, error: type[InputError]) -> Document:
    """Read a JSON text whose outermost value is an object; otherwise as `read_toml`."""
    try:
        data, places, keys = parse_json(text, file)
    except Refused as refused:
        raise error(refused.faults) from None
    return Document(file, data, places, keys)


def _nearest(places: Mapping[Path, Place], path: Path, file: str) -> Place:
    for end in range(len(path), -1, -1) if places else ():
        if path[:end] in places:
            return places[path[:end]]
    return Place(file, 1, 1)
