"""Kept jobs evaluated again from their kept record and policy, on both evaluators: the same, or where first different."""

from collections import OrderedDict
from collections.abc import Iterator, Mapping, Sequence
from contextlib import ExitStack
from dataclasses import replace
from pathlib import Path
from typing import Any

from airwarrant.counted import counted
from airwarrant.desks.acceptance import acceptance
from airwarrant.errors import AirwarrantError, InputError
from airwarrant.evaluate import Evaluator
from airwarrant.job.reading_records import job_document
from airwarrant.job.test_out import with_test_out
from airwarrant.records.archive import Archive
from airwarrant.records.findings import Finding
from airwarrant.records.kept import RUN, TEST_OUT, Entry
from airwarrant.records.policy_again import policy_folder
from airwarrant.records.verify import parts_of
from airwarrant.records.versions import versions
from airwarrant.result.serial import compared
from airwarrant.session import Session

#: Policies whose files and engines are kept at once.
_SESSIONS = 8


class Again:
    """Evaluates kept entries again; a context manager, as it lays policy files out for a while.

    Parameters
    ----------
    archive : Archive
    """

    def __init__(self, archive: Archive) -> None:
        self._archive = archive
        self._sessions: OrderedDict[str, tuple[Session, ExitStack]] = OrderedDict()

    def __enter__(self) -> "Again":
        return self

    def __exit__(self, *_: object) -> None:
        while self._sessions:
            self._sessions.popitem()[1][1].close()

    def differs(self, entry: Entry) -> Iterator[Finding]:
        """Give a finding if an entry does not come out as it was kept; one that is no evaluation always does."""
        if entry.kind not in (RUN, TEST_OUT):
            return
        try:
            kept, again = self._both(entry)
        except (AirwarrantError, InputError) as error:
            found = f"it cannot be evaluated again{_of_version(entry)}: {str(error).splitlines()[0]}"
            yield Finding("not-evaluated", found, entry=entry.number)
            return
        if kept is None:
            return
        place = first_difference(compared(kept), compared(again))
        if place is not None:
            found = f"it does not come out as it was kept; first different: {place}{_of_version(entry)}"
            yield Finding("result-differs", found, entry=entry.number)

    def _both(self, entry: Entry) -> tuple[dict[str, Any] | None, dict[str, Any]]:
        """The document as it was kept, and as it comes out now."""
        session = self._session(entry)
        record = self._archive.record(entry)
        erased = bool(self._archive.erased_by(entry))
        if entry.kind == RUN:
            result = session.evaluate(record, check_both=True, draft=True)
            kept = self._archive.result(entry)
            before = kept.get("supersedes") if kept is not None and erased else None
            if isinstance(before, dict) and result["supersedes"]:
                # The digest of the result before, which held what was erased, can only be taken from what was kept.
                result["supersedes"]["result"] = before.get("result")
            return kept, result
        text = self._archive.record_text(entry)
        document = job_document(text, self._archive.file_name(entry))
        made = with_test_out(document, self._archive.test_out_text(entry), str(entry.said.get("test_out", "")))
        kept = self._archive.acceptance(entry) or {}
        told = kept.get("digests")
        digests = told if isinstance(told, dict) else {}
        # So with the digest that seeds the draws.
        made = replace(made, market=entry.market, digest=digests.get("with_test_out", made.digest))
        # As the run was kept: the acceptance names the digest of that very result.
        known = self._archive.result(entry) or session.evaluate(record, check_both=True, draft=True)
        with Evaluator(session.evaluator(record).policy, detail=False) as evaluator:
            again = acceptance(known, evaluator.run(made, check_both=True))
        if erased:
            again["digests"] = digests
        return kept, again

    def _session(self, entry: Entry) -> Session:
        """The session of an entry's policy files; the one used longest ago goes first."""
        key = entry.parts.get("policy", "")
        if key not in self._sessions:
            while len(self._sessions) >= _SESSIONS:
                self._sessions.popitem(last=False)[1][1].close()
            stack = ExitStack()
            folder = stack.enter_context(policy_folder(self._archive.policy_texts(entry)))
            self._sessions[key] = stack.enter_context(Session(folder)), stack
        self._sessions.move_to_end(key)
        return self._sessions[key][0]


def check_entries(path: Path, numbers: Sequence[int], first: int | None) -> Iterator[list[Finding]]:
    """Check parts of entries, and evaluate them again; give what was found of each entry, in order.

    Parameters
    ----------
    path : Path
        The archive.
    numbers : sequence of int
        Entries whose heads were found sound.
    first : int or None
        From which entry on to evaluate too; None evaluates nothing.
    """
    sound: set[str] = set()
    with Archive.open(path) as archive, Again(archive) as again:
        for number in numbers:
            entry = archive.entry(number)
            found = list(parts_of(archive, entry, sound))
            if first is not None and number >= first and not found:
                found += again.differs(entry)
            yield found


def check_many(path: Path, numbers: Sequence[int], first: int | None) -> list[Finding]:
    """The same as one list, for a process of its own."""
    return [one for found in check_entries(path, numbers, first) for one in found]


def first_difference(one: Any, other: Any, path: str = "") -> str | None:
    """Return where two documents first differ, in the order of the first, as a path with both values; None if they are the same."""
    if isinstance(one, Mapping) and isinstance(other, Mapping):
        for key in [*one, *(key for key in other if key not in one)]:
            here = f"{path}.{key}" if path else str(key)
            if key not in one or key not in other:
                return f"{here} is {'new' if key in other else 'gone'}"
            if (place := first_difference(one[key], other[key], here)) is not None:
                return place
        return None
    if isinstance(one, list) and isinstance(other, list):
        for index, (before, now) in enumerate(zip(one, other, strict=False)):
            if (place := first_difference(before, now, f"{path}[{index}]")) is not None:
                return place
        return (
            None if len(one) == len(other) else f"{path} has {counted(len(other), 'entry', 'entries')}, not {len(one)}"
        )
    # True is 1 to Python, and 1.0 too; to a reader of the file they are not.
    if type(one) is type(other) and one == other:
        return None
    return f"{path} is {_short(other)}, was {_short(one)}"


def _short(value: Any) -> str:
    text = repr(value)
    return text if len(text) <= 60 else f"{text[:57]}…"


def _of_version(entry: Entry) -> str:
    now = versions()
    other = [f"{name} {version}" for name, version in sorted(entry.versions.items()) if now.get(name) != version]
    return f" (kept with {', '.join(other)})" if other else ""
