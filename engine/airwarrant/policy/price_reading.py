"""What every part of a price book is read with: numbers as they were written, units, names, words of the record."""

from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Any

from airwarrant.errors import nearest
from airwarrant.policy.clauses import ClauseReader
from airwarrant.policy.faults import words
from airwarrant.policy.layers import Block, Layered
from airwarrant.policy.model import FactClause, Task, WhereClause
from airwarrant.policy.price_model import EACH, WordClause
from airwarrant.source.place import Place
from airwarrant.units import UNITS

#: Exact sums need a bound on how long a number of a price book may be.
_MOST, _PLACES = Decimal(10) ** 9, 6
_UNKNOWN = {"crew": "unknown-crew", "factor": "unknown-factor", "item": "unknown-item"}


def exact(value: float) -> Decimal:
    """Return a number as it was written: of up to fifteen digits the shortest text of a float is what stood in the file."""
    return Decimal(repr(value)) if isinstance(value, float) else Decimal(value)


def named(block: Block) -> tuple[str, Place, str, Mapping[str, Any]]:
    """Return what every part of a price book begins with: name, place, layer and sourced keys."""
    return block.name, block.place, block.layer, block.sourced()


class PriceReading:
    """One price book under way.

    Parameters
    ----------
    layered : Layered
        The blocks of every layer.
    tasks : mapping
        The composed tasks, by name.
    reader : ClauseReader
        Reads clauses and receives the faults.
    """

    def __init__(self, layered: Layered, tasks: Mapping[str, Task], reader: ClauseReader) -> None:
        self.layered, self.blocks = layered, layered.blocks
        self.tasks, self.reader = tasks, reader

    def clauses(self, block: Block, raw: Iterable[Any], each: str, *path: str | int) -> tuple[WordClause, ...]:
        """Read clauses, which here may read words of the record only."""
        out: list[WordClause] = []
        for index, one in enumerate(raw):
            at = (*path, index)
            clause = self.reader.clause(one, each, block, *at)
            if isinstance(clause, WhereClause | FactClause):
                out.append(clause)
            elif clause is not None:
                found = "a price reads words of the record and nothing that was judged"
                book_fault(self, "not-here", found, "a clause with `where` or `fact`", block.at(str(path[0]), *at[1:]))
        return tuple(out)

    def known(self, section: str, name: str, place: Place) -> bool:
        """Whether the book has a crew, factor or item of a name; where nothing may bring it, that is a fault."""
        known = self.blocks[section]
        if name in known:
            return True
        if not self.layered.may_be(name):
            found = f"there is no {section} `{name}`"
            book_fault(self, _UNKNOWN[section], found, words(known) or "none", place, nearest(name, known))
        return False

    def unit(self, unit: str, place: Place, *, of_piece: bool = False) -> bool:
        """Whether there is such a unit, or it is the piece where things may be counted; else that is a fault."""
        if unit in UNITS or (of_piece and unit == EACH):
            return True
        known = [EACH, *UNITS] if of_piece else list(UNITS)
        book_fault(self, "unknown-unit", f"there is no unit `{unit}`", words(known), place, nearest(unit, known))
        return False

    def number(self, block: Block, key: str) -> Decimal:
        """A number of a block, 0 where it has none or it is at fault."""
        if key not in block.keys:
            return Decimal(0)
        return self.money(block.get(key), block.at(key)) or Decimal(0)

    def money(self, value: float, place: Place) -> Decimal | None:
        """A number of the book as it was written; None after a fault."""
        number = exact(value)
        if number < 0:
            book_fault(self, "negative", f"{number:f}", "0 or more", place)
            return None
        exponent = number.normalize().as_tuple().exponent
        if number > _MOST or (isinstance(exponent, int) and exponent < -_PLACES):
            allowed = f"up to {_MOST:,f}, with at most {_PLACES} decimals"
            book_fault(self, "out-of-range", f"{number.normalize()}", allowed, place)
            return None
        return number

    def mismatch(self, what: str, one: str, other: str, place: Place) -> None:
        """Note that two units measure different things."""
        a, b = (UNITS[unit].dimension if unit in UNITS else "count" for unit in (one, other))
        book_fault(self, "unit-mismatch", f"{what}: {a} ({one}) against {b} ({other})", f"a {b}", place)


def book_fault(reading: PriceReading, code: str, found: str, allowed: str, place: Place, advice: str = "") -> None:
    """Note a fault of the price book."""
    reading.reader.faults.note(code, found, allowed, place=place, advice=advice)
