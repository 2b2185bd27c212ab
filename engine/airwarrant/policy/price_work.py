"""Work as a price book has it: hours, crew and factors, and materials in the quantities that they come in."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from airwarrant.errors import nearest
from airwarrant.job.dictionary import HOUSE_KEY, KINDS
from airwarrant.policy.faults import words
from airwarrant.policy.layers import Block
from airwarrant.policy.model import Task
from airwarrant.policy.price_model import EACH, Material, Quantity, WorkPrice
from airwarrant.policy.price_reading import PriceReading, book_fault
from airwarrant.source.place import Place
from airwarrant.units import UNITS, same_dimension


def work_price(
    reading: PriceReading,
    block: Block,
    raw: Mapping[str, Any],
    task: Task | None,
    kinds: tuple[str, ...],
    *path: str | int,
) -> WorkPrice:
    """Read the hours, the crew, the factors and the materials of a block, or of a part of it.

    Parameters
    ----------
    raw : mapping
        The keys that hold, a variant's own over the block's.
    task : Task or None
        Whose sizes a quantity may name.
    kinds : tuple of str
        Kinds of place whose numbers a quantity may name.
    path : str or int
        Where in the block the part stands.
    """

    def at(key: str, *deeper: str | int) -> Place:
        """Place of a key: a variant's own, else the block's."""
        own = path and key in _inner(block, path)
        return block.at(str(path[0]), *path[1:], key, *deeper) if own else block.at(key, *deeper)

    crew = raw["crew"]
    reading.known("crew", crew, at("crew"))
    for index, name in enumerate(raw.get("factors") or ()):
        reading.known("factor", name, at("factors", index))
    materials = [
        _material(
            reading, one, task, kinds, at("materials", index), lambda *deeper, i=index: at("materials", i, *deeper)
        )
        for index, one in enumerate(raw.get("materials") or ())
    ]
    times = None
    if raw.get("times") is not None:
        otherwise = _given(reading, raw, "times_otherwise", at)
        times = _quantity(reading, raw["times"], EACH, otherwise, task, kinds, at("times"))
    elif raw.get("times_otherwise") is not None:
        book_fault(
            reading, "missing-key", "`times_otherwise` without `times`", "both or neither", at("times_otherwise")
        )
    hours = reading.money(raw["hours"], at("hours")) or Decimal(0)
    factors = tuple(raw.get("factors") or ())
    return WorkPrice(hours, crew, factors, tuple(one for one in materials if one is not None), times)


def _material(
    reading: PriceReading, raw: Mapping[str, Any], task: Task | None, kinds: tuple[str, ...], place: Place, at: Any
) -> Material | None:
    per = raw["per"]
    if not reading.known("item", raw["item"], at("item")) or not reading.unit(per, at("per"), of_piece=True):
        return None
    block = reading.blocks["item"].get(raw["item"])
    if block is None:
        return None
    own, by_size = block.get("per"), str(block.get("size_unit", ""))
    if per != own:
        book_fault(
            reading, "unit-mismatch", f"`{raw['item']}` is bought per {own}, not per {per}", f'per = "{own}"', at("per")
        )
        return None
    if bool(by_size) != ("size" in raw):
        found = f"`{raw['item']}` costs {'by its size' if by_size else 'the same in every size'}"
        book_fault(reading, "missing-key", found, "a `size` with it" if by_size else "no `size`", place)
        return None
    quantity = _quantity(
        reading, raw["quantity"], per, _given(reading, raw, "otherwise", at), task, kinds, at("quantity")
    )
    size = None
    if by_size:
        otherwise = _given(reading, raw, "size_otherwise", at)
        size = _quantity(reading, raw["size"], by_size, otherwise, task, kinds, at("size"))
    waste = _given(reading, raw, "waste", at) or Decimal(0)
    if quantity is None or (by_size and size is None):
        return None
    return Material(raw["item"], quantity, waste, size)


def _given(reading: PriceReading, raw: Mapping[str, Any], key: str, at: Any) -> Decimal | None:
    return None if raw.get(key) is None else reading.money(raw[key], at(key))


def _quantity(
    reading: PriceReading,
    raw: float | str,
    unit: str,
    otherwise: Decimal | None,
    task: Task | None,
    kinds: tuple[str, ...],
    place: Place,
) -> Quantity | None:
    """Resolve how much there is of something, in `unit`; None after a fault."""
    if not isinstance(raw, str):
        value = reading.money(raw, place)
        return None if value is None else Quantity("number", str(value), value=value, unit=unit)
    head, _, tail = raw.partition(".")
    if head == "count":
        if tail not in KINDS:
            book_fault(
                reading, "unknown-kind", f"`{raw}`", words(f"count.{one}" for one in KINDS), place, nearest(tail, KINDS)
            )
            return None
        return _fits(reading, Quantity("count", raw, tail, unit=unit, otherwise=otherwise), EACH, place)
    if raw == "size" or raw.startswith("size-"):
        return _size(reading, raw, unit, otherwise, task, place)
    where, kinds = ("house", (HOUSE_KEY,)) if tail and head == HOUSE_KEY else ("field", kinds)
    name = tail if where == "house" else raw
    fields = {kind: KINDS[kind].fields.get(name) for kind in kinds}
    units = [field.unit for field in fields.values() if field is not None and field.form == "number"]
    lacking = [kind for kind, field in fields.items() if field is None or field.form != "number"]
    # Of several kinds of place one may lack it: then the book says what to take there.
    if lacking and (not units or otherwise is None):
        known = [one.name for one in KINDS[lacking[0]].fields.values() if one.form == "number"]
        allowed = words(["a number", "size", "count.KIND", "house.NAME", *known])
        found = f"a {lacking[0]} has no number `{name}`"
        advice = nearest(name, known) or "Give an `otherwise` for it." if units else nearest(name, known)
        book_fault(reading, "unknown-field", found, allowed, place, advice)
        return None
    own = units[0] if units else ""
    return _fits(reading, Quantity(where, raw, name, unit=unit, otherwise=otherwise), own, place)  # type: ignore[arg-type]


def _size(
    reading: PriceReading, raw: str, unit: str, otherwise: Decimal | None, task: Task | None, place: Place
) -> Quantity | None:
    number = raw.removeprefix("size").removeprefix("-") or "1"
    index = int(number) - 1 if number.isdecimal() and len(number) < 3 else -1
    sizes = task.sizes if task is not None else ()
    if not 0 <= index < len(sizes):
        if task is not None and (sizes or not reading.layered.may_be(task.name)):
            allowed = words(f"size-{i + 1} ({one.title})" for i, one in enumerate(sizes)) or "none: it has no size"
            book_fault(reading, "unknown-size", f"`{raw}` of the task `{task.name}`", allowed, place)
        return None
    own = Quantity("size", raw, index=index, unit=unit, otherwise=otherwise)
    return _fits(reading, own, sizes[index].unit, place)


def _fits(reading: PriceReading, quantity: Quantity, own: str, place: Place) -> Quantity | None:
    """Hold the unit a quantity comes in against the one it is wanted in; pieces are counted, the rest is measured."""
    pieces = (EACH, "1")
    if own and quantity.unit in UNITS and own in UNITS and quantity.unit not in pieces:
        if not same_dimension(own, quantity.unit):
            reading.mismatch(f"`{quantity.said}`", own, quantity.unit, place)
            return None
    elif own and (quantity.unit in pieces) != (own in pieces):
        reading.mismatch(f"`{quantity.said}`", own, quantity.unit, place)
        return None
    return quantity


def _inner(block: Block, path: tuple[str | int, ...]) -> Mapping[str, Any]:
    held = block.get(str(path[0]))
    for part in path[1:]:
        held = held[part]
    return held if isinstance(held, Mapping) else {}
