"""An entry of the archive named on the command line: by its number, or by its job."""

from airwarrant.errors import CallError, Fault
from airwarrant.records.archive import Archive
from airwarrant.records.kept import Entry

#: No archive has entries whose number is this long.
_DIGITS = 18


def entries_named(archive: Archive, name: str) -> tuple[Entry, ...]:
    """Return the entry of a number, or every entry of a job, oldest first; ``entry:17`` and ``job:17`` say which is meant.

    Raises
    ------
    CallError
        If there is none, or the name is both an entry and a job.
    """
    only_entry, only_job = name.startswith("entry:"), name.startswith("job:")
    job = "" if only_entry else name.removeprefix("job:")
    number = name.removeprefix("entry:")
    entries = tuple(archive.entries(job=job)) if job else ()
    count = len(archive)
    is_entry = not only_job and number.isdecimal() and len(number) < _DIGITS and 1 <= int(number) <= count
    if is_entry and entries and {one.number for one in entries} != {int(number)}:
        raise CallError([Fault("two-meanings", f"{name} is both an entry and a job", f"entry:{name} or job:{name}")])
    if is_entry:
        return (archive.entry(int(number)),)
    if entries:
        return entries
    found = f"there is neither an entry nor a job `{name}`"
    advice = "`airwarrant audit list` shows what is kept."
    raise CallError(
        [Fault("no-entry", found, f"an entry from 1 to {count}, or the number of a kept job", advice=advice)]
    )
