"""`airwarrant audit list` and `airwarrant audit show`: what is kept, and one entry of it with everything its digest is of."""

import json
from pathlib import Path
from typing import Annotated, Any

import typer
from rich.text import Text

from airwarrant.cli.audit_entries import entries_named
from airwarrant.cli.console import err, out, put
from airwarrant.cli.figures import table_of
from airwarrant.cli.keep import ArchiveOption, archive_path
from airwarrant.counted import counted, numbered
from airwarrant.errors import CallError, Fault, nearest
from airwarrant.records.archive import Archive
from airwarrant.records.behind import IMPORTED
from airwarrant.records.kept import ERASURE, IMPORT, KINDS, RUN, TEST_OUT, Entry
from airwarrant.records.proof import root_of
from airwarrant.whole_file import write_files

Json = Annotated[bool, typer.Option("--json", help="Print JSON.")]
_WHAT = {RUN: "run", TEST_OUT: "test-out", ERASURE: "personal data erased", IMPORT: "another archive's entries"}


def list_entries(
    archive: ArchiveOption = None,
    kind: Annotated[str, typer.Option(help=f"Only entries of this kind: {', '.join(KINDS)}.")] = "",
    job: Annotated[str, typer.Option(help="Only entries of this job.")] = "",
    last: Annotated[int, typer.Option(help="Only the last so many; 0 for all.", min=0)] = 50,
    as_json: Json = False,
) -> None:
    """List what was kept last, oldest first, and the root to publish: whoever has it can later check any entry against it.

    Example: airwarrant audit list --kind run
    """
    if kind and kind not in KINDS:
        raise CallError([Fault("unknown-kind", f"--kind {kind}", ", ".join(KINDS), advice=nearest(kind, KINDS))])
    path = archive_path(archive)
    with Archive.open(path) as opened:
        root = root_of(opened)
        entries = tuple(opened.entries(kind=kind, job=job, last=last))
        if as_json:
            put(json.dumps({"size": root.size, "root": root.root, "entries": [_short(e) for e in entries]}, indent=1))
            return
        table = table_of(f"Kept in {path.name}")
        for title in ("entry", "what", "job", "market", "survey", "kept", "overrides", "digest"):
            table.add_column(title, overflow="fold")
        for one in entries:
            table.add_row(
                str(one.number),
                _WHAT.get(one.kind, one.kind),
                one.job,
                one.market,
                one.dates.get("survey", ""),
                one.kept_at,
                str(len(one.overrides) or ""),
                one.digest[:16],
            )
    console = out()
    console.print(table)
    console.print(Text(f"{counted(root.size, 'entry', 'entries')}, root {root.root}"), soft_wrap=True)


def show(
    entry: Annotated[str, typer.Argument(help="Number of an entry, or of a job: then every entry of it.")],
    archive: ArchiveOption = None,
    out_dir: Annotated[
        Path | None,
        typer.Option("--out", help="Also write the record, the result, the test-out and its answer into this folder."),
    ] = None,
    as_json: Json = False,
) -> None:
    """Show an entry: when it was kept and with what, its digests, overrides with reason and name, and whether personal data is there.

    Example: airwarrant audit show 1042 --out kept-1042
    """
    with Archive.open(archive_path(archive)) as opened:
        found = [(one, _told(opened, one)) for one in entries_named(opened, entry)]
        if out_dir is not None:
            _write(opened, [one for one, _ in found], out_dir)
    if as_json:
        put(json.dumps([told for _, told in found], ensure_ascii=False, indent=1))
        return
    for number, (one, told) in enumerate(found):
        if number:
            out().print()
        _print(one, told)


def _short(one: Entry) -> dict[str, Any]:
    return {
        "number": one.number,
        "kind": one.kind,
        "job": one.job,
        "market": one.market,
        "dates": dict(one.dates),
        "kept_at": one.kept_at,
        "digest": one.digest,
    }


