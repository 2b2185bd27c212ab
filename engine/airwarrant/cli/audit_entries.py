"""An entry of the archive named on the command line: by its number, or by its job."""

from airwarrant.errors import CallError, Fault
from airwarrant.records.archive import Archive
from airwarrant.records.kept import Entry


def entries_named(archive: Archive, name: str) -> tuple[Entry, ...]:
    """Return the entry of a number, else every entry of a job, oldest first. Write ``job:17`` for a job that is called 17.

    Raises
    ------
    CallError
        If there is none.
    """
    job = name.removeprefix("job:")
    entries = tuple(archive.entries(job=job))
    if job != name or (entries and not name.isdecimal()):
        if entries:
            return entries
    elif name.isdecimal():
        count = len(archive)
        # A job's own number is what people know it by; entries are counted from 1 and stay below it for long.
        if 1 <= int(name) <= count:
            return (archive.entry(int(name)),)
        if entries:
            return entries
        found = f"there is neither an entry nor a job {name}"
        raise CallError([Fault("no-entry", found, f"an entry from 1 to {count}, or the number of a kept job")])
    advice = "`airwarrant audit list` shows what is kept."
    raise CallError([Fault("no-entry", f"no job `{job}` is kept", "an entry's number or a job's", advice=advice)])
