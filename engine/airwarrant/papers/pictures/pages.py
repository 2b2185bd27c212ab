"""Long lists cut into pictures of a readable height."""

from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import TypeVar

from airwarrant.papers.pictures.shown import Frame

T = TypeVar("T")
#: (page, pages) -> what the title of one of several pictures ends in, such as "1 of 3".
PageWords = Callable[[int, int], str]


def pages(frame: Frame, items: Sequence[T], most: int, words: PageWords) -> tuple[tuple[Frame, Sequence[T]], ...]:
    """Return each picture's frame and its items, about equally many on each; none for no items.

    Raises
    ------
    ValueError
        If `most` is below one.
    """
    if most < 1:
        raise ValueError(f"picture {frame.prefix}: {most} rows a picture: 1 or more")
    count = -(-len(items) // most)
    if count <= 1:
        return ((frame, items),) if items else ()
    cuts = [len(items) * page // count for page in range(count + 1)]
    return tuple(
        (
            replace(frame, prefix=f"{frame.prefix}-{page + 1}", title=f"{frame.title} {words(page + 1, count)}"),
            items[cuts[page] : cuts[page + 1]],
        )
        for page in range(count)
    )
