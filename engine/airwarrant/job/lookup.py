"""What rules and checks read of a record: a reading at a time, and the subjects with their words."""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from types import MappingProxyType

from airwarrant.job.derived_words import days, house_words, yes_or_no
from airwarrant.job.dictionary import HOUSE_KEY, KINDS, PHOTOGRAPHED
from airwarrant.job.readings import Reading
from airwarrant.job.record import JobRecord, Visit
from airwarrant.job.subject import Subject


def found_visits(record: JobRecord) -> tuple[Visit, ...]:
    """Visits that tell what was found, newest first: those on the old unit, a test-out never among them."""
    return tuple(filter(_tells_found, reversed(record.visits)))


def test_out_visits(record: JobRecord) -> tuple[Visit, ...]:
    """Test-out visits, newest first."""
    return tuple(filter(_tells_test_out, reversed(record.visits)))


def _tells_found(visit: Visit) -> bool:
    return visit.unit == "old" and visit.kind != "test-out"


def _tells_test_out(visit: Visit) -> bool:
    return visit.kind == "test-out"


def reading(record: JobRecord, key: str, field: str, time: str) -> Reading | None:
    """Return what the record says of a field of the house or an item at a time, or None.

    Parameters
    ----------
    key, field : str
        ``house`` or an item's key, and a field of its kind.
    time : {"found", "predicted", "test-out"}
        A reading of ``found`` is the newest on the old unit; the record itself holds no predicted readings. Plain
        numbers hold at any time; figures of the equipment are the old unit's for ``found``, else the new unit's.
    """
    item = record.items.get(key)
    if item is None:
        return None
    known = KINDS[item.kind].fields[field]
    if known.timed:
        return (record.old if time == "found" else record.new).get(field)
    if known.form == "number":
        if known.section == "derived":
            return days(record, field, found_visits(record)) if time == "found" else None
        return item.numbers.get(field)
    if time == "predicted":
        return None
    told = _tells_found if time == "found" else _tells_test_out
    for visit in reversed(record.visits):
        found = visit.readings.get((key, field))
        if found is not None and told(visit):
            return found
    return None


def subjects(record: JobRecord, jurisdiction_known: bool) -> Mapping[str, tuple[Subject, ...]]:
    """Return the record's subjects by kind, each kind in order of keys; the house is always there.

    A word that the record does not hold is absent and reads ``unknown``.
    """
    found: dict[str, list[Subject]] = {}
    shared = MappingProxyType({"balanced": yes_or_no(any(v.kind == "after-balance" for v in found_visits(record)))})
    of_visits = house_words(record, found_visits(record), test_out_visits(record))
    house = MappingProxyType({**of_visits, "jurisdiction_known": yes_or_no(jurisdiction_known)})
    for key, item in sorted(record.items.items()):
        derived: Mapping[str, str] = house
        if key != HOUSE_KEY:
            derived = {w: v for w, v in shared.items() if w in KINDS[item.kind].fields}
            derived = {**derived, PHOTOGRAPHED: yes_or_no(bool(item.photo))}
        words = MappingProxyType({**item.words, **derived})
        found.setdefault(item.kind, []).append(Subject(item.kind, key, words, item.links))
    return MappingProxyType({kind: tuple(several) for kind, several in sorted(found.items())})


def through(record: JobRecord, visit_index: int) -> JobRecord:
    """Return the record without the visits after that one, which is named by its position in the file.

    Raises
    ------
    ValueError
        If the record has no such visit.
    """
    order = [visit.index for visit in record.visits]
    kept = record.visits[: order.index(visit_index) + 1]
    return replace(record, visits=kept, digest="")


def positions(record: JobRecord) -> Mapping[str, str]:
    """Return where the record's numbers and words stand: a number's path, or ``key.field`` of a word -> ``line:column``."""
    words = {f"{key}.{name}": place for (key, name), place in record.word_places.items()}
    numbers = {r.path: r.place for r in all_readings(record) if r.place}
    return MappingProxyType({path: f"{p.line}:{p.column}" for path, p in sorted({**words, **numbers}.items())})


def all_readings(record: JobRecord) -> Iterator[Reading]:
    """Yield every number and reading of the record."""
    yield from record.old.values()
    yield from record.new.values()
    for item in record.items.values():
        yield from item.numbers.values()
    for visit in record.visits:
        yield from visit.readings.values()
