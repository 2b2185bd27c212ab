"""The record and the policy that a result was made from: carried inside it, or in the file beside it; held to its digests."""

import json
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path, PurePosixPath
from tempfile import TemporaryDirectory
from typing import Any

from airwarrant.desks.policy_texts import lay_out
from airwarrant.errors import CallError, Fault
from airwarrant.job.reading_records import job_document, record_of
from airwarrant.job.record import JobRecord
from airwarrant.result.serial import MOST_BYTES
from airwarrant.source.document import Document

_AGAIN = "Make the result again with `run --out` or `run --with-inputs`."


@dataclass(frozen=True, slots=True)
class MadeFrom:
    """What a result was made from; `policy` maps the name of each policy file to its text, `text` is the record's file."""

    document: Document
    record: JobRecord
    market: str
    policy: Mapping[str, str]
    text: bytes = b""


def made_from(result: Mapping[str, Any], path: Path) -> MadeFrom:
    """Return the record and the policy of a result.

    Parameters
    ----------
    result : mapping
        The result document.
    path : Path
        Its file; what it was made from may stand beside it as ``<name>.inputs.json``.

    Raises
    ------
    CallError
        If they are neither inside nor beside it, are damaged, or the record is not the one of the result's digest.
    """
    held = result.get("inputs")
    name = path.name
    if held is None:
        beside = path.with_name(f"{path.stem}.inputs.json")
        name, held = beside.name, _read(beside, path)
    try:
        record, market, policy = held["record"], str(held["market"]), dict(held["policy"])
        text, file = str(record["text"]), str(record["file"])
    except (KeyError, TypeError, ValueError) as error:
        found = f"`{name}` does not hold a record, a market and a policy"
        raise CallError([Fault("damaged-inputs", found, "what the run wrote", advice=_AGAIN)]) from error
    document = job_document(text.encode(), file)
    made = record_of(document)
    if made.digest != result["digests"]["job"]:
        found = f"the record in `{name}` is not the one this result was made from, or has changed since"
        raise CallError([Fault("record-changed", found, "the record as it was", advice=_AGAIN)])
    return MadeFrom(document, made, market, policy, text.encode())


@contextmanager
def policy_folders(made: MadeFrom, given: Sequence[Path] = ()) -> Iterator[Sequence[Path]]:
    """Give policy folders that compose the policy of the result: those `given`, else what the result carries, written for a while."""
    if given:
        yield given
        return
    for name, text in made.policy.items():
        plain = PurePosixPath(name)
        if plain.is_absolute() or ".." in plain.parts or "\\" in name or plain.suffix != ".toml":
            raise CallError([Fault("damaged-inputs", f"`{name}` is no name of a policy file", advice=_AGAIN)])
        if not isinstance(text, str):
            raise CallError([Fault("damaged-inputs", f"`{name}` holds no text", advice=_AGAIN)])
    with TemporaryDirectory(prefix="airwarrant-") as folder:
        lay_out(Path(folder), made.policy)
        yield (Path(folder),)


def same_policy(result: Mapping[str, Any], digest: str) -> None:
    """Raise `CallError` if a composed policy is not the one of the result."""
    if digest != result["digests"]["policy"]:
        found = "the policy is not the one this result was made from, or has changed since"
        raise CallError([Fault("policy-changed", found, "the policy as it was", advice=_AGAIN)])


def _read(beside: Path, result: Path) -> Any:
    try:
        with beside.open("rb") as file:
            data = file.read(MOST_BYTES + 1)
    except OSError as error:
        found = f"record and policy are neither in `{result.name}` nor beside it as `{beside.name}`"
        raise CallError([Fault("no-inputs", found, "what it was made from", advice=_AGAIN)]) from error
    if len(data) > MOST_BYTES:
        raise CallError([Fault("too-large", f"`{beside.name}` is too large", f"at most {MOST_BYTES:,} bytes")])
    try:
        return json.loads(data)
    except (ValueError, RecursionError) as error:
        raise CallError([Fault("damaged-inputs", f"`{beside.name}` is no JSON", advice=_AGAIN)]) from error
