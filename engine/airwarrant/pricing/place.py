"""What a price may read of a job: words of the record, numbers of it, and the sizes of the line."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from decimal import Decimal

from airwarrant.job.dictionary import HOUSE_KEY, KINDS
from airwarrant.job.lookup import reading
from airwarrant.job.record import JobRecord
from airwarrant.job.subject import Subject
from airwarrant.policy.model import WhereClause
from airwarrant.policy.price_model import EACH, Factor, Quantity, WordClause
from airwarrant.sizing.sized import Sized
from airwarrant.units import UNITS, at_decimals, convert


@dataclass(frozen=True, slots=True)
class ReadWord:
    """A word of the record that made a factor or a variant hold."""

    subject: str
    field: str
    word: str


@dataclass(frozen=True, slots=True)
class Counted:
    """A quantity as it was found.

    Attributes
    ----------
    value : Decimal or None
        In the quantity's unit; None where nothing says how much.
    assumed : bool
        The record does not say: the book's own value was taken.
    said : str
        Where it comes from.
    path : str
        Where the record has it; empty elsewhere.
    """

    quantity: Quantity
    value: Decimal | None
    assumed: bool
    said: str
    path: str = ""


class JobPlaces:
    """One job as its prices see it."""

    def __init__(self, record: JobRecord, subjects: Mapping[str, Subject]) -> None:
        self._record, self._subjects = record, subjects
        day = record.dates["proposal"] or record.dates["survey"]
        self.month = day.month if day else 0
        self.day = day

    def holds(self, clauses: Sequence[WordClause], place: str) -> tuple[ReadWord, ...] | None:
        """Return the words that make every clause hold at a place, or None where one does not."""
        out: list[ReadWord] = []
        for clause in clauses:
            words = self._clause(clause, self._subjects[place])
            if words is None:
                return None
            out += words
        return tuple(out)

    def factor(self, factor: Factor) -> tuple[ReadWord, ...] | None:
        """Return what makes a factor hold, or None where it does not; a factor that asks for nothing always holds."""
        if factor.months is not None and self.month not in factor.months:
            return None
        every = self.holds(factor.when, HOUSE_KEY)
        some = next((read for one in factor.any if (read := self.holds((one,), HOUSE_KEY)) is not None), None)
        if every is None or (factor.any and some is None):
            return None
        numbers: list[ReadWord] = []
        for name, bound, unit in factor.below:
            found = reading(self._record, HOUSE_KEY, name, "found")
            if found is None or at_decimals(convert(found.value, found.unit, unit), unit) >= bound:
                return None
            numbers.append(ReadWord(HOUSE_KEY, name, f"below {bound:f} {unit}"))
        return (*every, *(some or ()), *numbers)

    def counted(self, quantity: Quantity, place: str, sized: Sized | None) -> Counted:
        """Return how much there is of something."""
        value, said, path = self._value(quantity, place, sized)
        if value is not None:
            return Counted(quantity, value, False, said, path)
        if quantity.otherwise is not None:
            return Counted(quantity, quantity.otherwise, True, f"{said} is not known: assumed by the book")
        return Counted(quantity, None, False, f"{said} is not known")

    def _value(self, quantity: Quantity, place: str, sized: Sized | None) -> tuple[Decimal | None, str, str]:
        if quantity.form == "number":
            return quantity.value, "", ""
        if quantity.form == "count":
            many = sum(1 for one in self._subjects.values() if one.kind == quantity.name)
            return (Decimal(many) if many else None), f"number of {quantity.name} records", ""
        if quantity.form == "size":
            one = sized.sizes[quantity.index] if sized and quantity.index < len(sized.sizes) else None
            title = f"size of {one.size.title.lower()}" if one else quantity.said
            if one is None or one.value is None:
                return None, title, ""
            return _in(one.value, one.size.unit, quantity.unit), title, ""
        key = HOUSE_KEY if quantity.form == "house" else place
        field = KINDS[self._subjects[key].kind].fields.get(quantity.name)
        of = "" if key == HOUSE_KEY else f" of {key}"
        if field is None:
            return None, f"{quantity.name}{of}", ""
        title = field.title.lower()
        found = reading(self._record, key, quantity.name, "predicted")
        if found is None:
            return None, f"{title}{of}", ""
        return _in(found.value, found.unit, quantity.unit), f"{title}{of}", found.path

    def _clause(self, clause: WordClause, own: Subject) -> list[ReadWord] | None:
        if isinstance(clause, WhereClause):
            return _words(clause.where, own)
        for other in self._subjects.values():
            if other.kind != clause.kind:
                continue
            joined = all(_part(other, its) == _part(own, mine) != "" for its, mine in clause.same)
            words = _words(clause.where, other) if joined else None
            if words is not None:
                return words or [ReadWord(other.key, "", "")]
        return None


def _words(wanted: Sequence[tuple[str, tuple[str, ...]]], subject: Subject) -> list[ReadWord] | None:
    if any(subject.word(field) not in closed for field, closed in wanted):
        return None
    return [ReadWord(subject.key, field, subject.word(field)) for field, _ in wanted]


def _part(subject: Subject, field: str) -> str:
    if field == "id":
        return subject.key
    return subject.links.get(field) or subject.words.get(field, "")


def _in(value: float, unit: str, wanted: str) -> Decimal:
    """A measured number at the fixed decimals of the unit it is bought in."""
    own = unit if wanted == EACH else wanted
    return at_decimals(convert(value, unit, own), own) if own in UNITS else Decimal(0)
