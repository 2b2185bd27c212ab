"""Values and checks that nothing reads: changing one changes no job."""

from collections.abc import Iterator

from airwarrant.desks.analysis.refs import refs_read
from airwarrant.desks.usual import LEAST, MOST
from airwarrant.errors import Fault
from airwarrant.policy.model import Named, Policy
from airwarrant.policy.prices import NEEDED
from airwarrant.policy.steering import ASSUMED, PLUS_MINUS, STEERING
from airwarrant.rules.clauses import checks_read

#: Tables that the program itself reads, by how their names begin: the doubt of a reading, its usual range, its effort.
_OWN_TABLES = (PLUS_MINUS, LEAST, MOST, "reread_hours")


def unread(policy: Policy) -> Iterator[Fault]:
    """Yield a warning for each parameter, table, figure and check of one policy that nothing reads.

    What another market reads is no fault: hold the answers of all markets together.
    """
    read = _names_read(policy)
    blocks: list[tuple[str, Named]] = []
    blocks += [("parameter", one) for one in policy.parameters.values()]
    blocks += [("table", one) for one in policy.tables.values()]
    blocks += [("figure", one) for one in policy.figures.values()]
    for section, block in blocks:
        if (section, block.name) not in read and not _program_reads(section, block.name):
            found = (
                f"no check, figure, rule or size reads the {section} `{block.name}`, and the program does not either"
            )
            advice = "Take it out, or let a check or size read it."
            yield Fault("unread-value", found, "a value that something reads", block.place, block.name, advice)
    asked = {check for rule in policy.rules.values() for check, _ in checks_read(rule)}
    asked |= {then.name for rule in policy.rules.values() for then in rule.then if then.what == "target"}
    for check in policy.checks.values():
        if check.name not in asked and not check.acceptance:
            found = f"no rule reads the check `{check.name}`, and no test-out is held to it"
            yield Fault("unread-check", found, "a check that a rule reads", check.place, check.name)


def _program_reads(section: str, name: str) -> bool:
    if section == "parameter":
        return name in STEERING or name in NEEDED or name.startswith(ASSUMED)
    return section == "table" and name.startswith(_OWN_TABLES)


def _names_read(policy: Policy) -> frozenset[tuple[str, str]]:
    sections = {"parameter": "parameter", "table": "table", "figure": "figure", "house": "figure"}
    found = {(sections[ref.form], ref.name) for ref, _, _ in refs_read(policy) if ref.form in sections}
    # A table goes by a field or a figure.
    return frozenset(found | {("figure", policy.tables[name].by) for section, name in found if section == "table"})
