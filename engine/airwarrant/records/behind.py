"""Entries of another archive put behind those of this one, with numbers and digests of this chain and what they had in their own."""

from collections.abc import Sequence
from functools import partial
from hashlib import sha256
from typing import Any

from airwarrant.records.archive import Archive
from airwarrant.records.head import head_text
from airwarrant.records.kept import ERASURE, IMPORT, TEST_OUT, Entry
from airwarrant.records.parts import WHOLE, has_part, packed
from airwarrant.records.versions import versions

#: What an entry's head says of where it came from, and the part that holds the head it had there.
IMPORTED, ORIGINAL = "imported", "original"


class Behind:
    """The end of an archive, at which entries of another are put, inside a transaction that the caller holds.

    Parameters
    ----------
    archive : Archive
    kept_at : str
        When they are taken in, UTC.
    """

    def __init__(self, archive: Archive, kept_at: str) -> None:
        self._archive = archive
        self._kept_at = kept_at
        #: digest of each entry that is there, and the one it had where it came from -> its number
        self._there: dict[str, int] = {}
        for entry in archive.entries():
            self._there[entry.digest] = entry.number
            came = entry.said.get(IMPORTED)
            if isinstance(came, dict):
                self._there[str(came.get("digest"))] = entry.number

        self._from: dict[str, Any] = {}

    def note(self, root: str, size: int) -> None:
        """Say that entries of an archive of that root and size come; it is written before the first that is not there yet."""
        self._from = {"root": root, "size": size}

    def place(self, entry: Entry, numbers: Sequence[int]) -> tuple[int, bool]:
        """Return the number of an entry here, and whether it was put here now.

        Parameters
        ----------
        entry : Entry
            As it stands in the other archive.
        numbers : sequence of int
            Number here of each entry before it there, in order.
        """
        # It may be one of ours that comes back from where it was taken to.
        came = entry.said.get(IMPORTED)
        origins = (entry.digest, str(came.get("digest"))) if isinstance(came, dict) else (entry.digest,)
        known = next((self._there[one] for one in origins if one in self._there), 0)
        if known:
            return known, False
        if self._from:
            note = partial(head_text, kind=IMPORT, kept_at=self._kept_at, versions=versions(), said=self._from)
            self._archive.add(lambda number, previous: note(number=number, previous=previous))
            self._from = {}
        head = entry.head.encode()
        digest = sha256(head).digest()
        if not has_part(self._archive.connection, digest):
            row = (digest, WHOLE, packed(head))
            self._archive.connection.execute("INSERT INTO part (digest, form, body) VALUES (?, ?, ?)", row)
        from_there = {"number": entry.number, "digest": entry.digest}
        said = {**entry.said, **_renumbered(entry, numbers), IMPORTED: from_there}
        again = partial(
            head_text,
            kind=entry.kind,
            kept_at=entry.kept_at,
            versions=entry.versions,
            job=entry.job,
            market=entry.market,
            dates=entry.dates,
            job_digest=entry.job_digest,
            policy_digest=entry.policy_digest,
            parts={**entry.parts, ORIGINAL: digest.hex()},
            overrides=entry.overrides,
            said=said,
        )
        made = self._archive.add(lambda number, previous: again(number=number, previous=previous))
        self._there[entry.digest] = made.number
        return made.number, True


def _renumbered(entry: Entry, numbers: Sequence[int]) -> dict[str, Any]:
    """What an entry says of others, with their numbers here."""

    def here(number: Any) -> int:
        return numbers[number - 1] if isinstance(number, int) and 0 < number <= len(numbers) else 0

    of = entry.said.get("of")
    if entry.kind == TEST_OUT:
        return {"of": here(of)}
    if entry.kind == ERASURE and isinstance(of, list):
        return {"of": [here(number) for number in of]}
    return {}
