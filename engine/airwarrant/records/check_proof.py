"""Check a proof that a job record stands in an archive. Needs Python 3.9 or newer and nothing else.

    python check_proof.py PROOF.json --root HEX [--size N] [--part NAME=FILE]
    python check_proof.py PROOF.json --root HEX --first-root HEX [--size N] [--first-size N]

PROOF.json comes from `airwarrant audit prove`. The root is 64 hexadecimal digits that the owner of the archive published, with the
number of entries it is of; do not take it from the proof itself. With --part the file of a part, such as record=job.toml, is held to
the digest in the entry. A proof of consistency shows that an archive only grew: its older root is given with --first-root.

The tree is that of RFC 9162 (Certificate Transparency 2.0), section 2.1, over the SHA-256 of each entry's text.
Exit status: 0 it holds, 1 it does not, 2 the call or the file is wrong.
"""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Sequence
from hashlib import sha256
from typing import Any


def leaf(head: str) -> bytes:
    """Hash of the leaf of an entry's text."""
    return sha256(b"\x00" + sha256(head.encode("utf-8")).digest()).digest()


def node(left: bytes, right: bytes) -> bytes:
    """Hash of two nodes."""
    return sha256(b"\x01" + left + right).digest()


def root_of_inclusion(index: int, size: int, start: bytes, path: Sequence[bytes]) -> bytes | None:
    """Root that a leaf at `index` of `size` leads to (RFC 9162, section 2.1.3.2), or None."""
    if index >= size:
        return None
    number, last, found = index, size - 1, start
    for one in path:
        if last == 0:
            return None
        if number & 1 or number == last:
            found = node(one, found)
            while not number & 1 and number:
                number, last = number >> 1, last >> 1
        else:
            found = node(found, one)
        number, last = number >> 1, last >> 1
    return found if last == 0 else None


def roots_of_consistency(
    first: int, second: int, first_root: bytes, path: Sequence[bytes]
) -> tuple[bytes, bytes] | None:
    """The two roots that a path of consistency leads to (RFC 9162, section 2.1.4.2), or None."""
    if not 0 < first <= second:
        return None
    if first == second:
        return (first_root, first_root) if not path else None
    if not first & (first - 1):
        path = [first_root, *path]
    if not path:
        return None
    number, last = first - 1, second - 1
    while number & 1:
        number, last = number >> 1, last >> 1
    older = newer = path[0]
    for one in path[1:]:
        if last == 0:
            return None
        if number & 1 or number == last:
            older, newer = node(one, older), node(one, newer)
            while not number & 1 and number:
                number, last = number >> 1, last >> 1
        else:
            newer = node(newer, one)
        number, last = number >> 1, last >> 1
    return (older, newer) if last == 0 else None


def check(
    proof: dict[str, Any],
    root: str,
    size: int | None = None,
    first_root: str | None = None,
    first_size: int | None = None,
    parts: Sequence[tuple[str, bytes]] = (),
) -> str:
    """Return what is wrong with a proof, or an empty text."""
    if proof.get("format") != "airwarrant/proof/1":
        return "this is no proof of this format"
    path = [bytes.fromhex(one) for one in proof["path"]]
    if size is not None and proof["size"] != size:
        return f"the proof is of entries up to {proof['size']}, the root of those up to {size}"
    if proof["kind"] == "consistency":
        if first_root is None:
            return "this proof needs the older root, --first-root"
        if first_size is not None and proof["first_size"] != first_size:
            return f"the proof starts from entries up to {proof['first_size']}, the older root is of those up to {first_size}"
        found = roots_of_consistency(proof["first_size"], proof["size"], bytes.fromhex(first_root), path)
        return (
            "" if found == (bytes.fromhex(first_root), bytes.fromhex(root)) else "the path does not lead to the roots"
        )
    head = json.loads(proof["entry"])
    if head["number"] != proof["number"]:
        return "the entry has another number"
    if root_of_inclusion(proof["number"] - 1, proof["size"], leaf(proof["entry"]), path) != bytes.fromhex(root):
        return "the path does not lead to the root"
    for name, content in parts:
        if head["parts"].get(name) != sha256(content).hexdigest():
            return f"the file is not the part `{name}` of the entry"
    return ""


def main() -> int:
    """Check the proof that the command line names."""
    words = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    words.add_argument("proof")
    words.add_argument("--root", required=True)
    words.add_argument("--size", type=int)
    words.add_argument("--first-root")
    words.add_argument("--first-size", type=int)
    words.add_argument("--part", action="append", default=[], metavar="NAME=FILE")
    given = words.parse_args()
    try:
        with open(given.proof, encoding="utf-8") as file:
            proof = json.load(file)
        parts = []
        for one in given.part:
            name, _, path = one.partition("=")
            with open(path, "rb") as held:
                parts.append((name, held.read()))
        wrong = check(proof, given.root, given.size, given.first_root, given.first_size, parts)
    except (OSError, ValueError, KeyError, TypeError, AttributeError, RecursionError) as error:
        print(f"cannot be checked: {type(error).__name__}: {error}", file=sys.stderr)
        return 2
    if wrong:
        print(f"does not hold: {wrong}")
        return 1
    if proof["kind"] == "consistency":
        print(
            f"holds: the archive up to entry {proof['first_size']} is the beginning of that up to entry {proof['size']}"
        )
    else:
        head = json.loads(proof["entry"])
        print(
            f"holds: entry {head['number']} of {proof['size']}, {head['kind']} of job {head['job']}, kept {head['kept_at']}"
        )
    return 0


if __name__ == "__main__":
    sys.exit(main())
