"""Replay against what evaluating each job under both policies, one by one, comes to; and against processes that die."""

import json
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest
from lethal import LETHAL, serve
from sides_of_a_change import MARKET, POLICIES, STRICTER_DOORS, asked, changed_folder, made_jobs

from airwarrant.evaluate import Evaluator
from airwarrant.job.reading_records import parse_job
from airwarrant.policy.compose import compose
from airwarrant.replay.answer import Answer
from airwarrant.replay.compare_jobs import Asked, Comparer
from airwarrant.replay.journal import Journal
from airwarrant.replay.kept_facts import KeptFacts
from airwarrant.replay.loosened import loosened
from airwarrant.replay.page import replay_page
from airwarrant.replay.pool import Here, Pool
from airwarrant.replay.replay import Told, replay
from airwarrant.replay.sides import address
from airwarrant.replay.stored import Held, Job, Stored
from airwarrant.replay.told_json import data_of
from airwarrant.replay.trees import Trees
from airwarrant.result.document import document

_JOBS = 10


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return changed_folder(tmp_path_factory.mktemp("changed") / "policies", STRICTER_DOORS)


@pytest.fixture(scope="module")
def jobs() -> Held:
    return made_jobs(_JOBS)


@pytest.fixture(scope="module")
def whole(folder: Path, jobs: Held) -> Told:
    """Everything evaluated under both, in this process."""
    every = asked(folder, everything=True)
    return replay(jobs, every, Here(every))


def _same(one: Told, other: Told) -> bool:
    """Whether two replays tell the same, but for which jobs were proved and not evaluated."""
    first, second = data_of(one), data_of(other)
    for data in (first, second):
        became = data["became"]
        data["became"] = {"moved": became["moved"], "not": became["same"] + became["apart"], "failed": became["failed"]}
    return first == second


def test_lines_and_money_are_those_of_the_results_themselves(folder: Path, jobs: Held, whole: Told) -> None:
    # The result documents are the oracle: nothing of replay has made them.
    most = {one.job: one for one in whole.summary.most}
    with (
        Evaluator(compose(POLICIES, MARKET, {})) as old,
        Evaluator(compose((folder, POLICIES), MARKET, {})) as new,
    ):
        for head in jobs.heads():
            record = parse_job(head.job().text, head.job().file)
            before, after = (document(one.run(record)) for one in (old, new))
            lines = [{(x["id"], x["state"], x["tier"], x["size"]) for x in one["lines"]} for one in (before, after)]
            amounts = [one["totals"]["amount"] or "" for one in (before, after)]
            answer = most.get(head.name)
            assert (answer is not None and any(line.kind != "repriced" for line in answer.lines)) == (
                lines[0] != lines[1]
            )
            if answer is not None:
                assert [answer.before, answer.after] == amounts
            assert answer is not None or amounts[0] == amounts[1]
    assert most


def test_sums_are_exact_and_of_every_priced_job(whole: Told) -> None:
    market = whole.summary.markets[MARKET]
    assert market.jobs + whole.summary.unpriced == _JOBS
    assert market.difference == sum((one * count for one, count in whole.summary.differences.items()), Decimal(0))


def test_reach_leaves_out_only_jobs_that_come_out_the_same(folder: Path, jobs: Held, whole: Told) -> None:
    few = asked(folder)
    told = replay(jobs, few, Here(few))
    assert _same(told, whole)
    assert told.summary.sorts["apart"]


def test_several_processes_tell_the_same(folder: Path, jobs: Held, whole: Told) -> None:
    every = asked(folder, everything=True)
    assert data_of(replay(jobs, every, Pool(every, 2))) == data_of(whole)


def test_a_job_that_kills_its_worker_is_named_and_all_others_are_compared(
    folder: Path, jobs: Held, whole: Told
) -> None:
    every = asked(folder, everything=True)
    deaths: list[tuple[str, int | None]] = []
    pool = Pool(every, 2, lambda job, code: deaths.append((job, code)))
    pool.serve = serve
    held = [head.job() for head in jobs.heads()]
    more = Held([*held[:3], Job(LETHAL, LETHAL, b""), *held[3:]])
    told = replay(more, every, pool, trees=False)
    assert deaths == [(LETHAL, -9), (LETHAL, -9)]
    assert [job for job, _ in told.summary.failed] == [LETHAL]
    assert _same(replace(told, trees=whole.trees, jobs=whole.jobs), replace(whole, summary=told.summary))
    assert told.summary.markets == whole.summary.markets


def test_a_record_that_cannot_be_read_is_named_and_the_rest_is_compared(folder: Path, jobs: Held) -> None:
    few = asked(folder)
    held = [head.job() for head in jobs.heads()][:2]
    told = replay(Held([Job("bad.toml", "bad.toml", b"id = "), *held]), few, Here(few))
    assert [job for job, _ in told.summary.failed] == ["bad.toml"]
    assert told.jobs == 3


def test_a_journal_is_gone_on_with_and_a_torn_line_is_done_again(
    folder: Path, jobs: Held, whole: Told, tmp_path: Path
) -> None:
    every = asked(folder, everything=True)
    path = tmp_path / "replay.journal"
    first = Journal(path, every)
    replay(jobs, every, Here(every), journal=first, trees=False)
    first.close(finished=False)
    lines = path.read_text().splitlines(keepends=True)
    assert len(lines) == 1 + _JOBS
    path.write_text("".join(lines[:5]) + lines[5][:-20])
    second = Journal(path, every)
    assert len(second.done) == 4
    counted = _Counting(every)
    told = replay(jobs, every, counted, journal=second)
    assert counted.compared == _JOBS - 4
    assert data_of(told) == data_of(whole)
    second.close(finished=True)
    assert not path.exists()


