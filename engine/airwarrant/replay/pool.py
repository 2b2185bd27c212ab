"""Worker processes that compare jobs, and what becomes of a job whose worker dies."""

from collections import deque
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass, field
from itertools import islice
from math import ceil
from multiprocessing import get_context
from multiprocessing.connection import Connection, wait
from multiprocessing.process import BaseProcess
from signal import SIG_IGN, SIGINT, signal
from typing import Any, Protocol

from airwarrant.errors import AirwarrantError
from airwarrant.replay.answer import Answer
from airwarrant.replay.compare_jobs import Asked, Comparer, Done, calm_collector
from airwarrant.replay.stored import Job
from airwarrant.replay.trees import Trees

#: Jobs that a worker has at hand, so that it never waits for the next.
_AT_HAND = 8
_LETHAL = "its worker died with it twice; it was left out"


class Runner(Protocol):
    """Where jobs are compared: in this process, in several, or on a cluster."""

    def compare(self, jobs: Iterator[Job]) -> Iterator[Done]:
        """Compare every job once, in whatever order; takes no more of `jobs` than it needs to keep busy."""
        ...

    def trees(self, asked: list[tuple[Job, Answer]]) -> Iterator[Trees]:
        """Return the reason trees of some jobs, in their order."""
        ...


class Here:
    """Compares in this process."""

    def __init__(self, asked: Asked) -> None:
        self._asked = asked

    def compare(self, jobs: Iterator[Job]) -> Iterator[Done]:
        with Comparer(self._asked) as comparer:
            for job in jobs:
                yield comparer.compare(job)

    def trees(self, asked: list[tuple[Job, Answer]]) -> Iterator[Trees]:
        with Comparer(self._asked) as comparer:
            for job, answer in asked:
                yield trees_told(comparer, job, answer)


@dataclass(slots=True)
class _Worker:
    process: BaseProcess
    pipe: Connection
    at_hand: deque[tuple[int, Any]] = field(default_factory=deque)
    #: works off one job that has killed a worker before, and nothing beside it
    alone: bool = False


