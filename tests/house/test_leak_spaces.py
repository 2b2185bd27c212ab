"""A side's leak that nobody found sits in the space its own ducts run through."""

from typing import Any

import pytest
from house_of import data, record

from airwarrant.house.leaks import leaks_of


def unfound(back: str | None, ahead: str | None) -> dict[str, Any]:
    """The roof unit whose leaks nobody found, its ducts in these spaces."""
    plain = data("1042")
    del plain["leak"], plain["visit"][0]["leak"]
    for name, space in (("return_path_space", back), ("supply_path_space", ahead)):
        plain["house"].pop(name, None)
        if space:
            plain["house"][name] = space
    return plain


@pytest.mark.parametrize(
    ("back", "ahead", "spaces"),
    [
        ("closet", "attic", ("closet", "attic")),
        ("closet", None, ("closet", "closet")),
        (None, "crawl", ("attic", "crawl")),
    ],
)
def test_a_leak_that_nobody_found_is_where_its_own_ducts_run(
    back: str | None, ahead: str | None, spaces: tuple[str, str]
) -> None:
    job = record(unfound(back, ahead))
    assert tuple(leaks_of(job, side)[0].space for side in ("return", "supply")) == spaces
