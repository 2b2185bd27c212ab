"""`airwarrant why-not`: why a line is not in the scope, and the smallest change that would bring it in."""

import json
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Annotated, Any

import typer
from rich.console import Console
from rich.text import Text

from airwarrant.cli.console import out, put
from airwarrant.cli.policy_tables import as_data
from airwarrant.desks.flips import Flip
from airwarrant.desks.made_from import made_from
from airwarrant.desks.policy_flips import PolicyEdit
from airwarrant.desks.record_edits import BALANCED, Edit
from airwarrant.desks.why_not import Against, Proposer, WhyNot
from airwarrant.desks.why_not import why_not as why_not_of
from airwarrant.result.serial import read_result
from airwarrant.shipped import policies_folder, roots
from airwarrant.units import fixed

_STATES = {
    "scoped": "it is in the scope",
    "earlier": "it is in the scope, from an earlier visit",
    "held": "held",
    "declined": "not needed: a rule says no",
    "left-out": "left out by a decision in the record",
    "no-gain": "taken out again: it gains too little",
    "not-called-for": "nothing calls for it",
    "no-rule": "no rule asks for it here",
}
_SAID = {"decline": "declined", "hold": "held until", "needs": "held until"}


def why_not(
    result: Annotated[
        Path, typer.Argument(help="A result file made by `airwarrant run JOB --out` or `--with-inputs`.")
    ],
    line: Annotated[
        str, typer.Argument(help="A line (task@place), or a task: then every place where it does not stand.")
    ],
    policies: Annotated[
        Path | None, typer.Option(help="Policy folder; else the policy that the result carries.")
    ] = None,
    as_json: Annotated[bool, typer.Option("--json", help="Print JSON.")] = False,
) -> None:
    """Say why a line is not in the scope: what kept each rule off and by how much, and the smallest change that brings it in.

    Example: airwarrant why-not papers/result-1042.json upsize-return@hall-return
    """
    known = read_result(result)
    folders = roots(policies_folder(policies)) if policies is not None else ()
    found = why_not_of(known, made_from(known, result), line, folders)
    if as_json:
        put(json.dumps([as_data(one) for one in found], ensure_ascii=False, indent=1))
        return
    console = out()
    for number, one in enumerate(found):
        if number:
            console.print()
        _print(console, one)
    console.print(
        Text(
            "\nA change named here shows what the decision rests on; it is no reason to write down another reading."
            " Nothing here replaces local code or licensed practice.",
            style="dim",
        )
    )


def _print(console: Console, one: WhyNot) -> None:
    gain = f" ({one.gain_pct:g} % more air at the registers)" if one.gain_pct is not None else ""
    console.print(Text(f"{one.line} — {one.title}: {_STATES[one.state]}{gain}", style="bold"))
    if one.state in ("scoped", "earlier"):
        rules = ", ".join(proposer.rule for proposer in one.proposers if proposer.fired) or "an earlier visit"
        console.print(Text(f"  asked for by {rules}; `airwarrant why RESULT {one.line}` says why"))
        return
    for said in one.said:
        text = f"  {_SAID[said.what]}: {said.text} ({said.rule}{f', {said.authority}' if said.authority else ''})"
        console.print(Text(f"{text}  {said.place}"), soft_wrap=not console.is_terminal)
    if one.decision is not None:
        after = "it comes back without that" if one.decision.returns else "without that it would not come back either"
        console.print(Text(f"  the record decides it: {one.decision.decision}; {after}  {one.decision.place}"))
    if one.state == "no-rule":
        console.print(Text(f"  rules ask for it at: {', '.join(one.kinds) or 'no kind of place'}"))
        return
    for proposer in one.proposers:
        for text, style in _proposer(proposer):
            console.print(Text(text, style=style), soft_wrap=not console.is_terminal)
    _changes(console, one)


