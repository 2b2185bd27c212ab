"""The price book of a composed policy: every name, word, unit and sign held against what it speaks of."""

from collections.abc import Iterable, Mapping
from decimal import Decimal
from types import MappingProxyType

from airwarrant.errors import nearest
from airwarrant.job.dictionary import HOUSE_KEY, KINDS
from airwarrant.policy.clauses import ClauseReader
from airwarrant.policy.faults import words
from airwarrant.policy.layers import Block, Layered
from airwarrant.policy.model import Parameter, Task
from airwarrant.policy.price_charges import charge
from airwarrant.policy.price_model import (
    PREFIX,
    Crew,
    Factor,
    Item,
    Price,
    PriceBook,
    Variant,
)
from airwarrant.policy.price_reading import PriceReading, book_fault, named
from airwarrant.policy.price_work import work_price
from airwarrant.policy.values import check_basis
from airwarrant.source.place import Place
from airwarrant.units import parse_quantity, same_dimension

#: Values every price book needs: name -> unit, least, and what it stays under.
NEEDED: Mapping[str, tuple[str, float, float]] = MappingProxyType(
    {
        "price_labour_index": ("1", 0.01, 100.0),
        "price_material_index": ("1", 0.01, 100.0),
        "price_margin": ("%", 0.0, 100.0),
        "price_least_margin": ("%", 0.0, 100.0),
        "price_round_to": ("money", 0.01, 1e5),
        "price_unit_off_credit": ("%", 0.0, 100.0),
        "price_valid": ("d", 1.0, 1000.0),
    }
)


def price_book(
    layered: Layered, parameters: Mapping[str, Parameter], tasks: Mapping[str, Task], reader: ClauseReader
) -> PriceBook | None:
    """Build the price book; None where no layer says anything of prices.

    Parameters
    ----------
    tasks : mapping
        The composed tasks: a price speaks of one, its quantities of the sizes of that one.
    reader : ClauseReader
        Reads words of the record; it also knows for which kinds of place a task is asked for, and receives the faults.
    """
    blocks = layered.blocks
    if not any(blocks[section] for section in ("crew", "item", "factor", "price", "charge")):
        return None
    return _book(PriceReading(layered, tasks, reader), parameters)


def _book(reading: PriceReading, parameters: Mapping[str, Parameter]) -> PriceBook:
    for section in ("crew", "item", "factor", "price", "charge"):
        for block in reading.blocks[section].values():
            check_basis(block, reading.reader.faults)
    crews = {name: _crew(reading, block) for name, block in _sorted(reading, "crew")}
    items = {name: _item(reading, block) for name, block in _sorted(reading, "item")}
    factors = {name: _factor(reading, block) for name, block in _sorted(reading, "factor")}
    prices = {name: _price(reading, block) for name, block in _sorted(reading, "price")}
    charges = {name: charge(reading, block) for name, block in _sorted(reading, "charge")}
    if reading.blocks["price"]:
        _needed(reading, parameters, next(block.place for _, block in _sorted(reading, "price")))
    return PriceBook(
        MappingProxyType(crews),
        MappingProxyType(items),
        MappingProxyType(factors),
        MappingProxyType({name: price for name, price in prices.items() if price is not None}),
        MappingProxyType({name: charge for name, charge in charges.items() if charge is not None}),
    )


def _sorted(reading: PriceReading, section: str) -> Iterable[tuple[str, Block]]:
    return sorted(reading.blocks[section].items())


def _needed(reading: PriceReading, parameters: Mapping[str, Parameter], place: Place) -> None:
    for name, (unit, least, under) in NEEDED.items():
        held = parameters.get(name)
        if held is None:
            if not reading.layered.may_be(name):
                known = [one for one in parameters if one.startswith(PREFIX)]
                found = f"there are prices and no parameter `{name}`"
                book_fault(reading, "missing-value", found, f"a value in {unit}", place, nearest(name, known))
            continue
        at = held.keys["value"].place
        if held.unit != unit:
            book_fault(reading, "unit-mismatch", f"`{name}` is in {held.unit}", f"a value in {unit}", at)
        elif isinstance(held.value, str) or reading.money(held.value, at) is None:
            continue
        elif not least <= held.value < under:
            book_fault(reading, "out-of-range", f"`{name}` is {held.value:g} {unit}", f"{least:g} to {under:g}", at)