class Pool:
    """Compares in several processes.

    A worker that dies, however it dies, takes one job with it: the oldest it had not answered. That job is tried once more by itself;
    if it kills again it is reported as failed. All others that the worker had at hand are given to another.

    Parameters
    ----------
    asked : Asked
    processes : int
    died : callable of (str, int or None)
        Told the name of the job, and the exit code, whenever a worker dies.
    """

    def __init__(
        self, asked: Asked, processes: int, died: Callable[[str, int | None], object] = lambda job, code: None
    ) -> None:
        self._asked = asked
        self._processes = max(1, processes)
        self._died = died
        #: what a worker process does with its pipe
        self.serve: Callable[[Connection, Asked], None] = serve
        # Started anew, not forked: a copy of a process with open files and threads is no clean start.
        self._context = get_context("spawn")

    def compare(self, jobs: Iterator[Job]) -> Iterator[Done]:
        for _, done in self._work((("compare", job), job.name) for job in jobs):
            yield done if isinstance(done, Done) else Done(Answer(str(done), "", "failed", why=_LETHAL))

    def trees(self, asked: list[tuple[Job, Answer]]) -> Iterator[Trees]:
        found = dict(self._work((("trees", job, answer), job.name) for job, answer in asked))
        for at in range(len(asked)):
            made = found[at]
            yield made if isinstance(made, Trees) else Trees(str(made), (), why=_LETHAL)

    def _work(self, tasks: Iterator[tuple[Any, str]]) -> Iterator[tuple[int, Any]]:
        """Give out tasks and yield (number, answer); a task that kills twice answers with its name."""
        waiting = enumerate(tasks)
        again: deque[tuple[int, Any]] = deque(islice(waiting, self._processes * _AT_HAND))
        alone: deque[tuple[int, Any]] = deque()
        # No more workers than have something to do; they get ready beside each other.
        workers = [self._start() for _ in range(min(self._processes, ceil(len(again) / _AT_HAND)))]
        open_ = bool(again)
        try:
            for worker in workers:
                self._say(worker, self._asked)
            while open_ or again or alone or any(worker.at_hand for worker in workers):
                if (open_ or again or alone) and len(workers) < self._processes:
                    workers.append(self._start())
                    self._say(workers[-1], self._asked)
                for worker in workers:
                    open_ = self._fill(worker, waiting, again, alone) and open_
                busy = {worker.pipe: worker for worker in workers if worker.at_hand}
                for ready in wait(list(busy)) if busy else ():
                    worker = next(one for pipe, one in busy.items() if pipe is ready)
                    try:
                        answer = worker.pipe.recv()
                    except (EOFError, OSError):
                        workers.remove(worker)
                        yield from self._buried(worker, again, alone)
                        continue
                    number, _ = worker.at_hand.popleft()
                    worker.alone = False
                    yield number, answer
        finally:
            for worker in workers:
                self._stop(worker)

    def _fill(
        self,
        worker: _Worker,
        waiting: Iterator[tuple[int, Any]],
        again: deque[tuple[int, Any]],
        alone: deque[tuple[int, Any]],
    ) -> bool:
        """Give a worker what it can have at hand; return whether there may be more to come."""
        while not worker.alone and len(worker.at_hand) < _AT_HAND:
            if alone:
                # A job that has killed waits until this worker has nothing else, and then has it to itself.
                if not worker.at_hand:
                    worker.alone = True
                    self._give(worker, alone.popleft())
                break
            task = again.popleft() if again else next(waiting, None)
            if task is None:
                return False
            self._give(worker, task)
        return True

    def _buried(
        self, worker: _Worker, again: deque[tuple[int, Any]], alone: deque[tuple[int, Any]]
    ) -> Iterator[tuple[int, Any]]:
        self._stop(worker)
        number, (task, name) = worker.at_hand.popleft()
        self._died(name, worker.process.exitcode)
        if worker.alone:
            yield number, name
        else:
            alone.append((number, (task, name)))
        again.extend(worker.at_hand)

    def _give(self, worker: _Worker, task: tuple[int, Any]) -> None:
        worker.at_hand.append(task)
        self._say(worker, task[1][0])

    @staticmethod
    def _say(worker: _Worker, what: object) -> None:
        # A pipe that is broken tells so when it is read.
        with suppress(OSError):
            worker.pipe.send(what)

    def _start(self) -> _Worker:
        mine, its = self._context.Pipe()
        process = self._context.Process(target=_begin, args=(its, self.serve), daemon=True)
        process.start()
        its.close()
        return _Worker(process, mine)

    def _stop(self, worker: _Worker) -> None:
        worker.pipe.close()
        worker.process.join(timeout=2.0)
        if worker.process.is_alive():
            worker.process.kill()
            worker.process.join()


def _begin(pipe: Connection, serve: Callable[[Connection, Asked], None]) -> None:
    """Start with what is asked; it comes through the pipe, so that nobody waits for it until the next worker has been started."""
    try:
        asked = pipe.recv()
    except EOFError:
        return
    serve(pipe, asked)


def serve(pipe: Connection, asked: Asked) -> None:
    """What a worker process does until its pipe is closed."""
    # An interruption is for the process that gave out the work; it closes the pipe.
    signal(SIGINT, SIG_IGN)
    with Comparer(asked) as comparer:
        calm_collector()
        while True:
            try:
                what, job, *rest = pipe.recv()
            except EOFError:
                return
            made = trees_told(comparer, job, *rest) if what == "trees" else _compared(comparer, job)
            try:
                pipe.send(made)
            except OSError:
                return


def _compared(comparer: Comparer, job: Job) -> Done:
    try:
        return comparer.compare(job)
    except Exception as error:  # noqa: BLE001 whatever it is, it is told with the job's name and not on the worker's screen
        return Done(Answer(job.name, job.market, "failed", why=fault_of_the_program(error)))


def trees_told(comparer: Comparer, job: Job, answer: Answer) -> Trees:
    """The reason trees of a job, or why they cannot be made: one that has none takes nothing else with it."""
    try:
        return comparer.trees(job, answer)
    except AirwarrantError as error:
        return Trees(job.name, (), why=str(error).splitlines()[0])
    except Exception as error:  # noqa: BLE001 whatever it is, it is told with the job's name and not on the worker's screen
        return Trees(job.name, (), why=fault_of_the_program(error))


def fault_of_the_program(error: BaseException | None) -> str:
    """What is said of a job on which the program failed."""
    return f"a fault of the program: {type(error).__name__}: {error}"
