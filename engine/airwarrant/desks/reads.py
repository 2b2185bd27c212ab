"""What a market reads of a job record: its rules, checks, tables, sizes and prices, and the air model."""

from collections.abc import Iterable, Iterator

from airwarrant.desks.model_reads import MODEL
from airwarrant.job.dictionary import HOUSE_KEY, KINDS
from airwarrant.policy.model import Check, Clause, FactClause, ManyClause, Policy, Ref, Rule, Size, WhereClause, Words
from airwarrant.policy.price_model import PriceBook, Quantity, WorkPrice

#: (kind, field of the dictionary)
Asked = tuple[str, str]


def reads_of(policy: Policy) -> frozenset[Asked]:
    """Return every field that a market reads, by kind; derived fields too."""
    reads = _Reads(policy)
    found = {(kind, name) for kind, names in MODEL.items() for name in names}
    for check in policy.checks.values():
        found.update(reads.check(check))
    for rule in policy.rules.values():
        found.update(words_of(rule))
        found.update((rule.each, then.name) for then in rule.then if then.what == "retest")
        found.update(asked for then in rule.then if then.to for asked in reads.ref(then.to, rule.each))
    for name, task in policy.tasks.items():
        for kind in places_of(policy, name):
            found.update(asked for size in task.sizes for ref in _size_refs(size) for asked in reads.ref(ref, kind))
    if policy.prices is not None:
        found.update(_of_prices(policy, policy.prices))
    return frozenset((kind, name) for kind, name in map(_owned, found) if name in KINDS[kind].fields)


def words_read(policy: Policy) -> frozenset[Asked]:
    """Return the closed words that rules read, by kind."""
    found = {_owned(asked) for rule in policy.rules.values() for asked in words_of(rule)}
    return frozenset((k, n) for k, n in found if n in KINDS[k].fields and KINDS[k].fields[n].form == "word")


def _owned(asked: Asked) -> Asked:
    """A name that a kind does not have is the house's."""
    kind, name = asked
    return asked if name in KINDS[kind].fields else (HOUSE_KEY, name)


class _Reads:
    """Follows references through figures and tables to the fields they end at."""

    def __init__(self, policy: Policy) -> None:
        self._policy = policy

    def check(self, check: Check) -> Iterator[Asked]:
        refs = [check.reading, *([check.times] if check.times else [])]
        refs += [ref for limit in check.limits for ref in (limit.of, limit.less, limit.more) if ref]
        for ref in refs:
            yield from self.ref(ref, check.each)

    def ref(self, ref: Ref, kind: str) -> Iterator[Asked]:
        match ref.form:
            case "field" | "house" | "figure":
                yield from self._named(ref.name, HOUSE_KEY if ref.form == "house" else kind)
            case "table":
                yield from self._named(self._policy.tables[ref.name].by, kind)

    def _named(self, name: str, kind: str) -> Iterator[Asked]:
        for owner in (kind, HOUSE_KEY):
            if name in KINDS[owner].fields:
                yield owner, name
                return
        figure = self._policy.figures.get(name)
        if figure is not None:
            if figure.over:
                yield figure.over, figure.take
            for part in figure.refs:
                yield from self.ref(part, figure.each)


def words_of(rule: Rule) -> Iterator[Asked]:
    """Words and links that a rule reads."""
    yield from _of_where(rule.where, rule.each)
    for clause in (*rule.when, *rule.any, *rule.unless):
        yield from _of_clause(clause, rule.each)
    for then in rule.then:
        for name in (then.at, then.of):
            if name:
                yield rule.each, name


def _of_clause(clause: Clause, each: str) -> Iterator[Asked]:
    match clause:
        case WhereClause(where):
            yield from _of_where(where, each)
        case ManyClause():
            yield from _of_where(clause.where, clause.kind)
        case FactClause(kind, same, where):
            yield from _of_where(where, kind)
            yield from ((kind, its) for its, _ in same)
            yield from ((each, mine) for _, mine in same)
        case _:
            target = getattr(clause, "target", "own")
            if target not in ("own", "house"):
                yield each, target


def _of_where(where: Words, kind: str) -> Iterator[Asked]:
    for name, _ in where:
        yield kind, name


def places_of(policy: Policy, task: str) -> frozenset[str]:
    """Kinds at which a line of a task may stand."""
    found = set()
    for rule in policy.rules.values():
        for then in rule.then:
            if then.what == "line" and then.name == task:
                link = KINDS[rule.each].fields.get(then.at)
                found.add(link.kind if link is not None and link.kind else HOUSE_KEY if then.at else rule.each)
    return frozenset(found)


def _size_refs(size: Size) -> Iterable[Ref]:
    yield from (ref for ref in (size.value, size.step, size.most) if ref)
    asked = [one for one in (size.asked, *(proof.asked for proof in size.proofs)) if one]
    yield from (ref for one in asked for given in one.given for ref in given.refs)
    yield from (proof.limit for proof in size.proofs if proof.limit)


def _of_prices(policy: Policy, book: PriceBook) -> Iterator[Asked]:
    """What hours, factors and quantities of the price book are taken from."""
    for factor in book.factors.values():
        for clause in (*factor.when, *factor.any):
            yield from _of_clause(clause, HOUSE_KEY)
        yield from ((HOUSE_KEY, name) for name, _, _ in factor.below)
    for task, price in book.prices.items():
        for kind in places_of(policy, task):
            for work in (price.work, *(variant.work for variant in price.variants)):
                yield from _of_work(work, kind)
            for variant in price.variants:
                for clause in variant.when:
                    yield from _of_clause(clause, kind)
    for charge in book.charges.values():
        if charge.work is not None:
            yield from _of_work(charge.work, HOUSE_KEY)


def _of_work(work: WorkPrice, kind: str) -> Iterator[Asked]:
    quantities: list[Quantity | None] = [work.times]
    quantities += [one for material in work.materials for one in (material.quantity, material.size)]
    for quantity in quantities:
        if quantity is not None and quantity.form in ("field", "house"):
            yield HOUSE_KEY if quantity.form == "house" else kind, quantity.name