def _told(archive: Archive, one: Entry) -> dict[str, Any]:
    """The head as it was digested, and what became of the personal data."""
    by = archive.erased_by(one)
    personal: dict[str, Any] = {"state": "none"}
    if by:
        erasure = archive.entry(by)
        personal = {"state": "erased", "by_entry": by, "when": erasure.kept_at, "why": erasure.said.get("why", "")}
    elif "personal" in one.parts:
        personal = {"state": "there"}
    return {"digest": one.digest, "entry": json.loads(one.head), "personal_data": personal}


def _print(one: Entry, told: dict[str, Any]) -> None:
    console = out()
    of = f" of job {one.job}" if one.job else ""
    console.print(Text(f"Entry {one.number} — {_WHAT.get(one.kind, one.kind)}{of}", style="bold"))
    rows = [
        ("kept", one.kept_at),
        ("market", one.market),
        ("dates", ", ".join(f"{name} {day}" for name, day in one.dates.items())),
        ("with", ", ".join(f"{name} {version}" for name, version in sorted(one.versions.items()))),
        ("record", one.job_digest),
        ("policy", one.policy_digest),
        *((f"part {name}", digest) for name, digest in sorted(one.parts.items())),
        ("previous", one.previous or "none, it is the first"),
        ("digest", one.digest),
    ]
    if one.kind == TEST_OUT:
        rows.insert(1, ("of entry", str(one.said.get("of", 0))))
    if one.kind == ERASURE:
        rows.insert(1, ("erased", f"personal data of {numbered(one.said.get('of', []), 'entry', 'entries')}"))
        rows.insert(2, ("why", str(one.said.get("why", ""))))
    if one.kind == IMPORT:
        rows.insert(1, ("from root", f"{one.said.get('root')}, up to entry {one.said.get('size')}"))
    if isinstance(came := one.said.get(IMPORTED), dict):
        rows.insert(1, ("came as", f"entry {came.get('number')} of another archive, digest {came.get('digest')}"))
    width = max(len(name) for name, value in rows if value)
    for name, value in rows:
        if value:
            console.print(Text(f"  {name.ljust(width)}  {value}"), soft_wrap=True)
    for override in one.overrides:
        console.print(Text(f"  override  {override.line}: {override.decision}, by {override.by}: {override.reason}"))
    personal = told["personal_data"]
    if personal["state"] == "erased":
        said = f"erased on {personal['when']} by entry {personal['by_entry']}: {personal['why']}"
        console.print(Text(f"  Personal data was {said}"))
    elif personal["state"] == "there":
        console.print("  Personal data is there; `airwarrant audit erase` takes it out.")


def _write(archive: Archive, entries: list[Entry], folder: Path) -> None:
    from airwarrant.result.serial import to_bytes

    files: dict[str, bytes] = {}
    for one in entries:
        # Names are made of the entry's number: nothing in an archive ever becomes a path.
        for name, content in (
            ("record", archive.record_text(one) if "record" in one.parts else None),
            ("test-out", archive.test_out_text(one) if "test-out" in one.parts else None),
        ):
            if content is not None:
                ending = ".json" if str(one.said.get("file", "")).endswith(".json") else ".toml"
                if name == "test-out":
                    ending = ".json" if str(one.said.get("test_out", "")).endswith(".json") else ".toml"
                files[f"entry-{one.number}-{name}{ending}"] = content
        for name, document in (("result", archive.result(one)), ("acceptance", archive.acceptance(one))):
            if document is not None:
                files[f"entry-{one.number}-{name}.json"] = to_bytes(document)
        if "result" in one.parts:
            inputs = {
                "record": {"file": archive.file_name(one), "text": archive.record_text(one).decode()},
                "market": one.market,
                "policy": archive.policy_texts(one),
            }
            files[f"entry-{one.number}-result.inputs.json"] = to_bytes(inputs)
    write_files(folder, files)
    err().print(f"wrote {', '.join(files) or 'nothing'} into {folder}")
