"""Stored jobs: one seam for a folder of records and for the archive."""

import re
from collections import deque
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING, Protocol

from airwarrant.errors import CallError, Fault, RecordError
from airwarrant.job.reading_records import read_text
from airwarrant.source.syntax import MOST_BYTES

if TYPE_CHECKING:
    from airwarrant.records.archive import Archive
    from airwarrant.records.kept import StoredRun

_ENDINGS = (".toml", ".json")
#: The first key `format` of a text, as TOML and as JSON write it.
_FORMAT = re.compile(rb"""(?:^[ \t]*["']?|")format["']?\s*[=:]\s*["']([^"'\n]*)""", re.MULTILINE)
_RECORD = b"airwarrant/job/"
#: As much of a file as nearly always says its format.
_BEGINNING = 4096


@dataclass(frozen=True, slots=True)
class Job:
    """A record as a worker takes it: its text, and the ending of `file` that says how it is read.

    `facts` are those of an evaluation of this very record, where they are known: under the same policy it is not evaluated again.
    """

    name: str
    file: str
    text: bytes
    market: str = ""
    facts: bytes | None = None


class Head(Protocol):
    """A stored job before its record is read.

    Attributes
    ----------
    name : str
        Unique among the jobs.
    market, dates
        Those the job was kept with, where they are known without reading its record; else empty.
    """

    @property
    def name(self) -> str: ...

    @property
    def market(self) -> str: ...

    @property
    def dates(self) -> Mapping[str, date | None]: ...

    def key(self) -> str:
        """What the record is known by: a digest of all that it says."""
        ...

    def facts(self) -> bytes | None:
        """Facts of an evaluation that were kept with it."""
        ...

    def job(self) -> Job:
        """The record's text; raises `RecordError` where it cannot be read."""
        ...


class Stored(Protocol):
    """Where jobs are kept."""

    def __len__(self) -> int: ...

    def heads(self) -> Iterator[Head]:
        """Every job once, always in the same order."""
        ...


@dataclass(frozen=True, slots=True)
class _File:
    path: Path
    market: str = ""

    @property
    def name(self) -> str:
        return self.path.name

    @property
    def dates(self) -> Mapping[str, date | None]:
        return {}

    def key(self) -> str:
        try:
            return f"text:{sha256(read_text(self.path)).hexdigest()}"
        except RecordError:
            return ""

    def facts(self) -> bytes | None:
        return None

    def job(self) -> Job:
        return Job(self.path.name, self.path.name, read_text(self.path), self.market)


class Folder:
    """Job records of a folder, each a file; what else lies there is passed over.

    A file that cannot be read counts as a record: a replay says what is wrong with it.

    Attributes
    ----------
    others : tuple of str
        Files of a record's endings whose format is not that of a job record.

    Raises
    ------
    CallError
        ``no-jobs``: it is no folder, or holds no record.
    """

    def __init__(self, folder: Path) -> None:
        if not folder.is_dir():
            raise CallError([Fault("no-jobs", f"`{folder}` is not a folder", "a folder of job records")])
        files = sorted(path for path in folder.iterdir() if path.suffix in _ENDINGS and path.is_file())
        records = {path: _is_record(path) for path in files}
        self._files = [path for path, there in records.items() if there]
        self.others = tuple(path.name for path, there in records.items() if not there)
        if not self._files:
            raise CallError(
                [
                    Fault(
                        "no-jobs",
                        f"`{folder}` holds no job record",
                        'files that end in .toml or .json and say format = "airwarrant/job/1"',
                    )
                ]
            )

    def __len__(self) -> int:
        return len(self._files)

    def heads(self) -> Iterator[Head]:
        return (_File(path) for path in self._files)


def _is_record(path: Path) -> bool:
    try:
        with path.open("rb") as file:
            text = file.read(_BEGINNING)
            said = _FORMAT.search(text) or _FORMAT.search(text + file.read(MOST_BYTES))
    except OSError:
        return True
    return said is not None and said[1].startswith(_RECORD)


@dataclass(frozen=True, slots=True)
class _Kept:
    run: "StoredRun"
    archive: "Archive"

    @property
    def name(self) -> str:
        return self.run.entry.job

    @property
    def market(self) -> str:
        return self.run.entry.market

    @property
    def dates(self) -> Mapping[str, date | None]:
        return {name: date.fromisoformat(day) if day else None for name, day in self.run.entry.dates.items()}

    def key(self) -> str:
        return f"job:{self.run.entry.job_digest}"

    def facts(self) -> bytes | None:
        return self.run.reach()

    def job(self) -> Job:
        entry = self.run.entry
        return Job(entry.job, self.archive.file_name(entry), self.archive.record_text(entry), entry.market)


class Kept:
    """The newest run of each job of an archive."""

    def __init__(self, archive: "Archive") -> None:
        self._archive = archive
        self._count = sum(1 for _ in archive.runs())
        if not self._count:
            found = "the archive holds no job"
            raise CallError([Fault("no-jobs", found, advice="Keep jobs with `airwarrant run JOB --keep`.")])

    def __len__(self) -> int:
        return self._count

    def heads(self) -> Iterator[Head]:
        return (_Kept(run, self._archive) for run in self._archive.runs())


class Newest:
    """The jobs of one market that were kept last."""

    def __init__(self, archive: "Archive", market: str, most: int) -> None:
        runs = (run for run in archive.runs() if run.entry.market == market)
        self._heads = tuple(_Kept(run, archive) for run in deque(runs, most))

    def __len__(self) -> int:
        return len(self._heads)

    def heads(self) -> Iterator[Head]:
        return iter(self._heads)


class Held:
    """Records at hand, for benchmarks and tests."""

    def __init__(self, jobs: Iterable[Job]) -> None:
        self._jobs = tuple(jobs)

    def __len__(self) -> int:
        return len(self._jobs)

    def heads(self) -> Iterator[Head]:
        return (_Held(job) for job in self._jobs)


@dataclass(frozen=True, slots=True)
class _Held:
    held: Job

    @property
    def name(self) -> str:
        return self.held.name

    @property
    def market(self) -> str:
        return self.held.market

    @property
    def dates(self) -> Mapping[str, date | None]:
        return {}

    def key(self) -> str:
        return f"text:{sha256(self.held.text).hexdigest()}"

    def facts(self) -> bytes | None:
        return None

    def job(self) -> Job:
        return self.held
