"""A replay as plain data, for other programs and for the page."""

from collections.abc import Mapping, Sequence
from typing import Any

from airwarrant.counted import counted
from airwarrant.pricing.exact import money_text
from airwarrant.replay.replay import Told
from airwarrant.replay.summary import MOST_NAMED, Sum, Summary


def data_of(told: Told) -> dict[str, Any]:
    """Return all that a replay told, as JSON has it; money as exact texts, everything in a fixed order."""
    summary = told.summary
    lines: dict[str, dict[str, int]] = {}
    for (task, kind), count in sorted(summary.lines.items()):
        lines.setdefault(task, {})[kind] = count
    return {
        "a": told.a,
        "b": told.b,
        "jobs": told.jobs,
        "became": {sort: summary.sorts[sort] for sort in ("moved", "same", "apart", "failed")},
        "safe": told.safe,
        "loosened": list(told.loosened),
        "unclear": list(told.unclear),
        "safety_lost": [{"job": job, "what": what} for job, what in sorted(summary.safety_lost)],
        "reach": [
            {
                "section": change.section,
                "name": change.name,
                "title": change.title,
                "who": change.who,
                "jobs": jobs,
                "can_change": jobs if change.who == "everyone" else touched,
                "says": change.says(jobs, touched),
            }
            for change, jobs, touched in summary.proof()
        ],
        "markets": _sums(summary.markets),
        "tasks": _sums(summary.tasks),
        "without_amount": summary.unpriced,
        "lines": lines,
        "line_jobs": {task: _jobs_of(summary, task) for task in lines},
        "stops": _told(summary, "stops"),
        "holds": _told(summary, "holds"),
        "acceptance": _told(summary, "targets"),
        "offers": [
            {"before": before, "after": after, "jobs": count}
            for (before, after), count in sorted(summary.answers.items())
        ],
        "differences": [
            {"difference": money_text(amount), "jobs": count} for amount, count in sorted(summary.differences.items())
        ],
        "moved": sorted(summary.moved),
        "failed": [{"job": job, "why": why} for job, why in sorted(summary.failed)],
        "not_evaluated": _not_evaluated(told),
        "most": [_lists(one.as_json()) for one in summary.most],
        "trees": [_lists(one.as_json()) for one in told.trees],
        "titles": _titles(told),
    }


def _titles(told: Told) -> dict[str, dict[str, str]]:
    """Titles of the tasks and checks that are named."""
    summary = told.summary
    named = {
        "task": {task for task, _ in summary.lines} | summary.tasks.keys(),
        "check": {name for name, _, _ in summary.targets},
    }
    return {
        what: {name: told.titles[what, name] for name in sorted(names) if (what, name) in told.titles}
        for what, names in named.items()
    }


def _not_evaluated(told: Told) -> list[dict[str, Any]]:
    """The jobs that were not evaluated by what is said of them, most jobs first; `sides` names policies that do not compose."""
    reasons: dict[str, list[str]] = {}
    for job, why in sorted(told.summary.failed):
        reasons.setdefault(why, []).append(job)
    wrong = {one.why: one for one in told.refused}
    return [
        {
            "why": why,
            "jobs": len(jobs),
            "named": jobs[:MOST_NAMED],
            "who": _who(jobs),
            "sides": list(wrong[why].sides) if why in wrong else [],
            "faults": list(wrong[why].faults) if why in wrong else [],
        }
        for why, jobs in sorted(reasons.items(), key=lambda one: (-len(one[1]), one[0]))
    ]


def _who(jobs: Sequence[str]) -> str:
    """The name of one job; of several their number and the first names."""
    if len(jobs) == 1:
        return jobs[0]
    further = ", …" if len(jobs) > MOST_NAMED else ""
    return f"{counted(len(jobs), 'job')} ({', '.join(jobs[:MOST_NAMED])}{further})"


def _sums(sums: Mapping[str, Sum]) -> dict[str, Any]:
    return {
        name: {
            "jobs": one.jobs,
            "before": money_text(one.before),
            "after": money_text(one.after),
            "difference": money_text(one.difference),
        }
        for name, one in sorted(sums.items())
    }


def _jobs_of(summary: Summary, task: str) -> list[str]:
    """A few of the jobs in which a line of the task moved; where one did otherwise than in price, those."""
    return summary.line_jobs.get((task, True)) or summary.line_jobs.get((task, False), [])


def _told(summary: Summary, what: str) -> list[dict[str, Any]]:
    counts: Mapping[tuple[str, str, str], int] = getattr(summary, what)
    return [
        {
            "name": name,
            "before": before,
            "after": after,
            "jobs": count,
            "named": summary.told_jobs.get((what, name, before, after), []),
        }
        for (name, before, after), count in sorted(counts.items())
    ]


def _lists(value: Any) -> Any:
    """The same with lists in place of tuples."""
    if isinstance(value, Mapping):
        return {key: _lists(held) for key, held in value.items()}
    return [_lists(held) for held in value] if isinstance(value, list | tuple) else value
