"""What a replay has finished, written as it goes: after an interruption it goes on from there."""

import json
from collections.abc import Iterator
from dataclasses import asdict
from pathlib import Path
from typing import Any, TextIO

from airwarrant.errors import CallError, Fault
from airwarrant.replay.answer import answer_of
from airwarrant.replay.compare_jobs import Asked, Done
from airwarrant.replay.followed import Looser
from airwarrant.replay.layout import FORMAT
from airwarrant.replay.program import program
from airwarrant.replay.reach import Change
from airwarrant.whole_file import told_plainly, write_file

#: Bytes within which the first line of a journal ends.
_HEAD_MOST = 10_000


class Journal:
    """A file of finished jobs.

    The first line says of which program, policies and way of asking it is; a file of another is begun anew. Each further line is one
    job, by its name and the digest of its record. A last line that was cut short by the interruption is passed over.

    Parameters
    ----------
    path : Path
    asked : Asked
    """

    def __init__(self, path: Path, asked: Asked) -> None:
        self._path = path
        self._head = {
            "format": FORMAT,
            "version": program(),
            "a": asked.a.digest,
            "b": asked.b.digest,
            "everything": asked.everything,
        }
        self.done: dict[tuple[str, str], Done] = {}
        self._written: set[str] = set()
        self._file = self._open()

    def _open(self) -> TextIO:
        self._refuse_another()
        kept = list(self._kept())
        write_file(self._path, "".join(json.dumps(line) + "\n" for line in (self._head, *kept)).encode())
        with told_plainly(self._path):
            return self._path.open("a", encoding="utf-8")

    def _refuse_another(self) -> None:
        """A file that is no journal is nobody's to overwrite."""
        try:
            with self._path.open("rb") as file:
                first = file.readline(_HEAD_MOST)
        except OSError:
            return  # none is there, or it cannot be written either
        try:
            head = json.loads(first or "{}")
            ours = not first or str(head.get("format", "")).startswith(FORMAT.rpartition("/")[0])
        except (ValueError, AttributeError):
            ours = False
        if not ours:
            found = f"`{self._path}` is no journal of a replay"
            raise CallError([Fault("not-a-journal", found, "a file that a replay wrote, or one that is not there yet")])

    def _kept(self) -> Iterator[dict[str, Any]]:
        """Whole lines of a journal of the same head, as far as they are sound."""
        try:
            lines = self._path.read_text(encoding="utf-8").splitlines()
        except (OSError, UnicodeDecodeError):
            return
        changes: dict[str, tuple[Change, ...]] = {}
        for at, line in enumerate(lines):
            try:
                data = json.loads(line)
                if at == 0:
                    if data != self._head:
                        return
                    continue
                if "changes" in data:
                    changes[data["pair"]] = tuple(Change(**one) for one in data["changes"])
                    self._written.add(data["pair"])
                answer = answer_of(data["answer"])
                pair, hits = str(data["pair"]), tuple(map(int, data["hits"]))
                looser = tuple(Looser(str(what), str(ending)) for what, ending in data.get("looser", ()))
                self.done[answer.job, str(data["key"])] = Done(answer, pair, hits, changes.get(pair), looser)
            except (ValueError, KeyError, TypeError):
                return
            yield data

    def add(self, key: str, done: Done) -> None:
        """Write a finished job; one that failed is tried again the next time."""
        if done.answer.sort == "failed":
            return
        line: dict[str, Any] = {"key": key, "pair": done.pair, "hits": done.hits, "answer": done.answer.as_json()}
        if done.changes is not None and done.pair not in self._written:
            self._written.add(done.pair)
            line |= {"changes": [asdict(change) for change in done.changes], "looser": done.looser}
        self._file.write(json.dumps(line) + "\n")
        self._file.flush()

    def close(self, *, finished: bool) -> None:
        """Close the file; it is taken away when the replay is finished."""
        self._file.close()
        if finished:
            self._path.unlink(missing_ok=True)
