"""Proofs that a third party checks with ``check_proof.py`` and a root that the owner published."""

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from airwarrant.counted import counted
from airwarrant.errors import ArchiveError, Fault
from airwarrant.records import merkle
from airwarrant.records.archive import Archive

FORMAT = "airwarrant/proof/1"
SCRIPT = "check_proof.py"


@dataclass(frozen=True, slots=True)
class Root:
    """What an owner publishes: how many entries there are, and the root over their digests, hex."""

    size: int
    root: str


def root_of(archive: Archive, size: int | None = None) -> Root:
    """Return the root over all entries, or over the first `size`."""
    leaves = _leaves(archive, size)
    return Root(len(leaves), merkle.root(leaves).hex())


def prove(archive: Archive, number: int, size: int | None = None) -> dict[str, Any]:
    """Return the proof that an entry is one of the archive's first `size`, or of all.

    Raises
    ------
    ArchiveError
        If there is no such entry, or not as many.
    """
    entry = archive.entry(number)
    leaves = _leaves(archive, size)
    if number > len(leaves):
        found = f"entry {number} is not among the first {len(leaves)}"
        raise ArchiveError([Fault("no-entry", found, f"an entry from 1 to {len(leaves)}")])
    return {
        "format": FORMAT,
        "kind": "inclusion",
        "number": number,
        "size": len(leaves),
        "root": merkle.root(leaves).hex(),
        "path": [one.hex() for one in merkle.inclusion(leaves, number - 1)],
        "entry": entry.head,
    }


def prove_growth(archive: Archive, first: int, size: int | None = None) -> dict[str, Any]:
    """Return the proof that the archive of the `first` entries is the beginning of that of `size`, or of all."""
    leaves = _leaves(archive, size)
    if not 1 <= first <= len(leaves):
        raise ArchiveError(
            [
                Fault(
                    "no-entry",
                    f"the archive never had {counted(first, 'entry', 'entries')}",
                    f"an entry from 1 to {len(leaves)}",
                )
            ]
        )
    return {
        "format": FORMAT,
        "kind": "consistency",
        "first_size": first,
        "first_root": merkle.root(leaves[:first]).hex(),
        "size": len(leaves),
        "root": merkle.root(leaves).hex(),
        "path": [one.hex() for one in merkle.consistency(leaves, first)],
    }


def script() -> str:
    """The text of the script that checks a proof; it needs Python alone."""
    return (Path(__file__).with_name(SCRIPT)).read_text(encoding="utf-8")


def _leaves(archive: Archive, size: int | None) -> list[bytes]:
    leaves = merkle.leaf_hashes(archive.digests())
    if size is not None and not 0 < size <= len(leaves):
        raise ArchiveError(
            [Fault("no-entry", f"there are fewer entries than {size}", f"an entry from 1 to {len(leaves)}")]
        )
    return leaves if size is None else leaves[:size]
