"""Reading a job record from a TOML or JSON file."""

from pathlib import Path

from pydantic import ValidationError

from airwarrant.errors import Fault, RecordError, unread
from airwarrant.job.building import build
from airwarrant.job.crosschecks import cross_faults
from airwarrant.job.record import JobRecord
from airwarrant.job.shape import SYSTEMS, job_model
from airwarrant.job.shape_faults import head, shape_faults
from airwarrant.source.document import Document, read_json, read_toml
from airwarrant.source.syntax import MOST_BYTES

_READERS = {".toml": read_toml, ".json": read_json}


def read_job(path: Path) -> JobRecord:
    """Read a record from a file; places and faults name the file without its folder.

    Raises
    ------
    RecordError
        With every fault found, or if the file cannot be read.
    """
    return parse_job(read_text(path), path.name)


def read_text(path: Path) -> bytes:
    """Read the text of a record's or a test-out's file, as much as shows that it is too large; raise `RecordError` if it cannot be."""
    try:
        with path.open("rb") as file:
            return file.read(MOST_BYTES + 16)
    except OSError as error:
        found = f"`{path.name}` cannot be read: {unread(error)}"
        raise RecordError([Fault("cannot-read", found, "a TOML or JSON file")]) from error


def parse_job(text: bytes, file: str) -> JobRecord:
    """Read a record from a text; the ending of `file` says whether it is TOML or JSON.

    Raises
    ------
    RecordError
        With every fault found.
    """
    return record_of(job_document(text, file))


def job_document(text: bytes, file: str) -> Document:
    """Read the text of a record without looking at what it says; raises as `parse_job` does."""
    reader = _READERS.get(Path(file).suffix.lower())
    if reader is None:
        raise RecordError([Fault("unknown-format", f"the name `{file}`", "a name that ends in .toml or .json")])
    return reader(text, file, error=RecordError)


def record_of(document: Document) -> JobRecord:
    """Make a record of a text that was read; raises as `parse_job` does."""
    units = head(document.data, "units")
    known = units in SYSTEMS
    system = units if known else SYSTEMS[0]
    faults = list(cross_faults(document))
    try:
        shaped = job_model(system).model_validate(document.data)
    except ValidationError as error:
        raise RecordError([*faults, *shape_faults(error, document, system, ranges=known)]) from None
    if faults:
        raise RecordError(faults)
    return build(shaped.model_dump(exclude_unset=True), document)
