"""The scope as a table: what to do, what waits, what is not needed, what to read again."""

from collections.abc import Mapping
from itertools import groupby
from typing import Any

from rich.console import Console
from rich.text import Text

from airwarrant.cli.console import mark_draft
from airwarrant.cli.figures import WIDE, in_units, shown, table_of
from airwarrant.cli.forecast_table import print_forecast
from airwarrant.cli.price_table import line_amount, print_totals
from airwarrant.result.declined import READ_ALREADY

_TIERS = {"required": "bold red", "recommended": "bold", "optional": "", "included": "dim"}


def print_scope(console: Console, result: Mapping[str, Any], units: str) -> None:
    """Print a result for a person; nothing here is computed."""
    demo = ", demo data" if result["demo"] else ""
    console.print(Text(f"Job {result['job_id']} — {result['market']['title']}{demo}", style="bold"))
    mark_draft(console, result["market"])
    _answer(console, result)
    for stop in result["stops"]:
        places = [place for place in stop["subjects"] if place != "house"]
        at = f" ({', '.join(places)})" if places else ""
        console.print(Text(f"STOP  {in_units(stop['said'], units)}{at}", style="bold white on red"))
    for contradiction in result["contradictions"]:
        console.print(
            Text(
                f"The policy contradicts itself on {contradiction['line']}: {', '.join(contradiction['rules'])}",
                style="red",
            )
        )
    _lines(console, result, units)
    _holds(console, result)
    _retests(console, result)
    print_totals(console, result)
    print_forecast(console, result, units)
    _declined(console, result, units)
    if result["supersedes"]:
        changed = result["supersedes"]
        console.print(
            f"\nThis result supersedes {changed['result'][:12]} (before the {changed['visit']} visit): "
            f"{len(changed['added'])} added, {len(changed['removed'])} removed, {len(changed['changed'])} changed."
        )
    for caution in result["cautions"]:
        console.print(Text(f"Caution  {in_units(caution['said'], units)}", style="yellow"))
    console.print(Text("\nNothing here replaces local code or licensed practice.", style="dim"))


def _answer(console: Console, result: Mapping[str, Any]) -> None:
    answer = result["sellable"]["answer"]
    words = {"yes": "The offer may go out.", "held": "Not yet: the offer waits.", "no": "No offer: make safe first."}
    console.print(Text(words[answer], style="green" if answer == "yes" else "red"))
    for reason in result["sellable"]["why"]:
        console.print(f"  {reason}")


def _lines(console: Console, result: Mapping[str, Any], units: str) -> None:
    if not result["lines"]:
        return
    table = table_of("Scope, in the order of work")
    wide = console.width >= WIDE
    priced = any(line["price"] for line in result["lines"])
    columns = [
        ("#", "right"),
        ("line", "left"),
        ("tier", "left"),
        ("size", "left"),
        ("unit off", "left"),
        ("registers if left out", "right"),
        *([("amount", "right")] if priced else []),
        ("state", "left"),
        *([("rule", "left")] if wide else []),
    ]
    for name, justify in columns:
        table.add_column(name, justify=justify, overflow="fold", no_wrap=name in ("line", "tier"))  # type: ignore[arg-type]
    for line in result["lines"]:
        effect = line["effect"]
        change = _left_out(effect["without"], units) if effect else ""
        state = (
            "held: " + ", ".join(dict.fromkeys(h["name"] for h in line["held_by"]))
            if line["state"] == "held"
            else {"scoped": "", "earlier": "earlier visit"}[line["state"]]
        )
        table.add_row(
            str(line["order"]),
            line["id"] if wide else line["id"].replace("@", "\n@"),
            Text(line["tier"], style=_TIERS[line["tier"]]),
            _size(line, units),
            "yes" if line["unit_off"] else "",
            change,
            *([line_amount(line)] if priced else []),
            Text(state, style="magenta"),
            *([Text(line["rule"], style="dim")] if wide else []),
        )
    console.print()
    console.print(table)


