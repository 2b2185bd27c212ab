"""Comparing jobs on a dask cluster: the same work as in a pool of processes, on as many machines as its scheduler knows.

Whoever reaches a dask scheduler can run programs on its workers; it belongs on a network that is trusted.
"""

from collections.abc import Iterator, Sequence
from contextlib import suppress
from importlib import import_module
from itertools import islice
from threading import Lock
from typing import Any

from airwarrant.errors import CallError, Fault
from airwarrant.replay.answer import Answer
from airwarrant.replay.compare_jobs import Asked, Comparer, Done, calm_collector
from airwarrant.replay.pool import fault_of_the_program, trees_told
from airwarrant.replay.program import program
from airwarrant.replay.stored import Job
from airwarrant.replay.trees import Trees

#: Jobs of one task, and tasks on the way for each thread of the cluster.
_BATCH, _AHEAD = 16, 3
_WAIT = "10s"
_LETHAL = "the workers died that had it; it was left out"


class Cluster:
    """Compares on the cluster of a dask scheduler.

    Parameters
    ----------
    asked : Asked
        Both policies travel as texts.
    address : str
        Of the scheduler, such as ``tcp://10.0.0.5:8786``.

    Raises
    ------
    CallError
        ``no-cluster``: the extra is not installed, nobody answers at the address, or its workers run another program.
    """

    def __init__(self, asked: Asked, address: str) -> None:
        try:
            distributed = import_module("distributed")
        except ImportError as error:
            advice = "Install it: pip install 'airwarrant[cluster]'."
            raise CallError([Fault("no-cluster", "the extra `cluster` is not installed", advice=advice)]) from error
        try:
            self._client: Any = distributed.Client(address, timeout=_WAIT, set_as_default=False)
        except (OSError, ValueError) as error:
            found = f"no dask scheduler answers at `{address}`"
            advice = "Start one with `dask scheduler`, and workers with `dask worker ADDRESS`."
            raise CallError([Fault("no-cluster", found, "such as tcp://10.0.0.5:8786", advice=advice)]) from error
        others = set(self._client.run(program).values()) - {program()}
        if others or not self._client.nthreads():
            self._client.close()
            found = "its workers run another airwarrant" if others else "the scheduler has no worker"
            raise CallError([Fault("no-cluster", f"{found}: `{address}`", "workers with this very program")])
        self._asked = asked
        self._name = ""
        self._begun = 0

    def _begin(self) -> None:
        """Let every worker begin afresh: what a pair of policies changes is told with the first job that it has of them."""
        self._end()
        self._begun += 1
        # Of this client alone: another that replays the same policies here has its own.
        self._name = f"airwarrant-{self._client.id}-{self._begun}"
        self._client.register_plugin(_plugin(self._asked, self._name))

    def _end(self) -> None:
        if self._name:
            self._client.unregister_worker_plugin(self._name)
            self._name = ""

    def compare(self, jobs: Iterator[Job]) -> Iterator[Done]:
        """Compare every job once; a batch whose workers died is tried job by job."""
        self._begin()
        batches = iter(lambda: list(islice(jobs, _BATCH)), [])
        held: dict[Any, Sequence[Job]] = {}
        with self._client.as_current():
            ready = import_module("distributed").as_completed(raise_errors=False)
        most = _AHEAD * sum(self._client.nthreads().values())

        def give(batch: Sequence[Job]) -> None:
            future = self._client.submit(_compare, self._name, batch, pure=False, retries=0)
            held[future] = batch
            ready.add(future)

        for first in islice(batches, most):
            give(first)
        while held:
            future = next(ready)
            batch = held.pop(future)
            if future.status == "finished":
                yield from future.result()
            elif len(batch) > 1:
                for job in batch:
                    give([job])
            else:
                yield Done(Answer(batch[0].name, batch[0].market, "failed", why=_why(future)))
            future.release()
            for more in islice(batches, max(0, most - len(held))):
                give(more)

    def trees(self, asked: list[tuple[Job, Answer]]) -> Iterator[Trees]:
        futures = [self._client.submit(_trees, self._name, job, answer, pure=False) for job, answer in asked]
        for (job, _), future in zip(asked, futures, strict=True):
            yield future.result() if future.exception() is None else Trees(job.name, (), why=_why(future))

    def close(self) -> None:
        """Leave the cluster."""
        with suppress(OSError):  # one that is gone holds nothing any more
            self._end()
        self._client.close()


def _why(future: Any) -> str:
    """Why a job has no answer: its workers died, or the program failed on it."""
    error = future.exception()
    return _LETHAL if type(error).__name__ == "KilledWorker" else fault_of_the_program(error)


def _plugin(asked: Asked, name: str) -> Any:
    base: Any = import_module("distributed").WorkerPlugin

    class Policies(base):  # type: ignore[misc]
        """Both policies, composed on the worker when the first job comes; an engine serves one thread at a time."""

        def __init__(self) -> None:
            self.name = name
            self.asked = asked

        def setup(self, worker: Any) -> None:
            self.lock = Lock()
            self.comparer: Comparer | None = None

        def teardown(self, worker: Any) -> None:
            with self.lock:  # a job that is under way is finished first
                if self.comparer is not None:
                    self.comparer.close()
                    self.comparer = None

        def there(self) -> Comparer:
            if self.comparer is None:
                self.comparer = Comparer(self.asked)
                calm_collector()
            return self.comparer

    return Policies()


def _compare(name: str, jobs: Sequence[Job]) -> list[Done]:
    held = import_module("distributed").get_worker().plugins[name]
    with held.lock:
        return [held.there().compare(job) for job in jobs]


def _trees(name: str, job: Job, answer: Answer) -> Trees:
    held = import_module("distributed").get_worker().plugins[name]
    with held.lock:
        return trees_told(held.there(), job, answer)
