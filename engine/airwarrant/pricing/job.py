"""The prices of one job: its scope, and each scope one line smaller or larger."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from airwarrant.job.record import JobRecord
from airwarrant.job.subject import Subject
from airwarrant.policy.model import Policy
from airwarrant.pricing.line import LinePrice, LinePricer
from airwarrant.pricing.place import JobPlaces
from airwarrant.pricing.totals import Entry, Total, Totaller
from airwarrant.scope.order import line_order
from airwarrant.scope.settle import Settled
from airwarrant.sizing.sized import Sized


@dataclass(frozen=True, slots=True)
class Prices:
    """What the lines of a scope cost, and those of its alternatives.

    Attributes
    ----------
    scope : mapping of line to LinePrice
        Every line that is scoped; a held line has none.
    alternatives : tuple of mapping
        As many as the alternatives that were asked for. Each is priced as a whole: access that one line paid for another is
        paid by whichever is left.
    valid_until : date or None
    """

    scope: Mapping[str, LinePrice]
    alternatives: tuple[Mapping[str, LinePrice], ...]
    valid_until: date | None
    _totaller: Totaller

    def total(self, earlier: Sequence[Entry] = ()) -> Total:
        """What the scope comes to, with lines that an earlier visit left on the bill."""
        return self._totaller.total([*_entries(self.scope), *earlier])

    def total_of(self, alternative: int, earlier: Sequence[Entry] = ()) -> Total:
        """What an alternative comes to."""
        return self._totaller.total([*_entries(self.alternatives[alternative]), *earlier])


def price_job(
    policy: Policy,
    record: JobRecord,
    subjects: Mapping[str, Subject],
    settled: Settled,
    sizes: Mapping[str, Sized],
    order: Mapping[str, int],
    alternatives: Sequence[Sequence[str]] = (),
) -> Prices | None:
    """Price a job's scope and its alternatives.

    Parameters
    ----------
    sizes : mapping of line to Sized
        Of every line, whatever its state.
    order : mapping of task to int
        Its rank in the order of work.
    alternatives : sequence of sequences of line ids

    Returns
    -------
    Prices or None
        None where the policy has no price of any task.
    """
    book = policy.prices
    if book is None or not book.prices:
        return None
    places = JobPlaces(record, subjects)
    pricer = LinePricer(policy, book, places)
    made: dict[tuple[str, bool], LinePrice] = {}

    def priced(ids: Sequence[str]) -> dict[str, LinePrice]:
        lines = sorted((settled.lines[one] for one in ids), key=lambda line: line_order(line, order))
        access_paid, out = False, {}
        for line in lines:
            if line.state == "held":
                out[line.id] = LinePrice(line.id, line.task, line.tier, None, "held: it cannot be offered yet")
                continue
            off = policy.tasks[line.task].unit_off
            asked = (line.id, off and access_paid)
            if asked not in made:
                size = sizes.get(line.id)
                made[asked] = pricer.line(line.id, line.task, line.place, line.tier, size, shared=asked[1])
            found = made[asked]
            access_paid |= off and found.amount is not None
            out[line.id] = found
        return out

    valid = timedelta(days=int(pricer.value("price_valid")))
    return Prices(
        priced([line.id for line in settled.active()]),
        tuple(priced(ids) for ids in alternatives),
        places.day + valid if places.day and places.day <= date.max - valid else None,
        Totaller(book, pricer),
    )


def _entries(lines: Mapping[str, LinePrice]) -> list[Entry]:
    return [Entry(one.line, one.task, one.tier, one.amount, one.cost, one.why) for one in lines.values()]
