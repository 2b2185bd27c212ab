"""The one way to a policy value; what was read is told with every answer."""

from collections.abc import Iterable, Sequence

from airwarrant.errors import Fault, PolicyError, nearest
from airwarrant.policy.model import Parameter, Policy

#: Name and part of a value that was read: a parameter's part is ``value``, a table's ``rows[2]``, or ``rows`` where it had no answer.
Read = tuple[str, str]


def parameter_read(policy: Policy, name: str) -> tuple[Parameter, Read]:
    """Return a parameter and what was read; raise `PolicyError` if the policy has none of that name."""
    if name not in policy.parameters:
        raise _missing("parameter", name, policy.parameters)
    return policy.parameters[name], (name, "value")


def table_read(policy: Policy, name: str, key: float | str) -> tuple[tuple[float, int] | None, Read]:
    """Return a table's answer for a key with the position of its row, None where it has no answer, and what was read."""
    if name not in policy.tables:
        raise _missing("table", name, policy.tables)
    table = policy.tables[name]
    row = row_of(table.rows, key, table.between, table.below_first, table.above_last)
    return row, (name, "rows" if row is None else f"rows[{row[1]}]")


def names_of(reads: Iterable[Read]) -> tuple[str, ...]:
    """Names of the values read, each once, in order."""
    return tuple(dict.fromkeys([name for name, _ in reads]))


def row_of(
    rows: Sequence[tuple[float | str, float]], key: float | str, between: str, below_first: str, above_last: str
) -> tuple[float, int] | None:
    """Return answer and position of the row for a key.

    A word, and a number that stands in the table, takes its own row. A number between two rows takes what `between`
    says, one before the first or after the last what `below_first` and `above_last` say.
    """
    for index, (own, answer) in enumerate(rows):
        if own == key:
            return answer, index
    if isinstance(key, str) or not rows:
        return None
    numbers = [float(own) for own, _ in rows if not isinstance(own, str)]
    if len(numbers) < len(rows):
        return None
    after = next((index for index, own in enumerate(numbers) if own > key), len(rows))
    if after == 0:
        return (rows[0][1], 0) if below_first == "first-row" else None
    if after == len(rows):
        return (rows[-1][1], len(rows) - 1) if above_last == "last-row" else None
    if between == "next-row":
        return rows[after][1], after
    if between == "last-row-at-or-below":
        return rows[after - 1][1], after - 1
    return None


def _missing(what: str, name: str, known: Iterable[str]) -> PolicyError:
    fault = Fault(
        "missing-value", f"the policy has no {what} `{name}`, which is needed here", advice=nearest(name, known)
    )
    return PolicyError([fault])
