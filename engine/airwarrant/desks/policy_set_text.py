"""One block of a policy file written or changed as text: everything else in the file, comments too, stays as it is."""

from collections.abc import Mapping, Sequence
from datetime import MAXYEAR, date
from typing import TYPE_CHECKING, Any

from airwarrant.errors import Fault, PolicyError
from airwarrant.source.place import Place

if TYPE_CHECKING:
    from tomlkit import TOMLDocument

BASIS = {"kind": "engineering-judgement"}


def head(title: str, day: date, comment: str) -> str:
    """Return the beginning of a policy file that is to be reviewed a year after a day."""
    year = min(day.year + 1, MAXYEAR)
    review = day.replace(year=year, day=28 if (day.month, day.day) == (2, 29) else day.day)
    return f"# {comment}\n[policy]\ntitle = {quoted(title)}\nreview_by = {review.isoformat()}\n"


def quoted(value: Any) -> str:
    """Return a text, a number, or a list or block of them as TOML writes it, on one line."""
    from tomlkit import item  # where it is used: it would slow every start

    if isinstance(value, Mapping):
        return "{ " + ", ".join(f"{key} = {quoted(held)}" for key, held in value.items()) + " }"
    if isinstance(value, Sequence) and not isinstance(value, str):
        return "[" + ", ".join(map(quoted, value)) + "]"
    return str(item(value).as_string())


def with_block(text: str, file: str, section: str, name: str, keys: Mapping[str, Any]) -> str:
    """Return a file's text in which a block has these keys; a block that is new stands at the end.

    Raises
    ------
    PolicyError
        If the file is no TOML.
    """
    document = parsed(text, file)
    held = document.get(section, {}).get(name)
    if held is None:
        lines = [f"[{section}.{name}]", *(f"{key} = {quoted(value)}" for key, value in keys.items())]
        return text.rstrip("\n") + "\n\n" + "\n".join(lines) + "\n"
    for key, value in keys.items():
        if key in held and held[key] == value:
            continue
        if key in ("rows", "by_size") and key in held and _same_keys(held[key], value):
            for row, new in zip(held[key], value, strict=True):
                if row[1] != new[1]:
                    row[1] = new[1]
        elif isinstance(value, Mapping):
            held[key] = parsed(f"x = {quoted(value)}", file)["x"]
        else:
            held[key] = value
    return document.as_string()


def with_layer(text: str, file: str, layer: str) -> str:
    """Return a market file's text with a further layer at the end of its list."""
    document = parsed(text, file)
    layers = document["market"]["layers"]
    layers.append(layer)
    return document.as_string()


def parsed(text: str, file: str) -> "TOMLDocument":
    """Read a TOML text for changing; raise `PolicyError` if it cannot be read."""
    import tomlkit  # where it is used: it would slow every start
    from tomlkit.exceptions import TOMLKitError

    try:
        return tomlkit.parse(text)
    except TOMLKitError as error:
        found, advice = "this file cannot be changed with its comments kept", "Write the value into it by hand."
        raise PolicyError([Fault("toml-syntax", found, "TOML", Place(file, 1, 1), advice=advice)]) from error


def _same_keys(old: Sequence[Any], new: Sequence[Any]) -> bool:
    return len(old) == len(new) and all(a[0] == b[0] for a, b in zip(old, new, strict=True))
