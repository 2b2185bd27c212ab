"""Workers that die as a process can: with a signal, in the middle of a job."""

import os
import signal
from multiprocessing.connection import Connection

from airwarrant.replay.compare_jobs import Asked, Comparer

#: A job of this name kills whoever works on it.
LETHAL = "lethal.toml"


def serve(pipe: Connection, asked: Asked) -> None:
    """Work as any worker does, but for the job that kills."""
    with Comparer(asked) as comparer:
        while True:
            try:
                _, job, *_ = pipe.recv()
            except EOFError:
                return
            if job.name == LETHAL:
                os.kill(os.getpid(), signal.SIGKILL)
            pipe.send(comparer.compare(job))
