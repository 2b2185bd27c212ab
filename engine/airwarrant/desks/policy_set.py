"""One policy value set for one market from one day: the files that say so, checked before any is written."""

import shutil
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

from airwarrant.desks.analysis.odd_limits import odd_limits
from airwarrant.desks.policy_set_text import BASIS, head, parsed, with_block, with_layer
from airwarrant.desks.policy_set_value import row_named, typed_value
from airwarrant.desks.policy_texts import first_day, lay_out, text_of
from airwarrant.errors import CallError, Fault, PolicyError
from airwarrant.policy.compose import compose
from airwarrant.policy.files import market_names, read_market, read_sources
from airwarrant.policy.history import find
from airwarrant.policy.model import Market, Named, Policy, Sourced
from airwarrant.policy.whole import check_folder
from airwarrant.source.place import Place
from airwarrant.source.syntax import snippet

#: The number that `policy set` writes, by section; tables and items that cost by size go by row.
_NUMBER = {"parameter": "value", "factor": "value", "crew": "wage", "item": "cost", "charge": "cost", "price": "hours"}
_ROWS = {"table": "rows", "item": "by_size"}
_BY_UNIT = {"table": "by_unit", "item": "size_unit"}
_OWN = ("companies", "regions")
_FILE = "values.toml"
_BEGINS = "begins.toml"
_MOST_WHY = 1000


@dataclass(frozen=True, slots=True)
class Wish:
    """What an owner asks for: `row` is the key of a table's row, `why` becomes the note beside the value."""

    market: str
    name: str
    value: str
    from_day: date
    why: str
    row: str = ""


@dataclass(frozen=True, slots=True)
class Standing:
    """A value as one layer sets it, from a day on."""

    value: float | str
    layer: str
    effective: str
    place: Place


@dataclass(frozen=True, slots=True)
class Planned:
    """A change that composes and checks, not yet written.

    Attributes
    ----------
    governs : str
        The date of a job that decides whether the change holds for it.
    said : str
        How a value typed in another unit is written; else empty.
    files : mapping
        Name below the policies folder -> text; empty where it stands so already.
    later : tuple of Standing
        What the value becomes on later days, where layers say so already.
    odd : tuple of Fault
        What is odd about the new value as a limit.
    """

    wish: Wish
    market: Market
    section: str
    name: str
    title: str
    unit: str
    row: str
    said: str
    governs: str
    old: Standing
    new: Standing
    files: Mapping[str, str]
    new_layer: bool
    later: tuple[Standing, ...]
    odd: tuple[Fault, ...] = ()


def plan(roots: Sequence[Path], wish: Wish, also: Callable[[Policy], object]) -> Planned:
    """Plan a change and check the market as it would be, at every day something changes.

    Parameters
    ----------
    roots : sequence of Path
        The policies folder that is written into, then those whose layers its markets may name.
    wish : Wish
    also : callable
        A further check of a composed policy; may raise `PolicyError`.

    Raises
    ------
    CallError, PolicyError
        With every fault; nothing is written.
    """
    _check_why(wish.why)
    market, _ = read_market(roots, wish.market)
    aim = _aim(compose(roots, wish.market, {"survey": wish.from_day}), wish)
    typed = typed_value(wish.value, aim.unit, aim.what)
    layer, made = _own_layer(roots, market, aim.held.layer)
    name = _file(roots[0], layer, wish.from_day, aim)
    files: dict[str, str] = {}
    new, later = aim.standing, ()  # type: tuple[Standing, tuple[Standing, ...]]
    odd: tuple[Fault, ...] = ()
    if typed.value != aim.standing.value or aim.standing.place.file == name:
        files = _files(roots, wish, market, aim, typed.value, name, layer if made else "")
    if files:
        with overlay(roots, market, layer, files) as there:
            faults = check_folder(there, also, only=lambda one, _: one == market.name).faults
            if faults:
                raise PolicyError(faults)
            new, later = _as_composed(there, market, wish, aim)
            made_so = compose(there, wish.market, {"survey": wish.from_day})
            odd = tuple(fault for fault in odd_limits(made_so) if fault.field == aim.block.name)
    return Planned(
        wish=wish,
        market=market,
        section=aim.section,
        name=aim.block.name,
        title=str(getattr(aim.block, "title", "") or aim.block.name),
        unit="" if aim.unit == "word" else aim.unit,
        row=aim.row,
        said=typed.said,
        governs=market.dates_by_layer[layer.split("/")[0]],
        old=aim.standing,
        new=new,
        files=files,
        new_layer=made and bool(files),
        later=later,
        odd=odd,
    )


@contextmanager
def overlay(roots: Sequence[Path], market: Market, layer: str, files: Mapping[str, str]) -> Iterator[tuple[Path, ...]]:
    """Give policy folders in which one layer, and the market's file, are as planned; gone afterwards."""
    with TemporaryDirectory(prefix="airwarrant-") as folder:
        there = Path(folder)
        held = market.place.file
        if (roots[0] / layer).is_dir():
            shutil.copytree(roots[0] / layer, there / layer)
        lay_out(there, {held: text_of(roots, held), **files})
        yield (there, *roots)


@dataclass(frozen=True, slots=True)
class _Aim:
    """What is written: a key of a block, or the answer of one of its rows, as it stands on the first day."""

    section: str
    block: Named
    key: str
    unit: str
    index: int | None = None
    row: str = ""

    @property
    def what(self) -> str:
        return f"the row {self.row} of `{self.block.name}`" if self.row else f"`{self.block.name}`"

    @property
    def held(self) -> Sourced:
        return self.block.keys[self.key]

    @property
    def standing(self) -> Standing:
        return _standing(self.held, self.index)


