"""Numbers of things in words: what follows one of them stands in the singular."""

import pytest

from airwarrant.counted import counted, numbered


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ((0, "job"), "0 jobs"),
        ((1, "job"), "1 job"),
        ((1200, "job"), "1,200 jobs"),
        ((1, "entry is sound", "entries are sound"), "1 entry is sound"),
        ((2, "entry is sound", "entries are sound"), "2 entries are sound"),
    ],
)
def test_one_of_a_thing_and_several(given: tuple[int, str], said: str) -> None:
    assert counted(*given) == said


def test_things_by_their_numbers() -> None:
    assert numbered([3], "entry", "entries") == "entry 3"
    assert numbered([3, 4], "entry", "entries") == "entries 3, 4"
    assert numbered([3, 4], "page") == "pages 3, 4"
