"""The archive's tree of digests against published vectors of Certificate Transparency.

Source: the test vectors of the Certificate Transparency reference implementation (eight leaves, their roots, paths of inclusion and of
consistency; ``testonly/constants.go`` of the public Merkle library of that project repeats them), read in public copies that agree with
each other. The tree is that of RFC 9162, section 2.1, which is the same as that of RFC 6962.
"""

from hashlib import sha256

import pytest

from airwarrant.records import check_proof, merkle

LEAVES = [
    bytes.fromhex(one)
    for one in ("", "00", "10", "2021", "3031", "40414243", "5051525354555657", "606162636465666768696a6b6c6d6e6f")
]
#: Root of the first n leaves, from n = 0.
ROOTS = (
    "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855",
    "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
    "fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125",
    "aeb6bcfe274b70a14fb067a5e5578264db0fa9b51af5e0ba159158f329e06e77",
    "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
    "4e3bbb1f7b478dcfe71fb631631519a3bca12c9aefca1612bfce4c13a86264d4",
    "76e67dadbcdf1e10e1b74ddc608abd2f98dfb16fbce75277b5232a127f2087ef",
    "ddb89be403809e325750d3d263cd78929c2942b7942a34b77e122c9594a74c8c",
    "5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328",
)
#: (leaf from 0, size) -> path
INCLUSION = {
    (0, 8): (
        "96a296d224f285c67bee93c30f8a309157f0daa35dc5b87e410b78630a09cfc7",
        "5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e",
        "6b47aaf29ee3c2af9af889bc1fb9254dabd31177f16232dd6aab035ca39bf6e4",
    ),
    (5, 8): (
        "bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b",
        "ca854ea128ed050b41b35ffc1b87b8eb2bde461e9e3b5596ece6b9d5975a0ae0",
        "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
    ),
}
#: (older size, size) -> path
CONSISTENCY = {
    (1, 8): (
        "96a296d224f285c67bee93c30f8a309157f0daa35dc5b87e410b78630a09cfc7",
        "5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e",
        "6b47aaf29ee3c2af9af889bc1fb9254dabd31177f16232dd6aab035ca39bf6e4",
    ),
    (6, 8): (
        "0ebc5d3437fbe2db158b9f126a1d118e308181031d0a949f8dededebc558ef6a",
        "ca854ea128ed050b41b35ffc1b87b8eb2bde461e9e3b5596ece6b9d5975a0ae0",
        "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
    ),
    (2, 5): (
        "5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e",
        "bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b",
    ),
}


@pytest.mark.parametrize("size", range(9))
def test_roots_are_the_published_ones(size: int) -> None:
    assert merkle.root(merkle.leaf_hashes(LEAVES[:size])).hex() == ROOTS[size]


@pytest.mark.parametrize(("index", "size"), INCLUSION)
def test_paths_of_inclusion_are_the_published_ones(index: int, size: int) -> None:
    path = merkle.inclusion(merkle.leaf_hashes(LEAVES[:size]), index)
    assert tuple(one.hex() for one in path) == INCLUSION[index, size]


@pytest.mark.parametrize(("first", "size"), CONSISTENCY)
def test_paths_of_consistency_are_the_published_ones(first: int, size: int) -> None:
    path = merkle.consistency(merkle.leaf_hashes(LEAVES[:size]), first)
    assert tuple(one.hex() for one in path) == CONSISTENCY[first, size]


def _by_definition(leaves: list[bytes]) -> bytes:
    """The hash of a tree as RFC 9162, section 2.1.1 defines it, word for word."""
    if not leaves:
        return sha256().digest()
    if len(leaves) == 1:
        return sha256(b"\x00" + leaves[0]).digest()
    k = 1
    while k * 2 < len(leaves):
        k *= 2
    return sha256(b"\x01" + _by_definition(leaves[:k]) + _by_definition(leaves[k:])).digest()


@pytest.mark.parametrize("size", range(1, 34))
def test_every_path_leads_to_the_root_by_the_check_of_the_standard_and_no_other_does(size: int) -> None:
    entries = [bytes([number]) * (number % 5) for number in range(size)]
    leaves = merkle.leaf_hashes(entries)
    root = _by_definition(entries)
    assert merkle.root(leaves) == root
    for index in range(size):
        path = merkle.inclusion(leaves, index)
        assert check_proof.root_of_inclusion(index, size, leaves[index], path) == root
        for other in range(size + 1):
            if other != index and leaves[min(other, size - 1)] != leaves[index]:
                assert check_proof.root_of_inclusion(other, size, leaves[index], path) != root
        if path:
            changed = [bytes([path[0][0] ^ 1]) + path[0][1:], *path[1:]]
            assert check_proof.root_of_inclusion(index, size, leaves[index], changed) != root
    for first in range(1, size + 1):
        older = _by_definition(entries[:first])
        path = merkle.consistency(leaves, first)
        assert check_proof.roots_of_consistency(first, size, older, path) == (older, root)
        wrong = sha256(older).digest()
        assert check_proof.roots_of_consistency(first, size, wrong, path) != (wrong, root)
