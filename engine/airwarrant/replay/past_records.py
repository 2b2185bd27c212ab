"""Reading a record of which only the answer is wanted: what it says, and not where in its file each part stands."""

from contextlib import suppress

from airwarrant.errors import RecordError
from airwarrant.job.reading_records import parse_job, record_of
from airwarrant.job.record import JobRecord
from airwarrant.source.document import Document
from airwarrant.source.syntax import Refused
from airwarrant.source.toml_text import plain_data


def read_past(text: bytes, file: str) -> JobRecord:
    """Read a record; every place in it is the beginning of its file.

    What it says is held to all that `parse_job` holds it to; a text with any fault is read by that, so that the fault has its place.

    Raises
    ------
    RecordError
        With every fault found.
    """
    if file.lower().endswith(".toml"):
        with suppress(Refused, RecordError, RecursionError):
            return record_of(Document(file, plain_data(text, file), {}, {}))
    return parse_job(text, file)
