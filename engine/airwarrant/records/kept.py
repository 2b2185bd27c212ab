"""What is handed to the archive to keep, and what it hands back."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property
from hashlib import sha256
from typing import TYPE_CHECKING, Any

from airwarrant.job.record import JobRecord, Override
from airwarrant.records.canonical import canonical

if TYPE_CHECKING:
    from airwarrant.records.archive import Archive

#: Kinds of entry: a job evaluated, a test-out held against it, personal data erased, entries taken over from another archive.
KINDS = RUN, TEST_OUT, ERASURE, IMPORT = "run", "test-out", "erasure", "import"


@dataclass(frozen=True)
class PolicyFiles:
    """The policy files that a job was evaluated under, as `policy.files.policy_texts` gives them.

    Make one for each composed policy and use it for every job of that policy: its digest is worked out once.

    Attributes
    ----------
    digest : str
        `Policy.digest`, of its meaning.
    texts : Mapping
        Name of each file below the policies folder -> its text, the market's file among them.
    """

    digest: str
    texts: Mapping[str, str]

    @cached_property
    def content_digest(self) -> str:
        """SHA-256, hex, of the files' texts in canonical JSON."""
        return sha256(canonical(dict(self.texts))).hexdigest()


@dataclass(frozen=True, slots=True)
class TestOutKept:
    """A test-out file and the acceptance document it came to; `of` is the number of the run's entry, 0 if it was not kept."""

    file: str
    text: bytes
    acceptance: Mapping[str, Any]
    of: int = 0


@dataclass(frozen=True, slots=True)
class Kept:
    """One job to keep.

    Attributes
    ----------
    record : JobRecord
        As `parse_job` read it from `text`.
    text : bytes
        The record's file as it stands; the ending of `record.file` says whether it is TOML or JSON.
    market : str
        The market it was evaluated under.
    policy : PolicyFiles
    kept_at : str
        When, in UTC, such as ``2026-11-25T21:00:00Z``; the archive reads no clock.
    result : Mapping or None
        The result document; None in bulk, where it is to be worked out again when it is asked for.
    reach : bytes or None
        Facts of the evaluation that a replay decides by; the archive does not look into them.
    test_out : TestOutKept or None
        If given, the entry is of a test-out.
    """

    record: JobRecord
    text: bytes
    market: str
    policy: PolicyFiles
    kept_at: str
    result: Mapping[str, Any] | None = None
    reach: bytes | None = None
    test_out: TestOutKept | None = None

    @property
    def kind(self) -> str:
        """``run`` or ``test-out``."""
        return TEST_OUT if self.test_out else RUN


@dataclass(frozen=True, slots=True)
class Entry:
    """The head of an entry: everything its digest is of.

    Attributes
    ----------
    number : int
        From 1, without a gap.
    kind : str
        One of `KINDS`.
    job, market : str
        Empty for an entry that is not of a job.
    dates : Mapping
        ``survey``, ``proposal`` and ``permit`` of the job where the record has them, as ISO texts.
    kept_at : str
        When it was kept, UTC.
    versions : Mapping
        Program and engine, each with its version.
    job_digest, policy_digest : str
        Of the record's and the policy's meaning, as a result's ``digests`` has them.
    parts : Mapping
        ``record``, ``policy``, ``result``, ``reach``, ``test-out``, ``acceptance``, ``personal`` -> SHA-256 of the part, hex; that of
        ``personal`` is salted.
    overrides : tuple of Override
        Lines the firm decided against the rules, with reason and name.
    said : Mapping
        What else the head holds: the record's file name; of an erasure the entries and why; of an import where it came from.
    previous : str
        Digest of the entry before, empty for the first.
    head : str
        The head's text as it was digested.
    digest : str
        SHA-256 of `head`, hex.
    """

    number: int
    kind: str
    job: str
    market: str
    dates: Mapping[str, str]
    kept_at: str
    versions: Mapping[str, str]
    job_digest: str
    policy_digest: str
    parts: Mapping[str, str]
    overrides: tuple[Override, ...]
    said: Mapping[str, Any]
    previous: str
    head: str
    digest: str


@dataclass(frozen=True, slots=True)
class StoredRun:
    """A kept job as a replay or the owner's figures take it: its head, and its parts when they are asked for.

    Attributes
    ----------
    entry : Entry
        The run.
    """

    entry: Entry
    archive: Archive = field(repr=False, compare=False)

    def record(self) -> JobRecord:
        """The record, with the market it was evaluated under."""
        return self.archive.record(self.entry)

    def result(self) -> dict[str, Any] | None:
        """The result document, or None if it was kept without."""
        return self.archive.result(self.entry)

    def reach(self) -> bytes | None:
        """The reach facts, or None if it was kept without."""
        return self.archive.reach(self.entry)
