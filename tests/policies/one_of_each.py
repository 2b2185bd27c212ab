"""A house with one thing of each kind, whose numbers are made up as they are asked for; and the policies of markets."""

from dataclasses import dataclass, field
from datetime import date
from types import MappingProxyType

from airwarrant.desks.usual import usual_ranges
from airwarrant.job.dictionary import KINDS
from airwarrant.job.fields import EXPECTED
from airwarrant.job.readings import Reading
from airwarrant.job.subject import Subject
from airwarrant.policy.compose import compose
from airwarrant.policy.model import Policy
from airwarrant.rules.judge import Judge
from airwarrant.rules.prepared import Prepared
from airwarrant.rules.verdict import Verdict
from airwarrant.shipped import shipped

DATES = dict.fromkeys(("survey", "proposal", "permit"), date(2026, 7, 1))
#: The regions' own markets first, then those that adopted a code.
MARKETS = (
    "clay-hollow", "copper-basin", "mosswater-bend", "larchmere-notch", "fog-harbor", "juniper-sill", "quillback-cove", "slatewater-gap",
)  # fmt: skip


@dataclass
class House:
    """One thing of each kind; `off` is the ± of the number `of`, as a share of it, the others are exact."""

    policy: Policy
    numbers: dict[str, float] = field(default_factory=dict)
    of: str = ""
    off: float = 0.0

    def source(self, key: str, name: str, _: str) -> Reading:
        known = f"{key}.{name}"
        value = self.numbers.setdefault(known, _usual(self.policy, name))
        off = abs(value) * self.off if known == self.of else 0.0
        of = KINDS[key].fields[name]
        state = "measured" if of.form == "reading" else "stated"
        return Reading(value, of.unit, state, off, "", None, None, "", MappingProxyType({}))

    def judge(self, check: str) -> Verdict:
        """What a check says of its own kind's thing."""
        words = {table.by: str(table.rows[0][0]) for table in self.policy.tables.values() if not table.by_unit}
        kinds = {name: (Subject(name, name, MappingProxyType(words)),) for name in KINDS}
        judge = Judge(Prepared(self.policy), kinds, self.source)
        one = self.policy.checks[check]
        return judge.judge(one, kinds[one.each][0], "found")


def policy_of(market: str) -> Policy:
    return compose(shipped("policies"), market, DATES)


def _usual(policy: Policy, name: str) -> float:
    # What is expected of a reading is as large as the reading itself.
    known = usual_ranges(policy).get(name.removeprefix(EXPECTED))
    return float(f"{(known.low + known.high) / 2 or known.high:.2g}") if known else 10.0
