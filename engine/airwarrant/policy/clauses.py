"""Clauses of rules: words held against the dictionary, names against the policy, targets resolved."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Literal

from airwarrant.errors import nearest
from airwarrant.job.dictionary import HOUSE_KEY, KINDS
from airwarrant.policy.checks import known_kind
from airwarrant.policy.conclusions import Concluded
from airwarrant.policy.faults import Faults, words
from airwarrant.policy.layers import Block, Layered
from airwarrant.policy.model import (
    CarriedClause,
    Check,
    CheckClause,
    Clause,
    FactClause,
    FindingClause,
    LineClause,
    ManyClause,
    WhereClause,
    Words,
)
from airwarrant.source.place import Place

Quantifier = Literal["some", "every", "none"]
_QUANTIFIERS: tuple[Quantifier, ...] = ("some", "every", "none")


@dataclass(frozen=True, slots=True)
class ClauseReader:
    """Builds the clauses of one policy's rules and notes what is wrong with them."""

    checks: Mapping[str, Check]
    concluded: Concluded
    layered: Layered
    faults: Faults

    def clause(self, raw: Mapping[str, Any], each: str, rule: Block, *path: str | int) -> Clause | None:
        """Build one clause of a rule for subjects of kind `each`; None after a fault."""
        place = rule.at(str(path[0]), *path[1:])
        for quantifier in _QUANTIFIERS:
            if quantifier in raw:
                return self._many(quantifier, raw, rule, path)
        if "fact" in raw:
            return self._fact(raw, each, rule, path)
        if "check" in raw:
            return self._check(raw, each, rule, path)
        if "finding" in raw:
            name = raw["finding"]
            target = self._placed("finding", name, raw.get("of"), each, rule.at(str(path[0]), *path[1:], "finding"))
            return FindingClause(name, target) if target else None
        if "line" in raw:
            name = raw["line"]
            target = self._placed("line", name, raw.get("of"), each, rule.at(str(path[0]), *path[1:], "line"))
            return LineClause(name, target) if target else None
        if "carried" in raw:
            return CarriedClause(raw["carried"]) if self.known_task(raw["carried"], place) else None
        where = self.where(raw["where"], each, rule, *path, "where")
        return WhereClause(where) if where is not None else None

    def where(self, raw: Mapping[str, Any], kind: str, rule: Block, *path: str | int) -> Words | None:
        """Build a test of words of a kind."""
        out = []
        for field_name in sorted(raw):
            place = rule.at(str(path[0]), *path[1:], field_name)
            found = self._words(field_name, raw[field_name], kind, place)
            if found is None:
                return None
            out.append((field_name, found))
        return tuple(out)

    def known_task(self, name: str, place: Place) -> bool:
        """Whether a task exists; a fault if it does not."""
        if name in self.concluded.tasks or self.layered.may_be(name):
            return True
        tasks = sorted(self.concluded.tasks)
        self.faults.note(
            "unknown-task", f"there is no task `{name}`", words(tasks), place=place, advice=nearest(name, tasks)
        )
        return False

    def link(self, name: str, each: str, place: Place) -> str | None:
        """Return the kind that a link field of `each` names; None after a fault."""
        found = KINDS[each].fields.get(name)
        if found is not None and found.form == "link":
            return found.kind
        links = [n for n, f in KINDS[each].fields.items() if f.form == "link"]
        self.faults.note(
            "unknown-link",
            f"a {each} has no link `{name}`",
            words([*links, HOUSE_KEY]),
            place=place,
            advice=nearest(name, [*links, HOUSE_KEY]),
        )
        return None

    def check_named(self, name: str, place: Place) -> Check | None:
        """Return a check; None after a fault, or where the check itself is at fault."""
        if name in self.checks:
            return self.checks[name]
        if name not in self.layered.blocks["check"] and not self.layered.may_be(name):
            self.faults.note(
                "unknown-check",
                f"there is no check `{name}`",
                "a check of this policy",
                place=place,
                advice=nearest(name, self.checks),
            )
        return None

    def _words(self, name: str, raw: Any, kind: str, place: Place) -> tuple[str, ...] | None:
        field = KINDS[kind].fields.get(name)
        closed = [n for n, f in KINDS[kind].fields.items() if f.form == "word"]
        if field is None:
            self.faults.note(
                "unknown-field",
                f"a {kind} has no word `{name}`",
                words(closed),
                place=place,
                advice=nearest(name, closed),
            )
            return None
        if field.form == "link":
            self.faults.note(
                "link-in-where",
                f"`{name}` names another record",
                "a word field",
                place=place,
                advice=f'Use `of = "{name}"` or a `fact` clause.',
            )
            return None
        if field.form != "word":
            self.faults.note(
                "number-in-rule",
                f"`{name}` is a number and rules use only words",
                words(closed),
                place=place,
                advice="Make a check of it and read the check's word.",
            )
            return None
        wanted = (raw,) if isinstance(raw, str) else tuple(raw)
        for word in wanted:
            if word not in field.words:
                self.faults.note(
                    "unknown-word",
                    f"`{word}` is no word of `{name}`",
                    words(field.words),
                    place=place,
                    advice=nearest(word, field.words),
                )
                return None
        return tuple(sorted(set(wanted)))

    def _check(self, raw: Mapping[str, Any], each: str, rule: Block, path: tuple[str | int, ...]) -> CheckClause | None:
        place = rule.at(str(path[0]), *path[1:], "check")
        check = self.check_named(raw["check"], place)
        of = raw.get("of")
        if check is None:
            return None
        if of is None:
            if check.each not in (each, HOUSE_KEY):
                self.faults.note(
                    "wrong-kind",
                    f"check `{check.name}` judges a {check.each}, the rule a {each}",
                    f'`of` with a link to a {check.each}, or {{ some = "{check.each}", check = … }}',
                    place=place,
                )
                return None
            target = "own" if check.each == each else HOUSE_KEY
        else:
            kind = HOUSE_KEY if of == HOUSE_KEY else self.link(of, each, rule.at(str(path[0]), *path[1:], "of"))
            if kind is None:
                return None
            if kind != check.each:
                self.faults.note(
                    "wrong-kind",
                    f"check `{check.name}` judges a {check.each}, `{of}` is a {kind}",
                    f"a check of a {kind}",
                    place=place,
                )
                return None
            target = of
        return CheckClause(check.name, _verdicts(raw["is"]), raw.get("time", "found"), target)

    def _placed(self, what: str, name: str, of: str | None, each: str, place: Place) -> str | None:
        """Resolve where a finding or line clause looks."""
        held = self.concluded.findings if what == "finding" else self.concluded.lines
        if what == "line" and not self.known_task(name, place):
            return None
        kinds = held.get(name)
        if kinds is None:
            if not self.layered.broken_rules:
                code, found = ("unknown-finding", "concludes") if what == "finding" else ("unknown-line", "asks for")
                self.faults.note(
                    code,
                    f"no rule {found} `{name}`",
                    f"a {what} that a rule concludes",
                    place=place,
                    advice=nearest(name, held),
                )
            return None
        if of is None:
            target = "own" if each in kinds else HOUSE_KEY
            if target == HOUSE_KEY and HOUSE_KEY not in kinds:
                kind = min(kinds)
                self.faults.note(
                    "wrong-kind",
                    f"{what} `{name}` stands at a {' or '.join(sorted(kinds))}, the rule is of a {each}",
                    f'`of` with a link to it, or {{ some = "{kind}", {what} = "{name}" }}',
                    place=place,
                )
                return None
            return target
        kind_of = HOUSE_KEY if of == HOUSE_KEY else self.link(of, each, place)
        if kind_of is None:
            return None
        if kind_of not in kinds:
            self.faults.note(
                "wrong-kind",
                f"{what} `{name}` never stands at a {kind_of}",
                f"it stands at a {' or '.join(sorted(kinds))}",
                place=place,
            )
            return None
        return of

    def _many(
        self, quantifier: Quantifier, raw: Mapping[str, Any], rule: Block, path: tuple[str | int, ...]
    ) -> ManyClause | None:
        kind = raw[quantifier]
        place = rule.at(str(path[0]), *path[1:], quantifier)
        if not known_kind(kind, place, self.faults):
            return None
        where = self.where(raw["where"], kind, rule, *path, "where") if "where" in raw else ()
        if where is None:
            return None
        tests = [key for key in ("check", "finding", "line") if key in raw]
        if len(tests) > 1:
            self.faults.note(
                "two-alternatives", f"a clause with {words(tests)}", "one of check, finding, line", place=place
            )
            return None
        if ("check" in raw) != ("is" in raw) or ("time" in raw and "check" not in raw):
            self.faults.note(
                "missing-key", "`check` and `is` stand together, `time` only with them", "both or neither", place=place
            )
            return None
        if "check" in raw:
            check = self.check_named(raw["check"], rule.at(str(path[0]), *path[1:], "check"))
            if check is None:
                return None
            if check.each != kind:
                self.faults.note(
                    "wrong-kind",
                    f"check `{check.name}` judges a {check.each}, the clause a {kind}",
                    f"a check of a {kind}",
                    place=place,
                )
                return None
            return ManyClause(quantifier, kind, where, raw["check"], _verdicts(raw["is"]), raw.get("time", "found"))
        if tests:
            what = tests[0]
            target = self._placed(what, raw[what], None, kind, rule.at(str(path[0]), *path[1:], what))
            if target is None:
                return None
            if target != "own":
                self.faults.note(
                    "wrong-kind", f"{what} `{raw[what]}` never stands at a {kind}", f"a {what} of a {kind}", place=place
                )
                return None
        return ManyClause(quantifier, kind, where, finding=raw.get("finding", ""), line=raw.get("line", ""))

    def _fact(self, raw: Mapping[str, Any], each: str, rule: Block, path: tuple[str | int, ...]) -> FactClause | None:
        kind = raw["fact"]
        place = rule.at(str(path[0]), *path[1:], "fact")
        if not known_kind(kind, place, self.faults):
            return None
        same = []
        for its, mine in sorted(raw.get("same", {}).items()):
            at = rule.at(str(path[0]), *path[1:], "same", its)
            theirs, ours = self._joined(its, kind, at), self._joined(mine, each, at)
            if theirs is None or ours is None:
                return None
            if theirs != ours:
                self.faults.note(
                    "wrong-kind", f"`{its}` is {theirs}, `{mine}` is {ours}", "two fields that can be equal", place=at
                )
                return None
            same.append((its, mine))
        tests = {key: value for key, value in raw.items() if key not in ("fact", "same")}
        where = self.where(tests, kind, rule, *path)
        return FactClause(kind, tuple(same), where) if where is not None else None

    def _joined(self, name: str, kind: str, place: Place) -> str | None:
        if name == "id":
            return f"a {kind}"
        field = KINDS[kind].fields.get(name)
        if field is not None and field.form == "link":
            return f"a {field.kind}"
        if field is not None and field.form == "word":
            return "a word"
        known = ["id", *(n for n, f in KINDS[kind].fields.items() if f.form in ("link", "word"))]
        self.faults.note(
            "unknown-field",
            f"a {kind} has no word or link `{name}`",
            words(known),
            place=place,
            advice=nearest(name, known),
        )
        return None


def _verdicts(raw: Any) -> tuple[Any, ...]:
    return (raw,) if isinstance(raw, str) else tuple(sorted(set(raw)))
