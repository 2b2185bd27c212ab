"""`airwarrant run`: one job record in, its scope with reasons out."""

from dataclasses import replace
from pathlib import Path
from typing import Annotated, Any

import typer

from airwarrant.cli.console import err, out, put
from airwarrant.cli.job_file import find_job
from airwarrant.cli.keep import ArchiveFile, Keep, archive_path, keep_run
from airwarrant.cli.papers import Language, Pdf, Size, can_be_made, write_papers
from airwarrant.cli.scope_table import print_scope
from airwarrant.errors import CallError, Fault
from airwarrant.job.reading_records import parse_job, read_text
from airwarrant.job.record import JobRecord
from airwarrant.policy.files import policy_texts
from airwarrant.result.serial import to_bytes
from airwarrant.session import Session
from airwarrant.shipped import policies_folder, roots
from airwarrant.whole_file import write_files


def run(
    job: Annotated[
        Path, typer.Argument(help="A job record, TOML or JSON; or the name of a shipped scenario, such as job-1042.")
    ],
    market: Annotated[str, typer.Option(help="Evaluate under this market instead of the record's own.")] = "",
    policies: Annotated[Path | None, typer.Option(help="Policy folder; else ./policies, else the shipped one.")] = None,
    out_dir: Annotated[
        Path | None, typer.Option("--out", help="Also write the result file and the papers into this folder.")
    ] = None,
    language: Language = "en",
    size: Size = "letter",
    pdf: Pdf = None,
    units: Annotated[str, typer.Option(help="Units of the table: ip or si.")] = "ip",
    as_json: Annotated[bool, typer.Option("--json", help="Print the result file instead of the table.")] = False,
    with_inputs: Annotated[bool, typer.Option(help="Carry the record and the policy files inside the result.")] = False,
    draft: Annotated[
        bool,
        typer.Option("--draft", help="Also under a market whose local facts are not filled in; marked as a draft."),
    ] = False,
    verify: Annotated[bool, typer.Option(help="Evaluate with both evaluators and compare.")] = False,
    keep: Keep = False,
    archive: ArchiveFile = None,
) -> None:
    """Evaluate one job record: scope, holds, retests, what is not needed, and why.

    Example: airwarrant run scenarios/job-1042.toml
    """
    if units not in ("ip", "si"):
        raise CallError([Fault("units", f"--units {units}", "ip or si")])
    if out_dir is not None:
        can_be_made(language, size, pdf)
    source = find_job(job)
    text = read_text(source)
    record = parse_job(text, source.name)
    folder = policies_folder(policies)
    keep = keep or archive is not None
    with Session(roots(folder)) as session:
        result = session.evaluate(record, market=market, check_both=verify, draft=draft)
        reach = _reach(session, replace(record, market=market or record.market)) if keep else None
    if with_inputs or out_dir is not None or keep:
        name = market or record.market
        texts = policy_texts(roots(folder), name, record.dates)
        inputs = {"record": {"file": record.file, "text": text.decode()}, "market": name, "policy": texts}
    if keep:
        keep_run(archive_path(archive), record, text, name, texts, result, reach)
    if with_inputs:
        result["inputs"] = inputs
    if out_dir is not None:
        _write(out_dir, record.id, result, None if with_inputs else inputs)
        write_papers(result, out_dir, language, size, (), pdf)
    if as_json:
        put(to_bytes(result).decode())
    else:
        print_scope(out(), result, units)


def _reach(session: Session, record: JobRecord) -> bytes:
    """What a later replay decides by."""
    from airwarrant.replay.facts import FactsMaker  # only here: it would slow every start

    with FactsMaker() as maker:
        return maker.of(session.evaluator(record).policy, record)


def _write(folder: Path, job_id: str, result: dict[str, Any], beside: dict[str, Any] | None) -> None:
    name = f"result-{job_id}.json"
    files = {name: to_bytes(result)}
    if beside is not None:
        files[f"result-{job_id}.inputs.json"] = to_bytes(beside)
    write_files(folder, files)
    err().print(f"wrote {folder / name}")
