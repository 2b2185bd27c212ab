"""Where sizes take their readings from: what is predicted where that is known, else what was found."""

from collections.abc import Mapping

from airwarrant.job.dictionary import KINDS
from airwarrant.job.lookup import reading
from airwarrant.job.readings import Reading
from airwarrant.job.record import JobRecord
from airwarrant.rules.judge import Source


def best_known(record: JobRecord, predicted: Mapping[tuple[str, str], Reading]) -> Source:
    """Return a source that answers ``predicted`` with the best that is known.

    A plain number of the equipment stays that of the new unit: a size never falls back to the old one's.
    """

    def source(key: str, name: str, time: str) -> Reading | None:
        known = predicted.get((key, name)) or reading(record, key, name, time)
        if known is not None or key not in record.items:
            return known
        is_reading = KINDS[record.items[key].kind].fields[name].form == "reading"
        return reading(record, key, name, "found") if is_reading else None

    return source
