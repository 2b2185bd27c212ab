"""Pages printed to PDF while others are still being made: a long paper needs no longer than the rest together."""

import gc
import os
from collections.abc import Iterator
from concurrent.futures import Future, ProcessPoolExecutor
from contextlib import contextmanager
from multiprocessing import get_context

from airwarrant.papers.pdf import pdf


class Press:
    """Prints pages; in `processes` of its own, or at once in this one where that is 1 or less."""

    def __init__(self, pool: ProcessPoolExecutor | None) -> None:
        self._pool = pool

    def print(self, html: str) -> "Future[bytes]":
        """Hand a page over; the PDF is the future's result."""
        if self._pool is not None:
            return self._pool.submit(pdf, html)
        done: Future[bytes] = Future()
        done.set_result(pdf(html))
        return done


@contextmanager
def press(processes: int) -> Iterator[Press]:
    """Open a press. With more than one process the caller's program must be importable: see `multiprocessing`, spawn."""
    if processes <= 1:
        yield Press(None)
        return
    # Printing makes millions of small objects and no circle worth collecting: without the collector it takes a third less.
    with ProcessPoolExecutor(processes, mp_context=get_context("spawn"), initializer=gc.disable) as pool:
        yield Press(pool)


def cores() -> int:
    """How many processes print at once here."""
    return min(4, len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1)