def test_a_journal_of_another_policy_is_begun_anew(folder: Path, jobs: Held, tmp_path: Path) -> None:
    path = tmp_path / "replay.journal"
    every = asked(folder, everything=True)
    first = Journal(path, every)
    replay(Held([head.job() for head in jobs.heads()][:2]), every, Here(every), journal=first, trees=False)
    first.close(finished=False)
    assert not Journal(path, asked(folder)).done


class _Counting(Here):
    """Counts what it is given."""

    def __init__(self, asked: Asked) -> None:
        super().__init__(asked)
        self.compared = 0

    def compare(self, jobs):  # type: ignore[no-untyped-def]
        for done in super().compare(jobs):
            self.compared += 1
            yield done


def test_kept_facts_decide_without_an_evaluation(folder: Path, jobs: Stored, whole: Told, tmp_path: Path) -> None:
    few = asked(folder, gather=True)
    path = tmp_path / "facts"
    with KeptFacts(path) as kept:
        first = replay(jobs, few, Here(few), facts=kept)
    with KeptFacts(path) as kept:
        assert len(kept) == _JOBS
        counted = _Counting(few)
        second = replay(jobs, few, counted, facts=kept)
    assert counted.compared == _JOBS - first.summary.sorts["apart"] < _JOBS
    assert second.summary.most == first.summary.most
    assert data_of(second)["reach"] == data_of(first)["reach"] == data_of(whole)["reach"]
    assert _same(second, whole), "sums are of all jobs, however each was decided"


def test_trees_that_cannot_be_made_are_told_with_their_reason(
    folder: Path, jobs: Held, whole: Told, monkeypatch: pytest.MonkeyPatch
) -> None:
    every = asked(folder, everything=True)
    answer = whole.summary.most[0]
    lethal = Pool(every, 1)
    lethal.serve = serve
    (died,) = lethal.trees([(Job(LETHAL, LETHAL, b""), answer)])
    (unread,) = Pool(every, 1).trees([(Job("bad.toml", "bad.toml", b"id = "), answer)])
    assert "worker died" in died.why
    assert "bad.toml:1" in unread.why

    def broken(self: Comparer, job: Job, answer: Answer) -> Trees:
        raise RuntimeError("it slipped")

    monkeypatch.setattr(Comparer, "trees", broken)
    told = replay(jobs, every, Here(every))
    assert {one.why for one in told.trees} == {"a fault of the program: RuntimeError: it slipped"}
    assert "a fault of the program: RuntimeError: it slipped" in replay_page(told)
    assert data_of(told)["trees"][0]["why"]


def test_kept_facts_that_were_cut_short_are_passed_over(folder: Path, jobs: Held, tmp_path: Path) -> None:
    few = asked(folder, gather=True)
    path = tmp_path / "facts"
    with KeptFacts(path) as kept:
        replay(jobs, few, Here(few), facts=kept, trees=False)
    path.write_bytes(path.read_bytes()[:-100])
    with KeptFacts(path) as kept:
        assert len(kept) == _JOBS - 1
        replay(jobs, few, Here(few), facts=kept, trees=False)
    with KeptFacts(path) as kept:
        assert len(kept) == _JOBS


@pytest.mark.parametrize("named", ["co_stop", "heat_index_stop", "spill_seconds"])
def test_a_loosened_safety_value_is_named(named: str) -> None:
    # The shipped floors refuse most of these in a file; so the composed policy is loosened here.
    policy = compose(POLICIES, MARKET, {})
    old = policy.parameters[named]
    factor = 2.0 if old.safer == "lower" else 0.5
    looser = replace(policy, parameters={**policy.parameters, named: replace(old, value=float(old.value) * factor)})
    assert any(named in one.said for one in loosened(policy, looser))
    assert not loosened(looser, policy)
    assert not loosened(policy, policy)


def test_a_safety_rule_that_is_gone_is_loosened() -> None:
    policy = compose(POLICIES, MARKET, {})
    name = next(name for name, rule in policy.rules.items() if rule.authority == "safety")
    less = replace(policy, rules={n: rule for n, rule in policy.rules.items() if n != name})
    assert [one for one in loosened(policy, less) if name in one.said]


def test_trees_stand_on_both_sides_and_on_the_page(whole: Told) -> None:
    assert whole.trees
    assert {one.job for one in whole.trees} == {one.job for one in whole.summary.most}
    pair = whole.trees[0].pairs[0]
    assert pair.before
    assert pair.after
    page = replay_page(whole)
    assert pair.line in page
    assert "Trim the door" in page, "an owner reads titles"
    assert ("<svg" in page) == any(whole.summary.differences)
    assert "http://" not in page.replace("http://www.w3.org/2000/svg", "")
    assert json.loads(json.dumps(data_of(whole))) == data_of(whole)


def test_addresses() -> None:
    own = address("own")
    assert not own.fixed
    assert own.of("fog-harbor", {"survey": None}) == ("fog-harbor", {"survey": None})
    day = address("own@2027-01-01").of("fog-harbor", {})
    assert day[0] == "fog-harbor"
    assert str(day[1]["survey"]) == "2027-01-01"
    assert address("copper-basin").of("fog-harbor", {}) == ("copper-basin", {"survey": None})
