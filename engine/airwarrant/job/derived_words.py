"""What follows from the whole record without judging it: the newest words of the visits, and words and days nobody writes."""

from collections.abc import Sequence
from datetime import date
from types import MappingProxyType

from airwarrant.job.dictionary import HOUSE_KEY, KINDS
from airwarrant.job.readings import Reading
from airwarrant.job.record import JobRecord, Visit

_HOUSE = KINDS[HOUSE_KEY].fields
_OF_VISITS = tuple(f.name for f in _HOUSE.values() if f.form == "word" and f.section == "visit")


def house_words(record: JobRecord, found: Sequence[Visit], test_out: Sequence[Visit]) -> dict[str, str]:
    """Return the house's words that no block holds; visits stand newest first."""
    # A visit with the unit off has no fan setting to record.
    running = next((v for v in found if v.kind != "unit-off"), None)
    words = {
        "tested": yes_or_no(any(v.kind == "test-in" for v in found)),
        "fan_setting_known": yes_or_no(running is not None and bool(running.fan_setting)),
        "unit_recorded": yes_or_no({"new.model", "new.serial"} <= record.labels.keys()),
        "instruments_named": yes_or_no(any(one.checked for one in record.instruments.values())),
    }
    for name in _OF_VISITS:
        newest = next((v.words[name] for v in found if name in v.words), None)
        if newest is not None:
            words[name] = newest
    old, new = record.old.get("tons"), record.new.get("tons")
    if old is not None and new is not None:
        words["tons_change"] = "same" if old.value == new.value else "larger" if new.value > old.value else "smaller"
    return words | _at_test_out(record, test_out)


def days(record: JobRecord, field: str, found: Sequence[Visit]) -> Reading | None:
    """Return the days that a derived number counts, or None where the record cannot tell."""
    since, visit = _AGES[field](record, found)
    until = record.dates["proposal"] or record.dates["survey"]
    if since is None or until is None:
        return None
    unit = _HOUSE[field].unit
    return Reading(float((until - since).days), unit, "stated", 0.0, field, None, visit, "", MappingProxyType({}))


def yes_or_no(holds: bool) -> str:
    return "yes" if holds else "no"


def _at_test_out(record: JobRecord, test_out: Sequence[Visit]) -> dict[str, str]:
    """What makes a test-out comparable with the first visit."""
    if not test_out:
        return {}
    newest, words = test_out[0], {}
    for name, own in (
        ("out_filter", "filter_state"),
        ("out_same_ports", "same_ports"),
        ("out_smoke", "smoke_check"),
    ):
        if own in newest.words:
            words[name] = newest.words[own]
    settings = {setting.name for setting in record.new_blower.settings} if record.new_blower else set()
    if settings:
        words["out_setting_known"] = yes_or_no(newest.fan_setting in settings)
    return words


def _newest_visit(record: JobRecord, found: Sequence[Visit]) -> tuple[date | None, int | None]:
    return (found[0].date, found[0].index) if found else (None, None)


def _oldest_check(record: JobRecord, found: Sequence[Visit]) -> tuple[date | None, int | None]:
    """Last check of the instrument that was checked longest ago, of those that readings name; of all, if none names one."""
    named = {reading.instrument for visit in found for reading in visit.readings.values()} & record.instruments.keys()
    checked = [day for key in named or record.instruments if (day := record.instruments[key].checked)]
    return min(checked, default=None), None


_AGES = MappingProxyType({"age": _newest_visit, "instrument_age": _oldest_check})
