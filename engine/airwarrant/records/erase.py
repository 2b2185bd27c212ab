"""Personal data taken out of kept jobs on request; the chain stays whole and an entry says that it was done, when and why."""

from collections.abc import Sequence
from functools import partial

from airwarrant.counted import numbered
from airwarrant.errors import ArchiveError, Fault
from airwarrant.records.archive import Archive
from airwarrant.records.database import told, transaction
from airwarrant.records.head import head_text
from airwarrant.records.kept import ERASURE, Entry
from airwarrant.records.versions import versions

_SHOW = "`airwarrant audit show` says which entries hold personal data."


def erase(archive: Archive, entries: Sequence[Entry], *, why: str, kept_at: str) -> Entry:
    """Erase the personal data of entries of one job; when this returns, it is gone from the file.

    What stays can still be evaluated again: a stand-in stands where the data stood. `why` stays for good and must name nobody.

    Raises
    ------
    ValueError
        If they are of several jobs.
    ArchiveError
        If there is nothing to erase, or it could not be done; then nothing was.
    """
    if not why.strip():
        raise ArchiveError([Fault("why", "no reason was given", 'a reason, such as "asked for by letter"')])
    # An export that holds such a text is taken in by nobody.
    if not why.isprintable():
        raise ArchiveError([Fault("why", "the reason holds control characters", "a reason on one line, in plain text")])
    if len({entry.job for entry in entries}) != 1:
        raise ValueError("the entries are of several jobs")
    held = [entry for entry in entries if "personal" in entry.parts]
    with told(archive.path, write=True), transaction(archive.connection):
        still = [entry.number for entry in held if not archive.erased_by(entry)]
        if not still:
            raise ArchiveError([Fault("nothing-to-erase", _nothing(archive, entries), advice=_SHOW)])
        made = archive.add(partial(_head, entries[0].job, still, why, kept_at))
        for number in still:
            archive.connection.execute("INSERT INTO erased (entry, by) VALUES (?, ?)", (number, made.number))
            archive.connection.execute("DELETE FROM personal WHERE entry = ?", (number,))
    return made


def _head(job: str, numbers: list[int], why: str, kept_at: str, number: int, previous: str) -> str:
    said = {"of": numbers, "why": why}
    return head_text(
        number=number, kind=ERASURE, kept_at=kept_at, previous=previous, versions=versions(), job=job, said=said
    )


def _nothing(archive: Archive, entries: Sequence[Entry]) -> str:
    by = sorted({number for entry in entries if (number := archive.erased_by(entry))})
    numbers = [entry.number for entry in entries if not by or "personal" in entry.parts]
    named = numbered(numbers, "entry", "entries")
    if by:
        return f"the personal data of {named} was erased before, by {numbered(by, 'entry', 'entries')}"
    return f"{named} {'holds' if len(numbers) == 1 else 'hold'} no personal data"
