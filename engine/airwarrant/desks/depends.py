"""Which shipped jobs depend on a value, check, rule, task or price: on file for the shipped policies, evaluated for others."""

import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import Any

from airwarrant.policy.history import History
from airwarrant.shipped import shipped

FILE = "depends.json"
#: In place of a market's name: every market of the file.
ALL = "*"
#: (section, name)
Name = tuple[str, str]


def names_read(result: Mapping[str, Any]) -> frozenset[Name]:
    """Return what a result came from.

    A value that something read; a check that could be judged; a rule that fired; a task that is sold, held or left out; what
    the price of a line or a charge is made of.
    """
    found: set[Name] = {(str(value["kind"]), name) for name, value in result["trace"]["policy"].items()}
    found |= {("check", one["check"]) for one in result["verdicts"] if one["word"] != "unmeasured"}
    found |= {("rule", one["rule"]) for one in result["trace"]["firings"]}
    found |= {("task", one["task"]) for one in (*result["lines"], *result["declined"])}
    found |= {("price", one["task"]) for one in result["lines"] if one["price"].get("amount") is not None}
    charges = result["totals"].get("charges", ())
    found |= {("charge", one["charge"]) for one in charges}
    for priced in (*(line["price"] for line in result["lines"]), *charges):
        found |= {("crew", priced["crew"]["crew"])} if "crew" in priced else set()
        found |= {("factor", one["factor"]) for one in priced.get("factors", ())}
        found |= {("item", one["item"]) for one in priced.get("materials", ())}
    return frozenset(found)


def depends_text(read: Mapping[tuple[str, str], Iterable[Name]]) -> str:
    """Return the file's text, one name a line: for each name the jobs that depend on it, by market.

    Parameters
    ----------
    read : mapping of (job, market) to what its result came from
    """
    markets = sorted({market for _, market in read})
    by_name: dict[str, dict[str, list[str]]] = {}
    for (job, market), names in sorted(read.items()):
        for section, name in names:
            by_name.setdefault(f"{section}:{name}", {}).setdefault(market, []).append(job)
    lines = [f'"markets": {json.dumps(markets)}', f'"jobs": {json.dumps(sorted({job for job, _ in read}))}']
    for name in sorted(by_name):
        held = by_name[name]
        same = len(held) == len(markets) and len({tuple(jobs) for jobs in held.values()}) == 1
        told = {ALL: next(iter(held.values()))} if same else held
        lines.append(
            f"{json.dumps(name)}: {json.dumps({market: ' '.join(jobs) for market, jobs in sorted(told.items())})}"
        )
    return "{\n" + ",\n".join(lines) + "\n}\n"


def jobs_on_file(market: str, told: History) -> tuple[str, ...] | None:
    """Return the shipped jobs that depend on a name under a shipped market; None where nothing is on file of it."""
    held = _on_file()
    if market not in held["markets"] or told.section == "said":
        return None
    jobs: set[str] = set()
    for section, name in _asked(told):
        by_market = held.get(f"{section}:{name}", {})
        jobs |= set(by_market.get(market, by_market.get(ALL, "")).split())
    return tuple(sorted(jobs))


def jobs_now(folders: Sequence[Path], market: str, told: History) -> tuple[str, ...]:
    """Return the shipped jobs that depend on a name, each evaluated under this policy; it takes some seconds."""
    # Imported here: what is on file needs none of it.
    from airwarrant.job.reading_records import read_job
    from airwarrant.session import Session

    wanted = set(_asked(told))
    with Session(folders) as session:
        return tuple(
            job for job, path in shipped_jobs() if wanted & names_read(session.evaluate(read_job(path), market=market))
        )


def shipped_jobs() -> Iterator[tuple[str, Path]]:
    """Give number and file of each shipped job that is a whole record."""
    for path in sorted(shipped("scenarios").glob("job-[0-9]*.toml")):
        if not path.name.endswith(".expect.toml"):
            yield path.stem.removeprefix("job-"), path


def _asked(told: History) -> Iterator[Name]:
    """A figure is not in a trace by its name: the checks that read it stand for it."""
    if told.section == "figure":
        yield from (("check", name) for name in told.checks)
    else:
        yield told.section, told.name


@cache
def _on_file() -> dict[str, Any]:
    held: dict[str, Any] = json.loads((shipped("scenarios") / FILE).read_text(encoding="utf-8"))
    return held
