"""Facts of many evaluations in one file: written as they are made, mapped into memory when they are asked for."""

from pathlib import Path
from types import TracebackType
from typing import IO, Self

import numpy as np

from airwarrant.errors import CallError, Fault, unread

_MAGIC = b"airwarrant/reach-file/1\n"
_KEY = 80


class KeptFacts:
    """A column file of (digest of a record, facts).

    Each entry is one fixed length, since facts of one policy are; facts of another policy or program are put in place of all that
    stands there. An entry that was cut short at the end is passed over.

    Parameters
    ----------
    path : Path
    """

    def __init__(self, path: Path) -> None:
        self._path = path
        self._size = 0
        self._stamp = b""
        self._at: dict[bytes, int] = {}
        #: entries that stand in the file, and records among those that were added since it was mapped
        self._count = 0
        self._added: set[bytes] = set()
        self._map: np.memmap | None = None
        self._new: IO[bytes] | None = None
        self._read()

    def _read(self) -> None:
        try:
            with self._path.open("rb") as file:
                if file.read(len(_MAGIC)) != _MAGIC:
                    found = f"`{self._path}` is no file of facts"
                    raise CallError(
                        [Fault("not-facts", found, "a file that a replay wrote, or one that is not there yet")]
                    )
                self._size = int.from_bytes(file.read(4), "little")
                self._stamp = file.read(32)
        except FileNotFoundError:
            return
        except OSError as error:
            found = f"`{self._path}` cannot be read: {unread(error)}"
            raise CallError([Fault("cannot-read", found, "a file that can be read")]) from error
        start = len(_MAGIC) + 36
        entry = _KEY + self._size
        count = max(0, self._path.stat().st_size - start) // entry
        if not self._size or not count:
            return
        self._count = count
        dtype = np.dtype([("key", f"S{_KEY}"), ("facts", f"V{self._size}")])
        self._map = np.memmap(self._path, dtype, "r", start, (count,))
        self._at = {key: at for at, key in enumerate(self._map["key"].tolist())}

    def __len__(self) -> int:
        return len(self._at)

    def get(self, key: str) -> bytes | None:
        """Return the facts of a record, or None."""
        at = self._at.get(key.encode())
        return None if at is None or self._map is None else self._map["facts"][at].tobytes()

    def add(self, key: str, facts: bytes) -> None:
        """Keep the facts of a record."""
        named = key.encode()
        if not key or (facts[:32] == self._stamp and (named in self._at or named in self._added)):
            return
        file = self._file(facts)
        file.write(named.ljust(_KEY, b"\0") + facts)
        self._added.add(named)

    def _file(self, facts: bytes) -> IO[bytes]:
        if self._new is None or facts[:32] != self._stamp:
            fresh = facts[:32] != self._stamp or not self._count
            self._close()
            if fresh:
                self._map = None
            try:
                self._new = self._path.open("wb" if fresh else "r+b")
            except OSError as error:
                found = f"`{self._path}` cannot be written: {error.strerror}"
                raise CallError([Fault("cannot-write", found, "a file in a folder that is there")]) from error
            if fresh:
                self._stamp, self._size, self._at = facts[:32], len(facts), {}
                self._count = 0
                self._added.clear()
                self._new.write(_MAGIC + len(facts).to_bytes(4, "little") + self._stamp)
            else:
                self._new.seek(len(_MAGIC) + 36 + self._count * (_KEY + self._size))
                self._new.truncate()
        return self._new

    def _close(self) -> None:
        if self._new is not None:
            self._new.close()
            self._new = None

    def close(self) -> None:
        """Write what is left and let go of the file."""
        self._close()
        self._map = None

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()