def _check_why(why: str) -> None:
    if not why.strip() or len(why) > _MOST_WHY or not why.isprintable():
        found = f"--why {snippet(why)}" if why.strip() else "--why says nothing"
        raise CallError([Fault("why", found, f"the reason in one line of plain text, at most {_MOST_WHY} characters")])


def _aim(policy: Policy, wish: Wish) -> _Aim:
    section, block = find(policy, wish.name)
    by_hand = "Write it into a file of your own layer, as policies/README.md says."
    if block is None or (section not in _NUMBER and section not in _ROWS):
        found = f"`{wish.name}` is a {'text' if section == 'said' else section}"
        allowed = "a parameter, a table with --row, or a number of the price book"
        raise CallError([Fault("not-a-value", found, allowed, advice=by_hand)])
    if "edit" in block.keys and block.keys["edit"].value == "code":
        advice = "Write it into a layer of codes/ with cite, edition and the day of adoption."
        found = f"`{block.name}` is adopted law, not a choice of the company"
        raise PolicyError([Fault("code-value", found, place=block.keys["edit"].place, advice=advice)])
    key = _ROWS.get(section, "")
    if key in block.keys:
        by_unit = str(block.keys[_BY_UNIT[section]].value) if _BY_UNIT[section] in block.keys else ""
        names = [_row_text(row[0], by_unit) for row in block.keys[key].value]
        if not wish.row:
            raise CallError([Fault("no-row", f"`{block.name}` has rows", f"--row with one of: {', '.join(names)}")])
        index = row_named(wish.row, [row[0] for row in block.keys[key].value], by_unit, f"`{block.name}`")
        return _Aim(section, block, key, _unit(section, block), index, names[index])
    if wish.row:
        raise CallError([Fault("no-rows", f"--row {wish.row}: `{block.name}` has no rows", "no --row")])
    key = _NUMBER[section]
    if key not in block.keys:
        raise CallError([Fault("not-a-value", f"the {section} `{block.name}` has no `{key}`", advice=by_hand)])
    return _Aim(section, block, key, _unit(section, block))


def _unit(section: str, block: Named) -> str:
    return str(block.keys["unit"].value) if section in ("parameter", "table") else ""


def _row_text(key: Any, by_unit: str) -> str:
    return key if isinstance(key, str) else f"{key:g} {by_unit}".strip()


def _standing(held: Sourced, index: int | None) -> Standing:
    value = held.value if index is None else held.value[index][1]
    return Standing(value, held.layer, held.place.file.rsplit("/", 2)[-2], held.place)


def _own_layer(roots: Sequence[Path], market: Market, set_by: str) -> tuple[str, bool]:
    """The layer to write into, and whether it is new.

    It is a company's or region's layer of the folder in use that this market alone names, and no layer after it sets the value:
    what is set for one market changes no other.
    """
    least = market.layers.index(set_by)
    others = [read_market(roots, name)[0].layers for name in market_names(*roots) if name != market.name]
    for layer in reversed(market.layers[least:]):
        shared = any(layer in layers for layers in others)
        if layer.split("/")[0] in _OWN and not shared and (roots[0] / layer).is_dir():
            return layer, False
    stem = f"companies/{market.name[:50]}"
    names = [stem, *(f"{stem}-{count}" for count in range(2, 100))]
    return next(name for name in names if not any((root / name).exists() for root in roots)), True


def _file(folder: Path, layer: str, day: date, aim: _Aim) -> str:
    """The file of the dated folder that holds the block already, else the one for values set so."""
    dated = folder / layer / day.isoformat()
    for path in sorted(dated.glob("*.toml")) if dated.is_dir() else ():
        name = path.relative_to(folder).as_posix()
        if aim.block.name in parsed(text_of((folder,), name), name).get(aim.section, {}):
            return name
    return f"{layer}/{day.isoformat()}/{_FILE}"


def _files(
    roots: Sequence[Path], wish: Wish, market: Market, aim: _Aim, typed: float | str, name: str, new_layer: str
) -> dict[str, str]:
    """Every file that changes, layers before the market that names them; none where all stands so already."""
    value: Any = typed
    if aim.index is not None:
        value = [list(row) for row in aim.held.value]
        value[aim.index][1] = typed
    title = f"{market.title}: our own values"
    before = text_of(roots[:1], name) if (roots[0] / name).exists() else ""
    start = before or head(title, wish.from_day, "Written by `airwarrant policy set`; edit it freely.")
    keys = {aim.key: value, "basis": BASIS, "note": wish.why.strip()}
    after = with_block(start, name, aim.section, aim.block.name, keys)
    if after == before:
        return {}
    files = {name: after}
    if new_layer:
        begins = first_day(roots, market.name)
        if begins < wish.from_day.isoformat():
            comment = "The layer begins empty: without this folder the market would hold for no earlier job."
            files[f"{new_layer}/{begins}/{_BEGINS}"] = head(title, wish.from_day, comment)
        held = market.place.file
        files[held] = with_layer(text_of(roots, held), held, new_layer)
    return files


def _as_composed(roots: Sequence[Path], market: Market, wish: Wish, aim: _Aim) -> tuple[Standing, tuple[Standing, ...]]:
    """The value on its first day, and every other value it takes on later days."""
    on = wish.from_day.isoformat()
    days = {file.effective for file in read_sources(roots, market.name, {}).files}
    standings: list[Standing] = []
    for day in [on, *sorted(day for day in days if day > on)]:
        policy = compose(roots, market.name, {"survey": date.fromisoformat(day)})
        now = _aim(policy, wish).standing
        if not standings or now.value != standings[-1].value:
            standings.append(now)
    return standings[0], tuple(standings[1:])
