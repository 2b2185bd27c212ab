"""Made jobs evaluated and kept, each with its test-out where it was built."""

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from types import TracebackType

from airwarrant.cli.keep import now
from airwarrant.desks.acceptance import acceptance
from airwarrant.job.reading_records import job_document, record_of
from airwarrant.job.test_out import with_test_out
from airwarrant.made_jobs.made import MadeJob
from airwarrant.policy.files import policy_texts
from airwarrant.records.archive import Archive
from airwarrant.records.kept import Kept, PolicyFiles, TestOutKept
from airwarrant.replay.facts import FactsMaker
from airwarrant.session import Session


class MadeArchive:
    """An archive under way, with one session and the texts of each policy it has met; a context manager."""

    def __init__(self, path: Path, folders: Sequence[Path]) -> None:
        self._folders = folders
        self._archive = Archive.open(path, write=True)
        self._session = Session(folders)
        self._policies: dict[str, PolicyFiles] = {}
        self._facts = FactsMaker()

    def __enter__(self) -> "MadeArchive":
        return self

    def __exit__(
        self, kind: type[BaseException] | None, value: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._session.close()
        self._facts.__exit__(kind, value, trace)
        self._archive.close()

    def keep(self, job: MadeJob) -> None:
        """Evaluate a job and keep it, then its test-out."""
        text = job.text.encode()
        document = job_document(text, job.file)
        record = record_of(document)
        result = self._session.evaluate(record)
        policy = self._session.evaluator(record).policy
        if policy.digest not in self._policies:
            texts = policy_texts(self._folders, record.market, record.dates)
            self._policies[policy.digest] = PolicyFiles(policy.digest, texts)
        reach = self._facts.of(policy, record)
        run = Kept(record, text, record.market, self._policies[policy.digest], now(), result, reach)
        entry = self._archive.keep(run)
        if job.test_out:
            tested = job.test_out.encode()
            built = with_test_out(document, tested, job.test_out_file)
            found = acceptance(result, self._session.evaluator(built).run(built))
            self._archive.keep(replace(run, test_out=TestOutKept(job.test_out_file, tested, found, entry.number)))
