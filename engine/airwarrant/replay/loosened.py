"""What of safety the second policy holds looser than the first, or does not show to be as strict.

Followed is all that a rule of safety's authority rests on: its own text, the checks whose words it hears, every value, table and figure
below them, the ± of what they read, and the rules whose findings it reads. A value that is called safer on one side says itself which
way is looser; of any other it is worked out what the safety rules hear less of. Where one hears what is predicted, fewer rounds and any
other assumption are told, but not which way they go; what a task changes in the house, and the tables that only a prediction reads, are not
followed. Nor is that a rule which finds more, and so holds more, lets another rule lift the same hold of yet another rule.
"""

from collections.abc import Iterator
from dataclasses import replace

from airwarrant.policy.digest import same_meaning
from airwarrant.policy.model import Check, Policy, Rule
from airwarrant.replay.feeding import holds
from airwarrant.replay.followed import CODE, LAW, SAFETY, UNCLEAR, Looser, Rests
from airwarrant.replay.heard import Heard, Strength, judged_again, worst
from airwarrant.replay.looser_values import LooserValues
from airwarrant.replay.moved import limit_moved, opposed
from airwarrant.replay.rule_strength import later, rule_beside


def loosened(a: Policy, b: Policy) -> tuple[Looser, ...]:
    """Return each change, in the order values, checks, rules, tasks and by name.

    A safety rule or a check of one counts as loosened where nothing shows that it is as strict. A value, figure or rule of the
    company's below it of which that is not known, a practice rule whose finding it reads, and whatever makes a rule of adopted law act
    in fewer cases, is only told. What law asks for may change with its edition.
    """
    return tuple(dict.fromkeys((*_Loosened(Rests(a, b, SAFETY)).of_safety(), *_Loosened(Rests(a, b, CODE)).of_law())))