def _left_out(change: Mapping[str, Any], units: str) -> str:
    """What the registers lose without a line, as a range where it has one."""
    one = change.get("register_flow")
    if not one or not one["value"]:
        return ""
    if "low" not in one:
        return shown(one["value"], one["unit"], units, sign=True)
    low, high = (shown(one[end], one["unit"], units) for end in ("low", "high"))
    return low if low == high else f"{low.split(' ', 1)[0]} to {high}"


def _holds(console: Console, result: Mapping[str, Any]) -> None:
    """Each hold once, with the places it was cast for where it keeps no line back."""

    def same(hold: Mapping[str, Any]) -> tuple[str, str, str]:
        return ", ".join(hold["lines"]) or hold["of"], hold["until"], hold["rule"]

    for (what, until, rule), group in groupby(sorted(result["holds"], key=same), key=same):
        members = list(group)
        places = [hold["subject"] for hold in members if not hold["lines"] and hold["subject"] != "house"]
        at = f" at {', '.join(places)}" if places else ""
        text = Text("Held  ", style="magenta")
        text.append(f"{what}{at}: until {until} ({rule})", style="")
        console.print(text)


def _retests(console: Console, result: Mapping[str, Any]) -> None:
    for retest in result["retests"]:
        at = "" if retest["subject"] == "house" else f" of {retest['subject']}"
        lines = f", decides {', '.join(retest['lines'])}" if retest["lines"] else ""
        text = Text("Read again  ", style="cyan")
        text.append(f"{retest['title']}{at}, {retest['when'].replace('-', ' ')}: {retest['how']}{lines}", style="")
        console.print(text)


def _declined(console: Console, result: Mapping[str, Any], units: str) -> None:
    entries = sorted(result["declined"], key=lambda d: (d["how"] == "not-called-for", d["task"], d["because"]))
    verdicts = {v["id"]: v for v in result["verdicts"]}
    if not entries:
        return
    table = table_of("Not needed, and what says so")
    for name in ("task", "places", "why", "reading it rests on"):
        table.add_column(name, overflow="fold", no_wrap=name == "task")
    for (_, task, because), group in groupby(
        entries, key=lambda d: (d["how"] == "not-called-for", d["task"], d["because"])
    ):
        members = list(group)
        verdict = next((verdicts[i] for m in members for i in m["readings"] if "limit" in verdicts.get(i, {})), None)
        reading = _ruled_out(verdict, result["trace"]["checks"][verdict["check"]], units) if verdict else ""
        how = members[0]["how"].replace("-", " ")
        # A reading that fails rules nothing out by itself: then the clause says why.
        said = because if because == READ_ALREADY or not verdict or verdict["word"] == "fail" else ""
        why = said or how if members[0]["how"] == "not-called-for" else because or how
        if members[0]["rule"] and console.width >= WIDE:
            why += f" ({members[0]['rule']})"
        table.add_row(task, ", ".join(m["place"] for m in members), why, reading)
    console.print()
    console.print(table)


def _size(line: Mapping[str, Any], units: str) -> str:
    """The sizes as the result says them, of several each with its name; for SI their numbers converted."""
    sizes = line["sizes"]
    texts = [_one_size(size, units) for size in sizes]
    if len(texts) < 2:
        return texts[0] if texts else str(line["size"])
    return "\n".join(
        f"{size['title'].partition(',')[0].lower()} {text}" for size, text in zip(sizes, texts, strict=True)
    )


def _one_size(size: Mapping[str, Any], units: str) -> str:
    number = "value" in size and size["text"].endswith(size["unit"])
    text = shown(size["value"], size["unit"], units) if units == "si" and number else size["text"]
    return f"{size['count']} × {text}" if size["count"] > 1 else text


def _ruled_out(verdict: Mapping[str, Any], check: Mapping[str, Any], units: str) -> str:
    unit = verdict["reading"]["unit"]
    reading, limit = (shown(verdict[part]["value"], unit, units) for part in ("reading", "limit"))
    at = "" if verdict["subject"] == "house" else f", {verdict['subject']}"
    return f"{check['title']}{at}: {reading}, {check['must_be']} {limit}: {verdict['word']}"