def _crew(reading: PriceReading, block: Block) -> Crew:
    people = block.get("people")
    if not 1 <= people <= 20:
        book_fault(reading, "out-of-range", f"a crew of {people}", "1 to 20 people", block.at("people"))
    wage = reading.number(block, "wage")
    return Crew(*named(block), title=block.get("title"), people=people, wage=wage, basis=block.get("basis"))


def _item(reading: PriceReading, block: Block) -> Item:
    per, unit = block.get("per"), block.get("size_unit", "")
    reading.unit(per, block.at("per"), of_piece=True)
    if ("by_size" in block.keys) != bool(unit):
        what = f"`{block.name}` has {'a `size_unit` and no `by_size`' if unit else '`by_size` and no `size_unit`'}"
        book_fault(reading, "missing-key", what, "both or neither", block.at("size_unit" if unit else "by_size"))
    if unit:
        reading.unit(unit, block.at("size_unit"))
    rows: list[tuple[Decimal, Decimal]] = []
    for index, (size, cost) in enumerate(block.get("by_size", ())):
        place = block.at("by_size", index)
        row = (reading.money(size, place) or Decimal(0), reading.money(cost, place) or Decimal(0))
        if rows and row[0] <= rows[-1][0]:
            found = f"the size {size:g} of `{block.name}` follows {rows[-1][0]:g}"
            book_fault(reading, "not-increasing", found, "sizes that grow from row to row", place)
        rows.append(row)
    cost = reading.number(block, "cost") if "cost" in block.keys else None
    return Item(*named(block), block.get("title"), per, cost, tuple(rows), unit, block.get("basis"))


def _factor(reading: PriceReading, block: Block) -> Factor:
    months = block.get("months")
    for index, month in enumerate(months or ()):
        if not 1 <= month <= 12:
            book_fault(reading, "out-of-range", f"month {month}", "1 to 12", block.at("months", index))
    below = (_below(reading, block, name, text) for name, text in sorted(block.get("below", {}).items()))
    return Factor(
        *named(block),
        title=block.get("title"),
        value=reading.number(block, "value"),
        when=reading.clauses(block, block.get("when", ()), HOUSE_KEY, "when"),
        any=reading.clauses(block, block.get("any", ()), HOUSE_KEY, "any"),
        below=tuple(one for one in below if one is not None),
        months=None if months is None else tuple(months),
        basis=block.get("basis"),
    )


def _below(reading: PriceReading, block: Block, name: str, text: str) -> tuple[str, Decimal, str] | None:
    place = block.at("below", name)
    field = KINDS[HOUSE_KEY].fields.get(name)
    if field is None or field.form != "number":
        known = [one.name for one in KINDS[HOUSE_KEY].fields.values() if one.form == "number"]
        book_fault(
            reading, "unknown-field", f"the house has no number `{name}`", words(known), place, nearest(name, known)
        )
        return None
    try:
        value, unit = parse_quantity(text)
    except ValueError:
        book_fault(
            reading, "bad-quantity", f"`{text}`", f'a number, a space and a unit, such as "24 {field.unit}"', place
        )
        return None
    if not same_dimension(unit, field.unit):
        reading.mismatch(f"`{text}` against `{name}`", unit, field.unit, place)
        return None
    bound = reading.money(value, place)
    return None if bound is None else (name, bound, unit)


def _price(reading: PriceReading, block: Block) -> Price | None:
    if not reading.reader.known_task(block.name, block.place):
        return None
    task = reading.tasks.get(block.name)
    kinds = tuple(sorted(reading.reader.concluded.lines.get(block.name, frozenset()) & KINDS.keys()))
    whole = {name: key.value for name, key in block.keys.items()}
    variants = []
    for index, raw in enumerate(block.get("variant", ())):
        # A clause that a kind of place cannot answer has its fault; without a rule that asks for the task there is no kind.
        path = ("variant", index)
        tests = [reading.clauses(block, raw["when"], kind, *path, "when") for kind in kinds]
        work = work_price(reading, block, {**whole, **raw}, task, kinds, *path)
        if tests:
            variants.append(Variant(raw["title"], tests[0], work))
    work = work_price(reading, block, whole, task, kinds)
    return Price(*named(block), work=work, variants=tuple(variants), basis=block.get("basis"))
