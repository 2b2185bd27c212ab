"""A job made ready to be written: its parts without what is personal, their digests, and what its head will say."""

import secrets
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial
from hashlib import sha256
from pathlib import Path
from typing import Any

from airwarrant.records.canonical import canonical
from airwarrant.records.head import head_text
from airwarrant.records.kept import Kept
from airwarrant.records.parts import bytes_part, document_part
from airwarrant.records.personal import Masked, mask, mask_result, personal_bytes
from airwarrant.records.versions import versions

Rows = dict[bytes, tuple[int, bytes]]
#: Bytes of the salt, which makes the digest of personal data unguessable.
_SALT = 32


@dataclass(frozen=True, slots=True)
class Prepared:
    """Rows of parts (digest -> form and content), salt and body of what is personal, and the head of a number and previous digest."""

    rows: Rows
    personal: tuple[bytes, bytes] | None
    head: Callable[[int, str], str]


def prepared(kept: Kept, known: Callable[[bytes], bool]) -> Prepared:
    """Make a job ready; of a policy that is `known` already only the digest is used.

    Raises
    ------
    RecordError
        If the record's or the test-out's file cannot be read.
    """
    rows: Rows = {}
    parts: dict[str, str] = {}
    taken: dict[str, Any] = {}

    def put(name: str, digest: bytes, found: Rows) -> None:
        parts[name] = digest.hex()
        rows.update(found)

    def put_text(name: str, text: bytes, file: str) -> None:
        masked: Masked = mask(text, file)
        put(name, *bytes_part(masked.text))
        if masked.taken:
            taken[name] = [list(one) for one in masked.taken]

    file = neutral_name(kept.record.id, kept.record.file)
    if file != kept.record.file:
        taken["file"] = kept.record.file
    put_text("record", kept.text, kept.record.file)
    policy = bytes.fromhex(kept.policy.content_digest)
    texts = dict(sorted(kept.policy.texts.items()))
    put("policy", policy, {} if known(policy) else document_part(texts, canonical(texts))[1])
    if kept.result is not None:
        result, told = mask_result({key: value for key, value in kept.result.items() if key != "inputs"}, file)
        put("result", *document_part(result))
        if told:
            taken["result"] = [[list(path), text] for path, text in told]
    if kept.reach is not None:
        put("reach", *bytes_part(kept.reach))
    if kept.test_out is not None:
        put_text("test-out", kept.test_out.text, kept.test_out.file)
        put("acceptance", *document_part(kept.test_out.acceptance))
    personal = None
    if taken:
        personal = (secrets.token_bytes(_SALT), personal_bytes(taken))
        parts["personal"] = sha256(b"".join(personal)).hexdigest()
    return Prepared(rows, personal, partial(_head, kept, parts))


def neutral_name(job: str, file: str) -> str:
    """Name that a record's file goes by in what cannot be erased: people name files after people."""
    return f"job-{job}{Path(file).suffix.lower()}"


def _head(kept: Kept, parts: Mapping[str, str], number: int, previous: str) -> str:
    record = kept.record
    said: dict[str, Any] = {"file": neutral_name(record.id, record.file)}
    if kept.test_out is not None:
        said |= {"of": kept.test_out.of, "test_out": f"test-out-{record.id}{Path(kept.test_out.file).suffix.lower()}"}
    return head_text(
        number=number,
        kind=kept.kind,
        kept_at=kept.kept_at,
        previous=previous,
        versions=versions(),
        job=record.id,
        market=kept.market,
        dates={name: day.isoformat() for name, day in record.dates.items() if day is not None},
        job_digest=record.digest,
        policy_digest=kept.policy.digest,
        parts=parts,
        overrides=record.overrides,
        said=said,
    )
