"""When a question must be answered: before the sale, but for what only the work itself can bring to light.

An offer is a promise; what decides whether or for how much it is made is known before it is signed. What waits longer is named here,
each with its reason. Source: common practice of the trade.
"""

import pytest

from airwarrant.policy.model import Policy
from policies.one_of_each import policy_of

#: rule, why it may wait, and until when
LATER: dict[str, tuple[str, str]] = {
    # The crew dries, and sees that it is dry, before it covers or seals.
    **dict.fromkeys(
        ("guard.damp-run", "guard.damp-trunk", "guard.damp-return", "guard.damp-plenum", "guard.wet-return", "guard.wet-trunk",
         "guard.wet-run"),
        ("what is damp is dried by the crew before it is covered", "during-work"),
    ),
    "guard.garage-return": ("the return through the garage is replaced by the crew itself", "during-work"),
    # A unit that does not run shows nothing before the new one does.
    "trust.unit-dead": ("a dead unit moves no air to read", "during-work"),
    "trust.dead-unit-ducts": ("a dead unit moves no air to read", "during-work"),
    "trust.other-system": ("the other system is read while this one is worked on", "during-work"),
    "trust.table-counts-a-filter": ("the airflow is read again on the new unit", "during-work"),
    "trust.leakage-before-judging": ("leakage is read when the crew brings the fan", "during-work"),
    # Rooms and doors follow the blower: read when it stands as it stays.
    "grow.system-airflow-first": ("rooms are balanced on the air there then is", "during-work"),
    "scope.door-waits": ("a shut door holds back what its room then gets", "during-work"),
    "grow.reread-door": ("a shut door holds back what its room then gets", "during-work"),
    "grow.reread-door-unbalanced": ("a shut door holds back what its room then gets", "during-work"),
    "scope.reread-after-balance": ("a shut door holds back what its room then gets", "during-work"),
    # Only the finished work can be read.
    "cross.test-out-conditions": ("the last readings are what is asked about", "at-test-out"),
    "scope.finer-filter": ("the filter that is bought is read where it sits", "at-test-out"),
    "grow.complaint-in-doubt": ("the room is read once more at the end", "at-test-out"),
}  # fmt: skip
ASKING = [
    "cross.airflow-refused", "cross.asbestos-not-answered", "cross.asbestos-not-listed", "cross.constant-airflow",
    "cross.diameter-over-jacket", "cross.filter-after", "cross.gas-without-appliance", "cross.lead-not-answered",
    "cross.lead-not-tested", "cross.return-drops",
    "cross.return-drops-elbow", "cross.supply-drops", "cross.supply-drops-parts", "find.gain-unread", "find.supply-parts-unread",
    "grow.no-capacity", "guard.asbestos", "guard.co-unmeasured", "guard.crawl-hazard", "guard.draft", "guard.draft-not-worst",
    "guard.draft-untested", "guard.flame-not-watched", "guard.gas-not-answered", "guard.heat-rise", "guard.jurisdiction",
    "guard.live-wiring", "guard.maker-maximum", "guard.maker-minimum", "guard.manufactured-static", "guard.mould-like",
    "guard.nameplate", "guard.not-eligible", "guard.return-flame-unmeasured", "guard.return-source-unknown", "guard.seal-over-wet",
    "guard.seal-over-wrap", "guard.spillage-untested", "guard.structure", "guard.wet-not-looked", "guard.wet-platform",
    "guard.zone-not-surveyed", "scope.elbow-access-unknown", "scope.look-along-return", "scope.unread-complaint", "trust.as-used",
    "trust.bypass-open", "trust.dirty-filter", "trust.every-zone", "trust.fan-setting", "trust.hidden-watts", "trust.measure-first",
    "trust.read-the-statics", "trust.return-leg-unread", "trust.stale", "trust.static-adds-up", "trust.supply-leg-unread", *LATER,
]  # fmt: skip


@pytest.fixture(scope="module")
def policy() -> Policy:
    return policy_of("juniper-sill")


@pytest.mark.parametrize("rule", ASKING)
def test_it_is_known_before_the_sale_or_there_is_a_reason(policy: Policy, rule: str) -> None:
    why, when = LATER.get(rule, ("a promise rests on it", "before-sale"))
    asked = {then.when for then in policy.rules[rule].then if then.what in ("hold", "retest")}
    assert asked == {when}, why


def test_every_rule_that_waits_for_an_answer_is_here(policy: Policy) -> None:
    asking = {
        name for name, rule in policy.rules.items() if any(t.what in ("hold", "retest") and t.when for t in rule.then)
    }
    assert asking == set(ASKING)