def _proposer(one: Proposer) -> Iterator[tuple[str, str]]:
    of = "" if one.subject == "house" else f" for {one.subject}"
    fired = ": it asks for it" if one.fired else ""
    yield f"  rule {one.rule}{of} — {one.title}{fired}  {one.place}", "cyan"
    for against in one.against:
        yield f"    {'not while' if against.holds else 'lacks'}: {against.said}  {against.place}", ""
        for text in _reads(against):
            yield f"      {text}", "dim"


def _reads(against: Against) -> Iterator[str]:
    for subject, field, word in against.words:
        yield f"{field}{_of(subject)} is {word}"
    yield from against.absent
    for verdict in against.verdicts:
        yield _verdict(verdict)


def _verdict(verdict: Mapping[str, Any]) -> str:
    title, time = verdict.get("title", verdict["id"]), verdict.get("time", "found")
    head = f"{title}{_of(verdict.get('subject', 'house'))}{'' if time == 'found' else f', {time}'}: {verdict['word']}"
    if "margin" not in verdict:
        missing = "; ".join(verdict.get("missing", ()))
        return f"{head}{f' (not known: {missing})' if missing else ''}"
    unit = verdict["reading"]["unit"]
    side = "inside" if verdict["margin"] >= 0 else "past"
    return (
        f"{head}, {verdict['reading']['value']:g} {unit} where {verdict['must_be']} {verdict['limit']['value']:g} {unit} is asked: "
        f"{abs(verdict['margin']):g} {unit} {side} the limit, ± {verdict['band']:g}, chance it meets it {verdict['probability']:.2f}"
    )


def _changes(console: Console, one: WhyNot) -> None:
    if one.decision is not None and one.decision.returns:
        return
    wrap = not console.is_terminal
    if one.changes:
        console.print(Text("  smallest change of the job that brings it in", style="bold"))
        for number, flip in enumerate(one.changes):
            console.print(Text(f"    {'or ' if number else ''}{_flip(flip)}"), soft_wrap=wrap)
    else:
        console.print(
            Text("  no change of one or two values of the record brings it in, of those its rules read", style="bold")
        )
    if one.edits:
        console.print(Text("  smallest edit of the policy that brings it in", style="bold"))
    else:
        console.print(Text("  no edit of one policy value that is allowed brings it in", style="bold"))
    for edit in one.edits:
        console.print(Text(f"    {_edit(edit)} (who may: {edit.edit})  {edit.place}"), soft_wrap=wrap)
    for edit in one.refused:
        console.print(
            Text(f"    not allowed: {_edit(edit)}: {edit.refused}  {edit.place}", style="dim"), soft_wrap=wrap
        )


def _flip(flip: Flip) -> str:
    return ", and ".join(_said(edit) for edit in flip.edits)


def _said(edit: Edit) -> str:
    what = edit.title if edit.key == "house" else f"{edit.key}: {edit.title}"
    place = f" ({edit.place})" if edit.place else ""
    if edit.field == BALANCED:
        return f"{edit.key}: a visit after balancing"
    if isinstance(edit.after, str):
        return f"{what}: {edit.after} instead of {edit.before}{place}"
    after = f"{fixed(edit.after, edit.unit)} {edit.unit}".removesuffix(" 1")
    if not isinstance(edit.before, float):
        return f"{what}: {after}; it is not known now"
    before = fixed(edit.before, edit.unit)
    gap = fixed(abs(edit.after - edit.before), edit.unit)
    return f"{what}: {after} instead of {before}, {gap} {'more' if edit.after > edit.before else 'less'}{place}"


def _edit(edit: PolicyEdit) -> str:
    row = f" at {edit.at}" if edit.at else ""
    unit = "" if edit.unit == "1" else f" {edit.unit}"
    return f"{edit.title} ({edit.name}{row}) {edit.after:g}{unit} instead of {edit.before:g}"


def _of(subject: str) -> str:
    return "" if subject == "house" else f" of {subject}"
