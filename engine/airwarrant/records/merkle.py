"""A Merkle tree over the digests of entries: its root, paths of inclusion and of consistency (RFC 9162, section 2.1).

With ``D[n]`` the first n leaves and ``k`` the largest power of two smaller than n::

    MTH({})     = SHA-256()
    MTH({d})    = SHA-256(0x00 || d)
    MTH(D[n])   = SHA-256(0x01 || MTH(D[0:k]) || MTH(D[k:n]))

References
----------
Laurie, B., Messeri, E., Stradling, R. (2021), Certificate Transparency Version 2.0, RFC 9162, sections 2.1.1, 2.1.3.1 and 2.1.4.1.
"""

from collections.abc import Iterable, Sequence
from hashlib import sha256


def leaf_hashes(entries: Iterable[bytes]) -> list[bytes]:
    """Hash of each leaf."""
    return [sha256(b"\x00" + entry).digest() for entry in entries]


def root(leaves: Sequence[bytes]) -> bytes:
    """Root of a tree of these leaf hashes."""
    if not leaves:
        return sha256().digest()
    row = list(leaves)
    # Pairing from the left and carrying an odd last one up splits where the largest power of two does.
    while len(row) > 1:
        paired = [_node(row[i], row[i + 1]) for i in range(0, len(row) - 1, 2)]
        row = [*paired, row[-1]] if len(row) % 2 else paired
    return row[0]


def inclusion(leaves: Sequence[bytes], index: int) -> list[bytes]:
    """Path from a leaf, counted from 0, to the root: the sibling on each level, lowest first.

    Raises
    ------
    IndexError
        If there is no such leaf.
    """
    if not 0 <= index < len(leaves):
        raise IndexError(index)
    low, high = 0, len(leaves)
    path: list[bytes] = []
    while high - low > 1:
        split = low + _split(high - low)
        if index < split:
            path.append(root(leaves[split:high]))
            high = split
        else:
            path.append(root(leaves[low:split]))
            low = split
    return path[::-1]


def consistency(leaves: Sequence[bytes], first: int) -> list[bytes]:
    """Path that shows that the tree of the `first` leaves is the beginning of the whole tree.

    Raises
    ------
    IndexError
        If `first` is not 1 to the number of leaves.
    """
    if not 1 <= first <= len(leaves):
        raise IndexError(first)
    low, high, whole = 0, len(leaves), True
    path: list[bytes] = []
    while first - low < high - low:
        split = low + _split(high - low)
        if first <= split:
            path.append(root(leaves[split:high]))
            high = split
        else:
            path.append(root(leaves[low:split]))
            low, whole = split, False
    return path[::-1] if whole else [root(leaves[low:high]), *path[::-1]]


def _node(left: bytes, right: bytes) -> bytes:
    return sha256(b"\x01" + left + right).digest()


def _split(count: int) -> int:
    """Largest power of two smaller than `count`."""
    return 1 << (count - 1).bit_length() - 1
