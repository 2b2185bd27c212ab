"""The one way to a policy value; it remembers what was read."""

from collections.abc import Iterable, Sequence

from airwarrant.errors import Fault, PolicyError, nearest
from airwarrant.policy.model import Parameter, Policy, Table

#: Name and part of a value that was read.
Read = tuple[str, str]


class Reader:
    """Reads values of a policy and records each reading.

    Parameters
    ----------
    policy : Policy
    ever : set of (str, str), optional
        Is told of every reading too, and forgets none.

    Attributes
    ----------
    reads : tuple of (str, str)
        Name and part of every value read since `start`, in order: a parameter's part is ``value``, a table's
        ``rows[2]``.
    """

    def __init__(self, policy: Policy, ever: set[Read] | None = None) -> None:
        self._policy = policy
        self._ever = ever
        self._reads: list[Read] = []

    @property
    def reads(self) -> tuple[tuple[str, str], ...]:
        return tuple(self._reads)

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the values read since `start`, each once, in order."""
        return tuple(dict.fromkeys([name for name, _ in self._reads]))

    def start(self) -> None:
        """Forget what was read so far."""
        self._reads = []

    def since(self, count: int) -> tuple[tuple[str, str], ...]:
        """What was read after the first `count` readings."""
        return tuple(self._reads[count:]) if len(self._reads) > count else ()

    def again(self, reads: Iterable[tuple[str, str]]) -> None:
        """Remember readings that a value known already rests on."""
        self._reads += reads

    @property
    def count(self) -> int:
        """How many readings there were since `start`."""
        return len(self._reads)

    def parameter(self, name: str) -> Parameter:
        """Return a parameter; raise `PolicyError` if the policy has none of that name."""
        if name not in self._policy.parameters:
            raise _missing("parameter", name, self._policy.parameters)
        self._note((name, "value"))
        return self._policy.parameters[name]

    def table_row(self, name: str, key: float | str) -> tuple[float, int] | None:
        """Return a table's answer for a key and the position of its row, or None where the table has no answer."""
        if name not in self._policy.tables:
            raise _missing("table", name, self._policy.tables)
        table: Table = self._policy.tables[name]
        row = row_of(table.rows, key, table.between, table.below_first, table.above_last)
        self._note((name, "rows" if row is None else f"rows[{row[1]}]"))
        return row

    def _note(self, read: Read) -> None:
        self._reads.append(read)
        if self._ever is not None:
            self._ever.add(read)


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
