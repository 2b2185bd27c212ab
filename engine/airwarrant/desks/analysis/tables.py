"""Gaps of tables: a number or word of the record that no row answers.

A block with a `note` says why it leaves a gap, and is not asked again.
"""

from collections.abc import Iterator
from itertools import pairwise
from math import inf, isinf

from airwarrant.desks.analysis.refs import Reading, tables_read
from airwarrant.errors import Fault
from airwarrant.job.dictionary import HOUSE_KEY, KINDS, UNKNOWN, Field
from airwarrant.policy.model import Policy, Table
from airwarrant.policy.values import BY_READING
from airwarrant.units import convert


def table_gaps(policy: Policy) -> Iterator[Fault]:
    """Yield a warning for each table that leaves a value of its field without an answer, with the first such value."""
    for reading in tables_read(policy):
        table = policy.tables[reading.table]
        if table.by == BY_READING or "note" in table.keys:
            continue
        gaps = gaps_of(table, field_of(table, reading))
        if gaps:
            key = f"{gaps[0]:g} {table.by_unit}" if isinstance(gaps[0], float) else f'"{gaps[0]}"'
            more = f", and {len(gaps) - 1} more" if len(gaps) > 1 else ""
            found = f"table `{table.name}` has no row for {table.by} = {key}{more}"
            allowed = "a row, or for numbers `between`, `below_first` and `above_last` that answer"
            advice = f"A job with that value gets no answer where {reading.reader} reads it. If that is meant, say why in a `note`."
            yield Fault("table-gap", found, allowed, table.keys["rows"].place, table.name, advice)


def field_of(table: Table, reading: Reading) -> Field | None:
    """Return the field that a table goes by where it is read."""
    return KINDS[reading.each].fields.get(table.by) or KINDS[HOUSE_KEY].fields.get(table.by)


def gaps_of(table: Table, field: Field | None) -> tuple[float | str, ...]:
    """Return a value within every gap of a table: words without a row, or a number below, between or above the rows.

    Numbers are looked for within what the record may hold of the field; half-way between two rows, or between a row and the end.
    """
    if not table.by_unit:
        known = {key for key, _ in table.rows}
        return tuple(word for word in (field.words if field else ()) if word != UNKNOWN and word not in known)
    keys = [float(key) for key, _ in table.rows]
    low, high = _range(table, field)
    open_: list[tuple[float, float]] = []
    if table.below_first == "no-answer":
        open_.append((low, keys[0]))
    if table.between == "no-answer":
        open_ += pairwise(keys)
    if table.above_last == "no-answer":
        open_.append((keys[-1], high))
    within = ((max(one, low), min(other, high)) for one, other in open_)
    return tuple(_inside(one, other) for one, other in within if one < other)


def _inside(one: float, other: float) -> float:
    """A number between two; of a side without an end, one past the row."""
    if isinf(one) or isinf(other):
        return other - 1.0 if isinf(one) else one + 1.0
    return (one + other) / 2.0


def _range(table: Table, field: Field | None) -> tuple[float, float]:
    """What the record may hold, in the table's unit; a figure has no end."""
    if field is None or field.hard is None:
        return -inf, inf
    return convert(field.hard[0], field.unit, table.by_unit), convert(field.hard[1], field.unit, table.by_unit)
