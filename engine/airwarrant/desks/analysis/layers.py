"""Layers that hold nothing on a day: all of their folders begin later, or all of their files wait for a review."""

from collections.abc import Iterator, Mapping
from datetime import date

from airwarrant.errors import Fault
from airwarrant.policy.files import SourceFile, Sources
from airwarrant.source.document import Document
from airwarrant.source.place import Place


def layers_out_of_date(sources: Sources, on: date, read: Mapping[SourceFile, Document]) -> Iterator[Fault]:
    """Yield a warning for each layer of a market that has not begun on a day, or whose every file is overdue for review.

    `sources` holds the files of every date, `read` those that could be read.
    """
    by_layer: dict[str, list[SourceFile]] = {}
    for file in sources.files:
        by_layer.setdefault(file.layer, []).append(file)
    for layer, files in by_layer.items():
        first = min(file.effective for file in files)
        if first > on.isoformat():
            found = f"layer `{layer}` holds nothing before {first}: on {on} a job of the market cannot be evaluated"
            yield Fault("future-layer", found, "a folder with an earlier date", Place(files[0].file, 1, 1), layer)
            continue
        reviews = [_review(file, read) for file in files if file.effective <= on.isoformat()]
        if reviews and all(by is not None and by < on for by, _ in reviews):
            last, place = max((by, place) for by, place in reviews if by is not None)
            found = f"every file of layer `{layer}` should have been reviewed, the last by {last}"
            yield Fault("expired-layer", found, "a review, or a newer folder", place, layer)


def _review(file: SourceFile, read: Mapping[SourceFile, Document]) -> tuple[date | None, Place]:
    if file not in read:  # told of where the file is composed
        return None, Place(file.file, 1, 1)
    by = read[file].data.get("policy", {}).get("review_by")
    return (by if isinstance(by, date) else None), read[file].place(("policy", "review_by"))
