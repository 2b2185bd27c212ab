"""A market started from the nearest one: its choices copied with their comments, its local law left to be filled in."""

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from airwarrant.desks.policy_set_text import head, parsed, quoted
from airwarrant.desks.policy_texts import first_day, text_of
from airwarrant.errors import CallError, Fault
from airwarrant.policy.basis_shape import UNFILLED
from airwarrant.policy.compose import compose
from airwarrant.policy.files import layer_files, layer_names, market_names, read_market
from airwarrant.policy.model import Market, Parameter, Policy, Table
from airwarrant.source.syntax import snippet

_PLAIN = re.compile(r"[a-z0-9][a-z0-9-]{0,39}")
_MOST_TITLE = 120
_SOURCE = f'{{ kind = "published", cite = "{UNFILLED}", edition = "{UNFILLED}", adopted = "{UNFILLED}" }}'
_TO_FILL = (
    "Local law, each value as the market it was copied from has it: look each up, write in what the place has adopted, and its source.",
    f'A live job is refused while a "{UNFILLED}" stands here. What the place has not adopted is taken out by taking out its block.',
)


@dataclass(frozen=True, slots=True)
class Started:
    """A new market, not yet written: `files` maps a name below the policies folder to its text, the market's own last."""

    name: str
    title: str
    like: Market
    layers: tuple[str, ...]
    files: Mapping[str, str]


def start(roots: Sequence[Path], name: str, like: str, title: str) -> Started:
    """Plan a new market.

    Its region's files are copied as they stand, for it to change; each code layer becomes its own, every source unfilled; code
    values that other layers hold stand in one more. Trade and company layers are named, not copied.

    Parameters
    ----------
    roots : sequence of Path
        The policies folder that is written into, then those whose layers its markets may name.
    name, like : str
        The new market, and the one it is started from.
    title : str
        Its title; empty makes one of its name.

    Raises
    ------
    CallError
        If the name is not plain or already taken.
    PolicyError
        With every fault of the market it is started from.
    """
    _check_name(roots, name, title)
    title = title or name.replace("-", " ").title()
    market, _ = read_market(roots, like)
    policy = compose(roots, like, {})
    files: dict[str, str] = {}
    layers: list[str] = []
    own_code = f"codes/{name}"
    last_code = max((i for i, layer in enumerate(market.layers) if not layer.startswith("companies/")), default=0)
    for index, layer in enumerate(market.layers):
        kind, _, short = layer.partition("/")
        if kind == "regions":
            layers.append(f"regions/{name}" if f"regions/{name}" not in layers else f"regions/{name}-{short}")
            files |= _copied(roots, layer, layers[-1])
        elif kind == "codes":
            layers.append(f"codes/{name}-{short}")
            files |= {file: _without_sources(text, file) for file, text in _copied(roots, layer, layers[-1]).items()}
        else:
            layers.append(layer)
        if index == last_code:
            begins = first_day(roots, like)
            text = _code_file(policy, title, date.fromisoformat(begins))
            if text:
                files[f"{own_code}/{begins}/code.toml"] = text
                layers.append(own_code)
    for layer in layers:
        if layer not in market.layers and layer in layer_names(roots):
            raise CallError(
                [Fault("already-there", f"there is a layer `{layer}` already", "another name for the market")]
            )
    held = market.place.file
    files[f"markets/{name}.toml"] = _market_file(text_of(roots, held), held, title, layers)
    return Started(name, title, market, tuple(layers), files)


def _check_name(roots: Sequence[Path], name: str, title: str) -> None:
    if not _PLAIN.fullmatch(name):
        allowed = "small letters, digits and hyphens, at most 40, such as umber-flat"
        raise CallError([Fault("bad-name", f"`{name}` for a market", allowed)])
    if len(title) > _MOST_TITLE or not title.isprintable():
        raise CallError(
            [Fault("bad-title", f"--title {snippet(title)}", f"one line, at most {_MOST_TITLE} characters")]
        )
    if name in market_names(*roots):
        advice = "Change a value of it with `airwarrant policy set`."
        raise CallError([Fault("already-there", f"there is a market `{name}` already", "another name", advice=advice)])


def _copied(roots: Sequence[Path], layer: str, to: str) -> dict[str, str]:
    root = next(root for root in roots if (root / layer).is_dir())
    return {
        f"{to}/{file.effective}/{file.file.rsplit('/', 1)[-1]}": file.text.decode("utf-8")
        for file in layer_files(root, layer)
    }


def _without_sources(text: str, file: str) -> str:
    """The file with every source of law unfilled; rules, values and comments stay."""
    document = parsed(text, file)
    found = False
    for block in _blocks(document):
        basis = block.get("basis")
        if basis is not None and ("adopted" in basis or block.get("edit") == "code"):
            found = True
            for key in ("cite", "edition", "adopted"):
                basis[key] = UNFILLED
            basis.pop("unconfirmed", None)
    return "".join(f"# {line}\n" for line in _TO_FILL) + document.as_string() if found else text


def _blocks(document: Mapping[str, Any]) -> Iterable[Any]:
    for held in document.values():
        blocks = held.values() if isinstance(held, Mapping) else held
        yield from (block for block in blocks if isinstance(block, Mapping))


def _code_file(policy: Policy, title: str, day: date) -> str:
    """Code values that no code layer sets, as blocks to be filled in; empty if there are none."""
    values: list[Parameter | Table] = [*policy.parameters.values(), *policy.tables.values()]
    open_ = [value for value in values if value.edit == "code" and not _set_by_code(value)]
    if not open_:
        return ""
    first, *more = _TO_FILL
    text = head(f"{title}: local law", day, first).replace("\n", "".join(f"\n# {line}" for line in more) + "\n", 1)
    return text + "".join(f"\n{_block(value)}" for value in sorted(open_, key=lambda value: value.keys["basis"].place))


def _set_by_code(value: Parameter | Table) -> bool:
    key = "value" if isinstance(value, Parameter) else "rows"
    return value.keys[key].layer.startswith("codes/")


def _block(value: Parameter | Table) -> str:
    comment = f"# {value.title}; in {value.unit}. It is now from {value.keys['basis'].place}."
    if isinstance(value, Parameter):
        section, key, held = "parameter", "value", value.keys["value"].value
    else:
        section, key, held = "table", "rows", value.keys["rows"].value
    return f"{comment}\n[{section}.{value.name}]\n{key} = {quoted(held)}\nbasis = {_SOURCE}\n"


def _market_file(text: str, file: str, title: str, layers: Sequence[str]) -> str:
    document = parsed(text, file)
    market: Any = document["market"]
    market["title"] = title
    market["layers"] = list(layers)
    market["jurisdiction"] = UNFILLED
    market["editions"] = [UNFILLED]
    market["jurisdiction"].comment("who adopts and enforces the codes")
    market["editions"].comment("what the place has adopted")
    return document.as_string()
