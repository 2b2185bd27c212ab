"""Write what each shipped job comes to under a market of each region, for review: ``python tests/scenarios/write_outcomes.py [JOB …]``.

Read the difference (``git diff scenarios/regions``) before it is committed: each changed line is a promise that changed.
"""

import sys
from pathlib import Path
from textwrap import wrap

sys.path.insert(0, str(Path(__file__).parents[1]))

from airwarrant.job.reading_records import read_job
from airwarrant.session import Session
from jobs import JOBS, POLICIES, SCENARIOS
from scenarios.outcomes import FOLDER, MARKETS, Outcome, changes, kept, outcome
from scenarios.region_differences import FILE, Difference, Evaluations, differences, found, title

#: A blank inside a text, where a list is not broken.
_KEPT = "\x1f"
_HEAD = """\
# What job {job} comes to in one market of each region: what is sold, held, left out, promised and predicted.
# Written by `python tests/scenarios/write_outcomes.py`; tests/scenarios/test_under_every_region.py holds the program to it.
# Lines stand in the order of work: tier, state, size. Predicted: like for like to with this scope.
"""

_HEAD_OF_DIFFERENCES = """\
# Differences between markets that are meant: one job, two markets, what it comes to in each, and the value of policy that makes it.
# Sentence, job, change, look, because and markets are written by hand; what stands under comes_to and holds, and the comments, by
# `python tests/scenarios/write_outcomes.py`. tests/scenarios/test_under_every_region.py holds the program to it, and proves each
# reason: with that value taken over from there, and nothing else, the job comes to here what it comes to there.
"""


def text_of(job: str, outcomes: dict[str, Outcome]) -> str:
    """The file of a job."""
    return _HEAD.format(job=job) + "".join(_market(market, one) for market, one in outcomes.items())


def _market(market: str, outcome: Outcome) -> str:
    plain = {key: one for key, one in outcome.items() if not isinstance(one, dict)}
    tables = {key: one for key, one in outcome.items() if isinstance(one, dict)}
    out = [f"\n[{market}]", *(f"{key} = {_value(one)}" for key, one in plain.items() if one)]
    for key, table in filter(lambda part: part[1], tables.items()):
        out += [f"\n[{market}.{key}]", *(f"{_text(name)} = {_text(said)}" for name, said in table.items())]
    return "\n".join(out) + "\n"


def _value(one: str | list[str]) -> str:
    if isinstance(one, str):
        return _text(one)
    lines = wrap(
        " ".join(f"{_text(text).replace(' ', _KEPT)}," for text in one),
        112,
        break_on_hyphens=False,
        break_long_words=False,
    )
    return "[\n" + "".join(f"  {line}\n".replace(_KEPT, " ") for line in lines) + "]"


def _text(text: str) -> str:
    escaped = text.replace("\\", "\\\\").replace('"', '\\"')
    return f'"{escaped}"'


def text_of_differences(evaluations: Evaluations) -> str:
    """The file of differences, each side as the program has it now."""
    return _HEAD_OF_DIFFERENCES + "".join(_difference(evaluations, one) for one in differences())


def _difference(evaluations: Evaluations, one: Difference) -> str:
    out = ["", "[[difference]]", f"says = {_text(one.says)}", f"job = {_text(one.job)}"]
    if one.change:
        given = (f"{_text(path)} = {_text(v) if isinstance(v, str) else v}" for path, v in one.change.items())
        out.append(f"change = {{ {', '.join(given)} }}")
    policies = [evaluations.policy(one.record, side.market) for side in (one.here, one.there)]
    titles = (next(filter(None, (title(policy, name) for policy in policies))) for name in one.because)
    out += [f"look = {_text(one.look)}", *(f"# {name}: {said}" for name, said in zip(one.because, titles, strict=True))]
    out.append(f"because = [{', '.join(map(_text, one.because))}]")
    for name, side in (("here", one.here), ("there", one.there)):
        now = found(evaluations, one, side)
        out += [f"[difference.{name}]", f"market = {_text(now.market)}", f"comes_to = {_text(now.comes_to)}"]
        out.append("holds = [\n" + "".join(f"  {_text(held)},\n" for held in now.holds) + "]")
    return "\n".join(out) + "\n"


def main(jobs: list[str]) -> None:
    FOLDER.mkdir(exist_ok=True)
    with Session(POLICIES) as session:
        evaluations = Evaluations(session)
        for job in jobs or JOBS:
            record = read_job(SCENARIOS / f"job-{job}.toml")
            now = {market: outcome(evaluations.result(record, market)) for market in MARKETS}
            path = FOLDER / f"{job}.toml"
            for line in changes(kept(job), now, job) if path.is_file() else ():
                sys.stdout.write(f"{line}\n")
            path.write_text(text_of(job, now))
        FILE.write_text(text_of_differences(evaluations))


if __name__ == "__main__":
    main(sys.argv[1:])