class _Loosened:
    """Looks through the checks, rules and tasks of two policies, and has their values looked through."""

    def __init__(self, rests: Rests) -> None:
        self._r = rests

    def of_safety(self) -> Iterator[Looser]:
        yield from LooserValues(self._r).all()
        yield from self._of_checks()
        yield from self._of_rules()
        yield from self._fed()
        yield from self._doubting()
        yield from self._lifting()
        yield from self._of_tasks()

    def of_law(self) -> Iterator[Looser]:
        for several in (LooserValues(self._r).all(), self._of_checks(), self._of_rules()):
            yield from (one._replace(ending=LAW) for one in several)

    def _of_checks(self) -> Iterator[Looser]:
        for one in self._r.checks:
            old, new = one.check, self._r.b.checks.get(one.check.name)
            if new is not None and one.own and self._read_later(old, new, one.heard):
                yield Looser(
                    f"the check “{old.title}” ({old.name}), which a {self._r.whose} reads, may be read again later than before"
                )
            if new is not None and _as_it_was(old, new):
                continue
            strength, how = self._check(old, new, one.heard)
            if strength == "strict":
                continue
            if one.own:
                yield Looser(f"the check “{old.title}” ({old.name}), which a {self._r.whose} reads, {how}")
            else:
                yield Looser(
                    f"the check “{old.title}” ({old.name}), on which a {self._r.whose} rests, is changed", UNCLEAR
                )

    def _read_later(self, old: Check, new: Check, by: tuple[Heard, ...]) -> bool:
        """Whether what is too close to call waits longer for the reading that decides it."""
        decides = any(("pass" in one.words) != ("fail" in one.words) for one in by)
        if not decides or not old.doubt == new.doubt == "retest":
            return False
        before, after = (_again(policy, check) for policy, check in ((self._r.a, old), (self._r.b, new)))
        return later(before, after)

    def _check(self, old: Check, new: Check | None, by: tuple[Heard, ...]) -> tuple[Strength, str]:
        if new is None:
            return "looser", "is gone"
        if (old.each, old.reading) != (new.each, new.reading):
            return "unclear", "judges something else: nothing shows that it is as strict"
        if old.acceptance and not new.acceptance:
            return "looser", "is no longer part of acceptance"
        found = [
            (judged_again(old, replace(old, must_be=new.must_be), by), f"is met where it is {new.must_be} its limit"),
            (judged_again(old, replace(old, doubt=new.doubt), by), "counts what is too close to call otherwise"),
            (judged_again(old, replace(old, needs=new.needs), by), "takes readings of another state"),
            (judged_again(old, old, by, opposed(-1, limit_moved(self._r.a, self._r.b, old, new))), "has another limit"),
        ]
        strength = worst(one for (one, _), _ in found)
        how = next((how for (one, _), how in found if one == strength), "")
        return strength, how + ("" if strength == "looser" else ": nothing shows that it is as strict")

    # ------------------------------------------------------------------------------------------------ rules, tasks

    def _of_rules(self) -> Iterator[Looser]:
        for old, _ in self._r.rules:
            yield from self._rule_rights(old)
            strength, how = rule_beside(old, self._r.b.rules.get(old.name))
            if strength != "strict":
                proved = "" if strength == "looser" else ": nothing shows that it is as strict"
                yield Looser(f"the {self._r.whose} “{old.title}” ({old.name}) {how}{proved}")

    def _rule_rights(self, old: Rule) -> Iterator[Looser]:
        new = self._r.b.rules.get(old.name)
        if new is not None and self._r.safety and _edit(old) == "locked" and _edit(new) != "locked":
            yield Looser(f"the safety rule “{old.title}” ({old.name}) is no longer locked")

    def _fed(self) -> Iterator[Looser]:
        """Rules whose findings safety rules read."""
        for old, sign in self._r.feeding:
            new = self._r.b.rules.get(old.name)
            if _finds(old, new, sign) != "strict":
                gone = "gone" if new is None else "changed"
                yield Looser(
                    f"the rule “{old.title}” ({old.name}), on whose finding a safety rule rests, is {gone}", UNCLEAR
                )
        for name, new in self._r.b.rules.items():
            before = self._r.a.rules[name].then if name in self._r.a.rules else ()
            silencing = {finding: lifted for finding, lifted in self._r.silencing if not lifted & holds(new)}
            found = [
                then for then in new.then if then.what == "finding" and then.name in silencing and then not in before
            ]
            if found:
                finds = found[0].name
                does = "lets a rule lift what safety holds" if silencing[finds] else "keeps a safety rule silent"
                yield Looser(f"the rule “{new.title}” ({name}) finds {finds}, which {does}", UNCLEAR)

    def _doubting(self) -> Iterator[Looser]:
        """Rules that widen the ± of what a safety rule's check rests on: what a narrower or a wider one takes from the rule."""
        for name in {**self._r.a.rules, **self._r.b.rules}:
            old, new = self._r.a.rules.get(name), self._r.b.rules.get(name)
            for field in sorted({*_fields_widened(old), *_fields_widened(new)}):
                parts = _widening(old, field), _widening(new, field)
                yield from self._wider(name, field, *parts)

    def _wider(self, name: str, field: str, old: Rule | None, new: Rule | None) -> Iterator[Looser]:
        # A safety rule that widens less is told among the rules themselves.
        was_safety = name in self._r.a.rules and self._r.a.rules[name].authority == SAFETY
        less = old is not None and not was_safety and rule_beside(old, new)[0] != "strict"
        more = new is not None and (old is None or rule_beside(new, old)[0] != "strict")
        rule = old or new
        assert rule is not None
        for one in self._r.checks:
            if not one.own or ("field", field) not in self._r.rests[one.check.name]:
                continue
            said, check = f"the rule “{rule.title}” ({name})", f"“{one.check.title}” ({one.check.name})"
            if less and judged_again(one.check, one.check, one.heard, 0, -1)[0] != "strict":
                yield Looser(f"{said} no longer widens, wherever it did, what the safety check {check} reads")
            if more and judged_again(one.check, one.check, one.heard, 0, 1)[0] != "strict":
                yield Looser(
                    f"{said} widens, where it did not, what the safety check {check} reads: more is too close to call"
                )

    def _lifting(self) -> Iterator[Looser]:
        """Rules that free what safety holds, and are no safety rules of both."""
        safety = {rule.name for rule, _ in self._r.rules}
        for name, new in self._r.b.rules.items():
            old = self._r.a.rules.get(name)
            known = () if old is None else old.then
            lifts = self._r.lifted(new)
            if name in safety or not lifts:
                continue
            if old is None or any(then not in known for then in lifts) or rule_beside(new, old)[0] != "strict":
                yield Looser(
                    f"the rule “{new.title}” ({name}) lifts {lifts[0].name}, which a safety rule holds, where none did"
                )

    def _of_tasks(self) -> Iterator[Looser]:
        held = {then.name for rule, _ in self._r.rules for then in rule.then if then.what in ("hold", "decline")}
        findings = {then.name for rule, _ in self._r.rules for then in rule.then if then.what == "finding"}
        for name, old in self._r.a.tasks.items():
            new = self._r.b.tasks.get(name)
            if new is None:
                continue
            for group in old.groups:
                if f"group:{group}" in held and group not in new.groups:
                    yield Looser(
                        f"the task “{old.title}” ({name}) is no longer of the group {group}, which a safety rule holds"
                    )
            for need in old.needs:
                if need.while_finding in findings and need not in new.needs:
                    yield Looser(
                        f"the task “{old.title}” ({name}) no longer needs {need.task} while {need.while_finding} stands"
                    )


def _finds(old: Rule, new: Rule | None, sign: int) -> Strength:
    """Whether a rule finds at least what it found, or where it is safer silent at most that."""
    if sign > 0:
        return rule_beside(old, new)[0]
    findings = None if new is None else tuple(then for then in new.then if then.what == "finding" and then in old.then)
    if new is None or not findings:
        return "strict"
    return rule_beside(replace(new, then=findings, authority=old.authority), old)[0]


def _fields_widened(rule: Rule | None) -> list[str]:
    return [] if rule is None else [then.name for then in rule.then if then.what == "doubt"]


def _widening(rule: Rule | None, field: str) -> Rule | None:
    """What a rule says of the ± of one field, by whatever authority."""
    if rule is None or field not in _fields_widened(rule):
        return None
    said = tuple(then for then in rule.then if then.what == "doubt" and then.name == field)
    return replace(rule, then=said, authority="data")


def _edit(rule: Rule) -> str:
    """Who may edit a rule; empty where it is not said."""
    said = rule.keys.get("edit")
    return "" if said is None else str(said.value)


def _again(policy: Policy, check: Check) -> str:
    """When a reading that is too close to call is taken again."""
    usual = policy.parameters.get("doubt_when")
    return check.retest_when or ("" if usual is None else str(usual.value))


def _as_it_was(old: Check, new: Check) -> bool:
    return same_meaning(replace(old, title="", retest_when=""), replace(new, title="", retest_when=""))
