"""The figures that jobs are drawn from: one TOML file beside this module."""

import tomllib
from collections.abc import Iterator, Mapping
from functools import cache
from importlib.resources import files
from typing import Any

Pair = tuple[float, float]


@cache
def _all() -> dict[str, Any]:
    return tomllib.loads((files(__package__) / "figures.toml").read_text("utf-8"))


def _at(path: str) -> Any:
    here: Any = _all()
    for part in path.split("/"):
        here = here[part]
    return here


def has(path: str) -> bool:
    """Whether the file holds something at a path such as ``cause/leaky-ducts/forms``."""
    try:
        _at(path)
    except KeyError:
        return False
    return True


def number(path: str) -> float:
    """A number at a path."""
    return float(_at(path))


def pair(path: str) -> Pair:
    """The ends of an even spread."""
    low, high = _at(path)
    return float(low), float(high)


def weights(path: str) -> Mapping[str, float]:
    """Names and their weights."""
    return {str(name): float(weight) for name, weight in _at(path).items()}


def names(path: str) -> tuple[str, ...]:
    """A list of names; empty where there is none."""
    return tuple(_at(path)) if has(path) else ()


def numbers(path: str) -> tuple[float, ...]:
    """A list of numbers."""
    return tuple(float(one) for one in _at(path))


def blocks(path: str) -> Iterator[Mapping[str, Any]]:
    """A list of blocks."""
    yield from _at(path)


def text(path: str) -> str:
    """A text at a path."""
    return str(_at(path))


def of_climate(climate: str, name: str) -> str:
    """Path of a value of the house: the climate's own if it has one, else that of all."""
    own = f"climate/{climate}/{name}"
    return own if has(own) else f"house/{name}"


def causes() -> tuple[str, ...]:
    """Every cause in the order of the file, which is the order they are drawn in."""
    return tuple(_at("cause"))


def version() -> int:
    """Version of the figures: it changes when the same seed would make another job."""
    return int(_at("version"))


def climates() -> tuple[str, ...]:
    """Every climate that a house can be drawn in."""
    return tuple(_at("climate"))


def texts(path: str) -> Mapping[str, str]:
    """Names and their texts."""
    return {str(name): str(one) for name, one in _at(path).items()}
