"""Settle: strictest authority wins, nothing is resolved in silence."""

import itertools
from types import MappingProxyType

import pytest

from airwarrant.job.subject import Subject
from airwarrant.policy.model import AUTHORITIES, Need, Task, Then
from airwarrant.scope.settle import Settled, settle
from airwarrant.scope.votes import Vote
from airwarrant.source.place import Place

HERE = Place("trade/tasks.toml", 1, 1)


def task(name: str, *groups: str, after: tuple[str, ...] = (), needs: tuple[Need, ...] = ()) -> Task:
    return Task(name, HERE, "trade", {}, name, groups, False, after, needs)


TASKS = {
    t.name: t
    for t in (
        task("replace-elbow", "airflow"),
        task("new-supply-plenum", "airflow", needs=(Need("replace-elbow", "elbow-choking"),)),
        task("add-return", "airflow", "pulls-on-zone", needs=(Need("new-supply-plenum", "plenum-defective"),)),
        task("line-platform-return", "sealing", "pulls-on-zone"),
    )
}
SUBJECTS = {
    s.key: s
    for s in (
        Subject("house", "house"), Subject("elbow", "elbow"), Subject("plenum", "plenum"), Subject("route", "route-a"),
        Subject("route", "route-b"), Subject("zone", "closet"), Subject("zone", "garage"),
        Subject("platform", "platform", links=MappingProxyType({"zone": "closet"})),
    )
}  # fmt: skip


def vote(what: str, name: str, subject: str = "house", authority: str = "practice", **more: str) -> Vote:
    return Vote(
        f"rule-{what}-{name}-{authority}",
        subject,
        SUBJECTS[subject].kind,
        subject,
        authority,
        Then(what, name, **more),
        1,
    )


def line(name: str, subject: str, authority: str = "practice", tier: str = "recommended") -> Vote:
    return vote("line", name, subject, authority, tier=tier)


def states(settled: Settled) -> dict[str, str]:
    return {name: one.state for name, one in settled.lines.items()}


def test_a_hold_beats_a_line_of_its_own_authority() -> None:
    settled = settle([line("add-return", "route-a"), vote("hold", "group:airflow")], TASKS, SUBJECTS, frozenset())
    assert states(settled) == {"add-return@route-a": "held"}


@pytest.mark.parametrize(("weak", "strong"), [(a, b) for b, a in itertools.combinations(AUTHORITIES, 2)])
def test_the_stricter_authority_decides_between_line_and_decline(weak: str, strong: str) -> None:
    yes = settle(
        [line("add-return", "route-a", strong), vote("decline", "task:add-return", authority=weak)],
        TASKS,
        SUBJECTS,
        frozenset(),
    )
    no = settle(
        [line("add-return", "route-a", weak), vote("decline", "task:add-return", authority=strong)],
        TASKS,
        SUBJECTS,
        frozenset(),
    )
    assert states(yes) == {"add-return@route-a": "scoped"}
    assert states(no) == {"add-return@route-a": "declined"}
    assert len(yes.lines["add-return@route-a"].lost) == len(no.lines["add-return@route-a"].lost) == 1


def test_line_against_decline_at_one_authority_is_reported_and_held() -> None:
    settled = settle([line("add-return", "route-a"), vote("decline", "task:add-return")], TASKS, SUBJECTS, frozenset())
    assert states(settled) == {"add-return@route-a": "held"}
    (contradiction,) = settled.contradictions
    assert contradiction.line == "add-return@route-a"
    assert len(contradiction.rules) == 2


def test_the_higher_of_two_tiers_wins_and_the_other_is_kept_as_lost() -> None:
    settled = settle(
        [line("replace-elbow", "elbow", tier="optional"), line("replace-elbow", "elbow", tier="required")],
        TASKS,
        SUBJECTS,
        frozenset(),
    )
    one = settled.lines["replace-elbow@elbow"]
    assert one.tier == "required"
    assert [v.then.tier for v in one.lost] == ["optional"]


def test_a_record_speaks_of_its_own_place_only() -> None:
    votes = [
        line("add-return", "route-a"),
        line("add-return", "route-b"),
        vote("decline", "task:add-return", "route-b", "exclusion"),
    ]
    assert states(settle(votes, TASKS, SUBJECTS, frozenset())) == {
        "add-return@route-a": "scoped",
        "add-return@route-b": "declined",
    }


def test_a_zone_holds_everything_that_pulls_on_it_and_the_lift_frees_exactly_the_cure() -> None:
    hold = vote("hold", "group:pulls-on-zone", "closet", "safety", named="draft")
    lift = vote("lift", "draft", "platform", "safety", for_="line-platform-return", of="zone")
    votes = [line("add-return", "route-a"), line("line-platform-return", "platform", "safety", "required"), hold, lift]
    assert states(settle(votes, TASKS, SUBJECTS, frozenset())) == {
        "add-return@route-a": "held",
        "line-platform-return@platform": "scoped",
    }


def test_a_lift_does_not_free_the_cure_of_one_zone_from_the_hold_of_another() -> None:
    other = vote("hold", "group:pulls-on-zone", "garage", "safety", named="draft")
    lift = vote("lift", "draft", "platform", "safety", for_="line-platform-return", of="zone")
    settled = settle([line("line-platform-return", "platform", "safety"), other, lift], TASKS, SUBJECTS, frozenset())
    assert states(settled) == {"line-platform-return@platform": "held"}


def test_prerequisites_hold_down_the_chain() -> None:
    findings = frozenset({("elbow-choking", "elbow"), ("plenum-defective", "plenum")})
    votes = [line("replace-elbow", "elbow"), line("new-supply-plenum", "plenum"), line("add-return", "route-a")]
    assert set(states(settle(votes, TASKS, SUBJECTS, findings)).values()) == {"scoped"}
    declined = settle(votes, TASKS, SUBJECTS, findings, left_out=frozenset({"replace-elbow@elbow"}))
    assert states(declined) == {
        "replace-elbow@elbow": "left-out", "new-supply-plenum@plenum": "held", "add-return@route-a": "held",
    }  # fmt: skip
    assert declined.lines["add-return@route-a"].held_by[0].name == "needs:new-supply-plenum"


def test_what_safety_requires_cannot_be_left_out() -> None:
    votes = [line("line-platform-return", "platform", "safety", "required")]
    settled = settle(votes, TASKS, SUBJECTS, frozenset(), left_out=frozenset({"line-platform-return@platform"}))
    assert states(settled) == {"line-platform-return@platform": "scoped"}
    assert settled.overruled_left_out == ("line-platform-return@platform",)


def test_the_order_of_votes_changes_nothing() -> None:
    votes = [
        line("add-return", "route-a"), line("add-return", "route-a", "code", "required"),
        vote("decline", "group:airflow", authority="exclusion"),
        vote("hold", "group:pulls-on-zone", "closet", "safety", named="draft"), line("replace-elbow", "elbow"),
    ]  # fmt: skip
    first = settle(votes, TASKS, SUBJECTS, frozenset())
    for shuffled in itertools.permutations(votes):
        assert settle(shuffled, TASKS, SUBJECTS, frozenset()).lines == first.lines


def test_a_hold_on_the_proposal_is_no_line() -> None:
    settled = settle([vote("hold", "proposal", authority="listing")], TASKS, SUBJECTS, frozenset())
    assert settled.lines == {}
    assert len(settled.proposal_holds) == 1
