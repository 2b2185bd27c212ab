"""The head of an entry: one canonical text that holds the digest of every part and of the entry before."""

import json
from collections.abc import Mapping
from hashlib import sha256
from typing import Any

from airwarrant.errors import ArchiveError, Fault
from airwarrant.job.record import Override
from airwarrant.records.canonical import canonical
from airwarrant.records.kept import KINDS, Entry

FORMAT = "airwarrant/entry/1"
_TEXTS = ("kind", "job", "market", "kept_at", "job_digest", "policy_digest", "previous")
_VERIFY = "`airwarrant audit verify` says what else is damaged."
_OVERRIDE = ("line", "decision", "reason", "by")


def head_text(
    *,
    number: int,
    kind: str,
    kept_at: str,
    previous: str,
    versions: Mapping[str, str],
    job: str = "",
    market: str = "",
    dates: Mapping[str, str] | None = None,
    job_digest: str = "",
    policy_digest: str = "",
    parts: Mapping[str, str] | None = None,
    overrides: tuple[Override, ...] = (),
    said: Mapping[str, Any] | None = None,
) -> str:
    """Return the head's text; see `Entry` for what each value is."""
    head = {
        "format": FORMAT,
        "number": number,
        "kind": kind,
        "job": job,
        "market": market,
        "dates": dict(dates or {}),
        "kept_at": kept_at,
        "versions": dict(versions),
        "job_digest": job_digest,
        "policy_digest": policy_digest,
        "parts": dict(parts or {}),
        "overrides": [{name: getattr(one, name) for name in _OVERRIDE} for one in overrides],
        "said": dict(said or {}),
        "previous": previous,
    }
    return canonical(head).decode()


def entry_of(head: str) -> Entry:
    """Read a head.

    Raises
    ------
    ArchiveError
        If it is not one.
    """
    try:
        held = json.loads(head)
    except (ValueError, RecursionError) as error:
        raise _damaged("it is no JSON") from error
    if not isinstance(held, dict) or held.get("format") != FORMAT:
        raise _damaged(f"its format is not `{FORMAT}`")
    try:
        again = canonical(held).decode(errors="replace")
    except (ValueError, RecursionError) as error:
        raise _damaged("it is not written as a head is") from error
    if again != head:
        raise _damaged("it is not written as a head is")
    number = held.get("number")
    if not isinstance(number, int) or isinstance(number, bool) or number < 1:
        raise _damaged("it has no number")
    for name in _TEXTS:
        if not isinstance(held.get(name), str):
            raise _damaged(f"`{name}` is no text")
    if held["kind"] not in KINDS:
        raise _damaged(f"its kind `{held['kind'][:40]}` is not known")
    for name in ("dates", "versions", "parts"):
        one = held.get(name)
        if not isinstance(one, dict) or not all(isinstance(value, str) for value in one.values()):
            raise _damaged(f"`{name}` does not hold texts")
    if not isinstance(held.get("said"), dict):
        raise _damaged("`said` is no table")
    return Entry(
        number=number,
        **{name: held[name] for name in _TEXTS},
        **{name: held[name] for name in ("dates", "versions", "parts", "said")},
        overrides=_overrides(held.get("overrides")),
        head=head,
        digest=sha256(head.encode()).hexdigest(),
    )


def _overrides(held: Any) -> tuple[Override, ...]:
    if not isinstance(held, list):
        raise _damaged("`overrides` is no list")
    for one in held:
        if not isinstance(one, dict) or not all(isinstance(one.get(name), str) for name in _OVERRIDE):
            raise _damaged("an override is not whole")
    return tuple(Override(one["line"], one["decision"], one["reason"], one["by"], None) for one in held)


def _damaged(found: str) -> ArchiveError:
    return ArchiveError([Fault("damaged-entry", f"the head of an entry cannot be read: {found}", advice=_VERIFY)])
