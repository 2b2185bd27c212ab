"""Numbers of things in words: one job, several jobs."""

from collections.abc import Iterable


def counted(count: int, one: str, several: str = "") -> str:
    """``1 job``, ``1,200 jobs``; without `several` it is `one` with an s. What follows may stand in both: ``case says``, ``cases say``."""
    return f"{count:,} {one if count == 1 else several or f'{one}s'}"


def numbered(numbers: Iterable[int], one: str, several: str = "") -> str:
    """``entry 3``, ``entries 1, 4``: things by their numbers; without `several` they are `one` with an s."""
    held = [str(number) for number in numbers]
    return f"{one if len(held) == 1 else several or f'{one}s'} {', '.join(held)}"
