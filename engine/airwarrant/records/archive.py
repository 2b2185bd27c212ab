"""The archive: jobs kept in the order in which they came, each entry holding the digest of the one before.

Entries are only added. What is personal stands apart and is the only thing that can be taken out again.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import replace
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING, Any

from airwarrant.errors import ArchiveError, Fault
from airwarrant.job.reading_records import parse_job
from airwarrant.job.record import JobRecord
from airwarrant.records.database import connect, damaged, told, transaction
from airwarrant.records.head import entry_of
from airwarrant.records.kept import RUN, Entry, Kept, StoredRun
from airwarrant.records.parts import document_of, has_part, packed, read_part
from airwarrant.records.personal import personal_of, unmask, with_values
from airwarrant.records.prepared import Prepared, prepared

if TYPE_CHECKING:
    import apsw

#: Entries read at once, and so the time that a reader keeps a writer waiting.
_BATCH = 500
#: Jobs of one transaction in bulk.
_BULK = 400
_NEWEST = "(SELECT max(number) FROM entry WHERE job = run.job AND kind = run.kind)"


class Archive:
    """An archive file, open; a context manager.

    Its methods raise `ArchiveError` where the file cannot be read or written, or is damaged. Readers never hold the file for longer than
    a few hundred entries take, so that a job can be kept while a long figure is worked out.
    """

    def __init__(self, path: Path, connection: apsw.Connection, *, write: bool) -> None:
        self.path = path
        self._connection = connection
        self._write = write
        self._known: set[bytes] = set()

    @classmethod
    def open(cls, path: Path, *, write: bool = False) -> Archive:
        """Open an archive; with `write`, one that is not there yet is made.

        Raises
        ------
        ArchiveError
            If there is none, it cannot be read or written, is of another program or a newer layout, or is damaged.
        """
        return cls(path, connect(path, write=write), write=write)

    def close(self) -> None:
        """Close the file."""
        self._connection.close()

    def __enter__(self) -> Archive:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    @property
    def connection(self) -> apsw.Connection:
        """The open file, for the other modules of this package."""
        return self._connection

    # ------------------------------------------------------------------ keeping

    def keep(self, kept: Kept) -> Entry:
        """Keep one job; it is on disk when this returns.

        Raises
        ------
        ArchiveError
            If it could not be kept; then the archive is as it was.
        """
        return self._keep((kept,))[0]

    def keep_all(self, many: Iterable[Kept]) -> int:
        """Keep many jobs, some hundred in a transaction; return how many. On an error those of whole transactions are kept."""
        source, count = iter(many), 0
        while batch := tuple(islice(source, _BULK)):
            count += len(self._keep(batch))
        return count

    def add(self, make: Callable[[int, str], str]) -> Entry:
        """Add an entry without parts inside a transaction that the caller holds; `make` writes its head of number and previous digest."""
        number, previous = self._last()
        entry = entry_of(make(number + 1, previous))
        self.insert(entry)
        return entry

    def insert(self, entry: Entry) -> None:
        """Write the row of an entry that follows the last one, inside a transaction that the caller holds."""
        row = (entry.number, entry.kind, entry.job, entry.head, bytes.fromhex(entry.digest))
        self._connection.execute("INSERT INTO entry (number, kind, job, head, digest) VALUES (?, ?, ?, ?, ?)", row)

    def _keep(self, batch: tuple[Kept, ...]) -> list[Entry]:
        if not self._write:
            raise ValueError("the archive was opened for reading")
        ready: list[Prepared] = []
        coming: set[bytes] = set()
        for kept in batch:
            ready.append(prepared(kept, lambda digest: digest in coming or self._is_known(digest)))
            coming.update(ready[-1].rows)
        with told(self.path, write=True), transaction(self._connection):
            entries = [self._write_one(one) for one in ready]
        for one in ready:
            self._known.update(one.rows)
        return entries

    def _is_known(self, digest: bytes) -> bool:
        if digest in self._known:
            return True
        with told(self.path):
            return has_part(self._connection, digest)

    def _write_one(self, one: Prepared) -> Entry:
        for digest, (form, content) in one.rows.items():
            if digest not in self._known and not has_part(self._connection, digest):
                row = (digest, form, packed(content))
                self._connection.execute("INSERT INTO part (digest, form, body) VALUES (?, ?, ?)", row)
        entry = self.add(one.head)
        if one.personal is not None:
            apart = (entry.number, *one.personal)
            self._connection.execute("INSERT INTO personal (entry, salt, body) VALUES (?, ?, ?)", apart)
        return entry

    def _last(self) -> tuple[int, str]:
        row = self._connection.execute("SELECT number, digest FROM entry ORDER BY number DESC LIMIT 1").fetchone()
        return (row[0], row[1].hex()) if row else (0, "")

    # ------------------------------------------------------------------ reading

    def __len__(self) -> int:
        """How many entries there are."""
        with told(self.path):
            return int(self._connection.execute("SELECT ifnull(max(number), 0) FROM entry").get)

    def entries(self, *, kind: str = "", job: str = "", after: int = 0, last: int = 0) -> Iterator[Entry]:
        """Give heads in the order in which they were kept: of one `kind`, of one `job`, after a number, the `last` so many of these; none
        of them are held on to.
        """
        # Written out for what is asked, so that an index finds it.
        named = {"job": job, "kind": kind}
        where = "".join(f" AND {name} = :{name}" for name, value in named.items() if value)
        text = f"SELECT number, head FROM entry WHERE number > :after{where} ORDER BY number LIMIT {_BATCH}"
        if last:
            before = (
                f"SELECT number FROM entry WHERE number > :after{where} ORDER BY number DESC LIMIT 1 OFFSET {last:d}"
            )
            with told(self.path):
                after = self._connection.execute(before, {**named, "after": after}).get or after
        while True:
            with told(self.path):
                rows: list[Any] = self._connection.execute(text, {**named, "after": after}).fetchall()
            for number, head in rows:
                yield self._entry(number, head)
            if len(rows) < _BATCH:
                return
            after = rows[-1][0]

    def entry(self, number: int) -> Entry:
        """Return one head."""
        with told(self.path):
            row = self._connection.execute("SELECT head FROM entry WHERE number = ?", (number,)).fetchone()
        if row is None:
            raise ArchiveError([Fault("no-entry", f"there is no entry {number}", f"an entry from 1 to {len(self)}")])
        return self._entry(number, row[0])

    def runs(self) -> Iterator[StoredRun]:
        """Give the kept jobs, the newest run of each job id, in the order in which they were kept."""
        after = 0
        while True:
            with told(self.path):
                rows: list[Any] = self._connection.execute(
                    f"SELECT number, head FROM entry AS run WHERE kind = ?1 AND number > ?2 AND number = {_NEWEST}"
                    " ORDER BY number LIMIT ?3",
                    (RUN, after, _BATCH),
                ).fetchall()
            for number, head in rows:
                yield StoredRun(self._entry(number, head), self)
            if len(rows) < _BATCH:
                return
            after = rows[-1][0]

    def digests(self) -> Iterator[bytes]:
        """Give the digest of every entry, in order."""
        after = 0
        while True:
            with told(self.path):
                rows: list[Any] = self._connection.execute(
                    "SELECT number, digest FROM entry WHERE number > ? ORDER BY number LIMIT 5000", (after,)
                ).fetchall()
            yield from (digest for _, digest in rows)
            if not rows:
                return
            after = rows[-1][0]

    def _entry(self, number: int, head: str) -> Entry:
        entry = entry_of(head)
        if entry.number != number:
            raise damaged(self.path, f"entry {number} says that it is {entry.number}")
        return entry

    # ------------------------------------------------------------------ parts

    def part(self, entry: Entry, name: str) -> bytes | None:
        """Return a part as it is kept, without what is personal, or None if the entry has none of that name.

        Raises
        ------
        ArchiveError
            If it is not there, or not what its digest says.
        """
        digest = entry.parts.get(name)
        if digest is None:
            return None
        with told(self.path):
            return read_part(self._connection, bytes.fromhex(digest), f"entry {entry.number}: its {name}")

    def erased_by(self, entry: Entry) -> int:
        """Number of the entry by which an entry's personal data was erased, 0 if it was not."""
        with told(self.path):
            return int(
                self._connection.execute("SELECT ifnull(max(by), 0) FROM erased WHERE entry = ?", (entry.number,)).get
            )

    def personal(self, entry: Entry) -> Mapping[str, Any]:
        """Return what was taken out of the entry's parts, by part; empty if there was nothing, or it was erased."""
        with told(self.path):
            row = self._connection.execute("SELECT body FROM personal WHERE entry = ?", (entry.number,)).fetchone()
        return personal_of(row[0]) if row else {}

    def record_text(self, entry: Entry) -> bytes:
        """Return the record's file as it was kept; with a stand-in for what is personal once that was erased."""
        return self._text(entry, "record")

    def record(self, entry: Entry) -> JobRecord:
        """Return the record, with the market it was evaluated under and the digest it had."""
        record = parse_job(self.record_text(entry), self.file_name(entry))
        # A record whose personal data was erased is evaluated as it was: its digest is the seed of its draws.
        return replace(record, market=entry.market, digest=entry.job_digest)

    def file_name(self, entry: Entry) -> str:
        """Return the name of the record's file; once that was erased, one made of the job's number."""
        return str(self.personal(entry).get("file", entry.said.get("file", "record.toml")))

    def test_out_text(self, entry: Entry) -> bytes:
        """Return the test-out's file of an entry of that kind."""
        return self._text(entry, "test-out")

    def policy_texts(self, entry: Entry) -> dict[str, str]:
        """Return the policy's files: name below the policies folder -> text."""
        return document_of(self._needed(entry, "policy"), f"entry {entry.number}: its policy")

    def result(self, entry: Entry) -> dict[str, Any] | None:
        """Return the result document, or None if the job was kept without; with a stand-in for what was erased."""
        return self._document(entry, "result")

    def acceptance(self, entry: Entry) -> dict[str, Any] | None:
        """Return the acceptance document of a test-out's entry."""
        return self._document(entry, "acceptance")

    def reach(self, entry: Entry) -> bytes | None:
        """Return the reach facts of an entry, or None."""
        return self.part(entry, "reach")

    def _needed(self, entry: Entry, name: str) -> bytes:
        content = self.part(entry, name)
        if content is None:
            raise damaged(self.path, f"entry {entry.number}, {entry.kind}, has no {name}")
        return content

    def _text(self, entry: Entry, name: str) -> bytes:
        text = self._needed(entry, name)
        taken = self.personal(entry).get(name, [])
        return unmask(text, tuple((start, length, said) for start, length, said in taken))

    def _document(self, entry: Entry, name: str) -> dict[str, Any] | None:
        content = self.part(entry, name)
        if content is None:
            return None
        document = document_of(content, f"entry {entry.number}: its {name}")
        taken = self.personal(entry).get(name, [])
        try:
            return with_values(document, [(tuple(path), said) for path, said in taken]) if taken else document
        except (LookupError, TypeError) as error:
            raise damaged(self.path, f"the personal data of entry {entry.number} is not of its {name}") from error
