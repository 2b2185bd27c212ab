"""What notices a changed policy value: the check of the policies, cases beside the policy, and tests, whichever comes first.

An index of what the cases come to with nothing changed puts those first that are closest to a value. The search is bounded: a
mutant that is called unnoticed may be noticed by something that was not run, never the other way round.
"""

import contextlib
import io
import pickle
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, fields, replace
from datetime import date
from math import inf
from pathlib import Path
from typing import Any

import pytest
from _pytest.runner import runtestprotocol
from changed_policies import ChangedPolicies
from mutants import Mutant, Source

from airwarrant.desks.cases import CaseRunner
from airwarrant.desks.near_misses import standings
from airwarrant.errors import InputError
from airwarrant.job.reading_records import read_job
from airwarrant.policy.cases import Case, read_cases
from airwarrant.policy.compose import compose
from airwarrant.policy.files import market_names, read_market
from airwarrant.policy.model import Policy, Ref, Rule
from airwarrant.rules.clauses import checks_read
from airwarrant.rules.facts import Atom, Facts, Subject
from airwarrant.rules.reference import holds, matches
from airwarrant.rules.verdict import Verdict
from airwarrant.run import Run
from airwarrant.session import Session
from jobs import JOBS, SCENARIOS
from policies.test_authority_of_rules import RULES, expected_authority
from scenarios.outcomes import MARKETS, changes, kept, outcome

DATES = dict.fromkeys(("survey", "proposal", "permit"), date(2026, 7, 1))
#: Tests that hold the shipped policies to something, by what they are first asked about. The order in a row is that of asking.
TESTS: Mapping[str, tuple[str, ...]] = {
    "price": ("pricing/test_amounts_by_hand.py", "pricing/test_book_by_hand.py", "pricing/test_prices_of_jobs.py"),
    "usual": ("policies/test_usual_ranges.py",),
    "code": ("policies/test_sizes_by_hand.py::test_where_a_code", "policies/test_codes.py", "policies/test_shipped_content.py"),
    "prediction": (
        "policies/test_loads_by_hand.py", "house/test_room_offsets.py", "house/test_room_shares.py", "house/test_season_readings.py",
        "policies/test_seasons_by_hand.py", "scenarios/test_like_for_like.py", "house/test_network_as_found.py",
    ),
    "size": (
        "policies/test_sizes_by_hand.py",
        "policies/test_beside_by_hand.py", "policies/test_sizes_on_file.py", "policies/test_tables_answer.py", "policies/test_codes.py"),
    "figure": ("policies/test_figures_by_hand.py",),
    "order": ("policies/test_order_of_work.py", "policies/test_what_work_changes.py", "policies/test_work_that_waits.py"),
    "any": (
        "policies/test_sizes_by_hand.py",
        "policies/test_checks_by_hand.py", "policies/test_doubt_by_circumstance.py", "policies/test_when_it_must_be_known.py",
        "policies/test_values_decide.py", "policies/test_tables_answer.py",
        "policies/test_sizes_on_file.py",
        "policies/test_shipped_content.py",
        "scenarios/test_expected_scopes.py", "scenarios/test_rules_on_changed_scenarios.py",
        "scenarios/test_hidden_restriction.py", "policies/test_codes.py",
        "scenarios/test_what_the_network_asks_for.py", "policies/test_figures_by_hand.py",
    ),
}  # fmt: skip
#: The test that is about one kind of value, or about one table: asked first.
FIRST: Mapping[str, tuple[str, ...]] = {
    "task unit_off": ("policies/test_order_of_work.py::test_who_works_inside_the_unit_has_it_off",),
    "table beside": ("policies/test_beside_by_hand.py",),
    "task needs": ("policies/test_work_that_waits.py",),
    "task must_gain": ("policies/test_work_that_waits.py::test_only_more_return",),
    "task promised": ("policies/test_work_that_waits.py::test_no_decision_leaves_out",),
    "task changes": ("policies/test_what_work_changes.py",),
    "predict_": ("policies/test_values_decide.py::test_what_a_prediction_takes",),
    "check doubt": ("policies/test_checks_by_hand.py::test_what_is_read_off_a_ruler",),
    "check acceptance": ("policies/test_values_decide.py::test_what_a_prediction_must_keep_is_what_is_promised",),
    "usual_": (
        "policies/test_usual_ranges.py::test_a_number_just_beyond", "policies/test_usual_ranges.py::test_every_number_that_a_record",
    ),
    "plus_minus_": (
        "policies/test_tables_answer.py::test_a_reading_is_off", "policies/test_tables_answer.py::test_every_reading_has_its_doubt",
    ),
    "flex-": ("pricing/test_book_by_hand.py::test_a_foot_of",),
    "attic-heat": ("pricing/test_book_by_hand.py::test_an_attic_is_hot_in_the_months",),
    "seal-ducts": ("pricing/test_book_by_hand.py::test_a_house_whose_rooms_nobody_counted",),
    "damper": ("pricing/test_book_by_hand.py::test_a_damper_in", "pricing/test_amounts_by_hand.py::test_a_damper_in"),
    "air_density_": (
        "policies/test_tables_answer.py::test_air_thins", "policies/test_figures_by_hand.py::test_a_figure_is[cooling_airflow",
        "policies/test_figures_by_hand.py::test_a_figure_is[rise_heat",
    ),
}  # fmt: skip
#: How many tests are asked because their own name says that they are about a value.
_NAMED_MOST = 16


@dataclass(slots=True)
class Index:
    """What cases come to with nothing changed, and how long each test takes.

    Attributes
    ----------
    rules : mapping of rule to mapping of case number to int
        0 where the case expects something of the rule, 1 where the rule fires or narrowly does not.
    values : mapping of policy value to mapping of case number to float
        How far, as a share, the closest verdict that reads the value is from being another.
    checks, tasks : mapping of name to mapping of case number to float
    facts : mapping of case number to (Facts, conclusions)
        What the rules read in the last round of a case.
    """

    rules: dict[str, dict[str, float]] = field(default_factory=dict)
    values: dict[str, dict[str, float]] = field(default_factory=dict)
    checks: dict[str, dict[str, float]] = field(default_factory=dict)
    tasks: dict[str, dict[str, float]] = field(default_factory=dict)
    facts: dict[str, tuple[Facts, tuple[tuple[Any, str, str], ...]]] = field(default_factory=dict)


class Noticing:
    """Asks of one mutant after another what notices it.

    Parameters
    ----------
    root : Path
        The policies folder.
    files : tuple of Source
    items : sequence of pytest.Item
        Tests that were collected; they run in this process.
    cases_most, seconds_most : int
        How many cases and how many seconds of tests are tried for one mutant.
    """

    def __init__(
        self, root: Path, files: tuple[Source, ...], items: Sequence[pytest.Item], cases_most: int, seconds_most: float
    ) -> None:
        self._root = root
        self._changed = ChangedPolicies(files)
        self._cases = read_cases(root)
        # Tests of many random inputs take too long to be asked of every value.
        plain = [item for item in items if not getattr(getattr(item, "obj", None), "hypothesis", None)]
        self._items = {item.nodeid.split("tests/")[-1]: item for item in plain}
        self._cases_most, self._seconds_most, self._outcomes = cases_most, seconds_most, bool(items)
        layers = {name: read_market([root], name)[0].layers for name in market_names(root)}
        self._markets = {
            layer: [name for name in layers if layer in layers[name]] for held in layers.values() for layer in held
        }
        self.index = Index()
        self._broken: set[int] = set()
        #: seconds of each test that was run with nothing changed and passed; None where it did not pass
        self._held: dict[str, float | None] = {}
        #: whether the outcome of a job under a market is the one on file with nothing changed
        self._on_file: dict[tuple[str, str], bool] = {}
        #: tests that a mutant has passed
        self._asked: set[tuple[str, str]] = set()
        with self._changed.installed():
            self._policies: dict[str, Policy] = {name: compose(root, name, DATES) for name in layers}
        with CaseRunner([root]) as runner:
            self._of_market = [runner.market(case) for case in self._cases]

    # ------------------------------------------------------------ the index

    def build(self, note: Any) -> None:
        """Run everything once with nothing changed."""
        index = self.index = Index()
        with self._changed.installed(), CaseRunner([self._root]) as runner:
            for number, case in enumerate(self._cases):
                self._note_case(index, str(number), case, runner)
                note("cases", number + 1, len(self._cases))

    def build_by_names(self) -> None:
        """An index without running anything: by what the cases say they expect."""
        index = self.index = Index()
        for number, case in enumerate(self._cases):
            self._note_names(index, str(number), case)

    def read(self, path: Path) -> None:
        self.index = pickle.loads(path.read_bytes())

    def write(self, path: Path) -> None:
        path.write_bytes(pickle.dumps(self.index))

    def _note_case(self, index: Index, number: str, case: Case, runner: CaseRunner) -> None:
        came = runner.run(case)
        if came.faults or came.failures:
            # A case that does not hold with nothing changed notices nothing.
            self._broken.add(int(number))
            return
        self._note_names(index, number, case)
        if came.run is not None:
            self._note_run(index, number, came.run)
        self._note_verdicts(index, number, case, came.verdicts.values())

    @staticmethod
    def _note_names(index: Index, number: str, case: Case) -> None:
        # A case that asks only for words costs a hundredth of the others, and stands at the limit.
        aside = -0.3 if all(one.head == "verdict" for one in case.expect) else 0.0
        for one in case.expect:
            for rule in {one.rule, one.name if one.head in ("fires", "nearly") else ""} - {""}:
                _closer(index.rules, rule, number, 0.0)
            if one.head in ("verdict", "target"):
                _closer(index.checks, one.name, number, aside if one.head == "verdict" else 0.5)
            if one.head in ("line", "held", "declined"):
                _closer(index.tasks, one.name, number, 0.0 if one.size else 0.5)

    @staticmethod
    def _note_run(index: Index, number: str, run: Run) -> None:
        subjects = {kind: tuple(several) for kind, several in _by_kind(run.subjects.values()).items()}
        words = {key: verdict.word for key, verdict in run.verdicts.items()}
        before = run.rounds[-2].scoped if len(run.rounds) > 1 else ()
        tasks = frozenset(line.rpartition("@")[0] for line in before)
        index.facts[number] = (
            Facts(subjects, words, tasks),
            tuple((a.what, a.name, a.key) for a in run.outcome.atoms),
        )
        for standing in standings(run):
            if len(standing.against) < 2:
                _closer(index.rules, standing.rule, number, 1.0 if standing.against else 1.5)
        for line in run.settled.lines.values():
            _closer(index.tasks, line.task, number, 1.0)

    @staticmethod
    def _note_verdicts(index: Index, number: str, case: Case, verdicts: Iterable[Verdict]) -> None:
        for verdict in verdicts:
            if verdict.reading is None or verdict.limit is None or verdict.margin is None:
                continue
            aside = 0.0 if any((e.head, e.name) == ("verdict", verdict.check) for e in case.expect) else 0.02
            far = abs(verdict.margin) / max(abs(verdict.limit.value), abs(verdict.reading.value), 1e-9)
            of_band = abs(abs(verdict.margin) - verdict.band) / max(verdict.band, 1e-9) / 2
            _closer(index.checks, verdict.check, number, 0.1 + min(far, of_band))
            for name in verdict.reads:
                doubt = name.startswith("plus_minus_") or name == "band_factor"
                _closer(index.values, name, number, (of_band if doubt else min(far, of_band)) + aside)
                if doubt and verdict.reading.name:
                    _closer(index.values, f"{name}/{verdict.reading.name}", number, of_band + aside)
            for leaf in (*verdict.limit.leaves(), *verdict.reading.leaves()):
                if leaf.row is not None:
                    _closer(index.values, f"{leaf.name}/row {leaf.row}", number, min(far, of_band) + aside)

    # ------------------------------------------------------------ one mutant

    def noticed_by(self, mutant: Mutant) -> str:
        """Return what notices a mutant, or nothing."""
        with self._changed.installed(), self._changed.with_(mutant):
            markets = self._markets.get(mutant.layer, [])
            if mutant.section == "rule" and mutant.path[2] == "authority":
                return self._by_rank(mutant)
            refused = ""
            for name in markets[:1]:
                refused = self._refused(name)
            probes = [self._by_cases, self._by_tests, self._by_outcomes]
            if self._sorts(mutant)[0] in ("prediction", "price"):
                probes = [self._by_tests, self._by_outcomes, self._by_cases]
            if mutant.section != "rule" or mutant.path[-1] in ("to", "when"):
                probes.insert(0, self._by_named_tests)
            return (
                refused
                or next(filter(None, (probe(mutant, markets) for probe in probes)), "")
                or self._by_others(mutant, markets[1:])
            )

    @staticmethod
    def _by_rank(mutant: Mutant) -> str:
        """The test that says on what each rule rests; only votes on one line are weighed by it, so that few cases see it."""
        expected = {rule["id"]: expected_authority(rule, comment) for rule, comment in RULES}
        return "" if mutant.now == expected.get(mutant.name) else "policies/test_authority_of_rules.py"

    def _refused(self, market: str) -> str:
        try:
            compose(self._root, market, DATES)
        except InputError as error:
            return f"policy check, {error.faults[0].code}"
        return ""

    def _by_others(self, mutant: Mutant, markets: Sequence[str]) -> str:
        """The check of the other markets, whose layers may stand on the value."""
        if mutant.section not in ("parameter", "table"):
            return ""
        return next((found for found in map(self._refused, markets) if found), "")

    def _by_cases(self, mutant: Mutant, markets: Sequence[str]) -> str:
        with CaseRunner([self._root]) as runner:
            for number in self._closest(mutant, markets):
                case = self._cases[number]
                try:
                    came = runner.run(case)
                except Exception as error:  # noqa: BLE001  a broken value may break anything: that is noticing
                    return f"case {case.title!r}: {type(error).__name__}"
                if came.failures or came.faults:
                    return f"case {case.title!r}"
        return ""

    def _closest(self, mutant: Mutant, markets: Sequence[str]) -> list[int]:
        """The cases to try, closest first; none that the change cannot reach."""
        found: dict[str, float] = {}
        for held, aside in self._near(mutant):
            for number, far in held.items():
                found[number] = min(found.get(number, inf), far + aside)
        if self.index.facts and mutant.section == "rule" and mutant.path[2] not in ("then", "authority"):
            found = self._where_it_differs(mutant, markets, found)
        most = _REACH if isinstance(mutant.now, float) and mutant.section in ("parameter", "table") else inf
        numbers = [int(n) for n, far in sorted(found.items(), key=lambda one: (one[1], int(one[0]))) if far < most]
        own = set(markets)
        numbers = [n for n in numbers if n not in self._broken]
        return [n for n in numbers if self._of_market[n] in own or self._of_market[n] not in self._policies][
            : self._cases_most
        ]

    def _where_it_differs(self, mutant: Mutant, markets: Sequence[str], found: Mapping[str, float]) -> dict[str, float]:
        """Cases in which the changed rule, asked by itself of what the rules read, fires or narrowly fails elsewhere than before."""
        out = {}
        for market in markets[:1]:
            before, after = (
                self._policies[market].rules.get(mutant.name),
                compose(self._root, market, DATES).rules.get(mutant.name),
            )
            if before is None or after is None:
                return dict(found)
            for number, (facts, plain) in self.index.facts.items():
                atoms = frozenset(Atom(*one) for one in plain)
                kinds = {before.each, after.each}
                subjects = [one for kind in kinds for one in facts.of(kind)]
                if any(_standing(before, one, facts, atoms) != _standing(after, one, facts, atoms) for one in subjects):
                    out[number] = found.get(number, 3.0)
        return out

    def _near(self, mutant: Mutant) -> Iterator[tuple[Mapping[str, float], float]]:
        index, name = self.index, mutant.name
        if mutant.section == "rule":
            yield index.rules.get(name, {}), 0.0
        elif mutant.section == "task":
            yield index.tasks.get(name, {}), 0.0
            # What stands in an order with it, or needs it.
            yield from ((index.tasks.get(str(word), {}), 1.0) for word in (mutant.was, mutant.now))
        else:
            if mutant.section == "table" and isinstance(mutant.path[-2], int):
                row = self._row(mutant)
                yield index.values.get(f"{name}/{row}", {}), -0.5
                yield index.values.get(f"{name}/row {mutant.path[3]}", {}), -0.5
            yield index.values.get(name, {}), 0.0
            for check in self._checks_on(name) if mutant.section != "check" else [name]:
                yield index.checks.get(check, {}), 0.0 if mutant.section == "check" else 0.2
                for rule in self._rules_reading(check):
                    yield index.rules.get(rule, {}), 0.05
            for task in self._tasks_on(name):
                yield index.tasks.get(task, {}), 0.0
            for rule in self._rules_to(name):
                yield index.rules.get(rule, {}), 0.0

    def _row(self, mutant: Mutant) -> str:
        table = next((p.tables[mutant.name] for p in self._policies.values() if mutant.name in p.tables), None)
        at = mutant.path[3]
        return str(table.rows[at][0]) if table is not None and isinstance(at, int) and at < len(table.rows) else ""

    def _checks_on(self, name: str) -> set[str]:
        """Checks whose reading or limit rests on a parameter, table or figure."""
        return {
            check.name
            for policy in self._policies.values()
            for check in policy.checks.values()
            for ref in (
                check.reading,
                check.times,
                *(r for limit in check.limits for r in (limit.of, limit.less, limit.more)),
            )
            if ref is not None and _rests(policy, ref, name)
        }

    def _rules_reading(self, check: str) -> set[str]:
        return {
            r.name
            for p in self._policies.values()
            for r in p.rules.values()
            if any(c == check for c, _ in checks_read(r))
        }

    def _figures_on(self, name: str) -> set[str]:
        """Figures made with a parameter, table or figure, themselves or through another."""
        return {
            figure.name
            for policy in self._policies.values()
            for figure in policy.figures.values()
            if any(_rests(policy, ref, name) for ref in figure.refs)
        }

    def _rules_to(self, name: str) -> set[str]:
        return {
            r.name
            for p in self._policies.values()
            for r in p.rules.values()
            for t in r.then
            if t.to and t.to.name == name
        }

    def _tasks_on(self, name: str) -> set[str]:
        return {t.name for p in self._policies.values() for t in p.tasks.values() if f"'{name}'" in repr(t.sizes)}

    def _by_outcomes(self, mutant: Mutant, markets: Sequence[str]) -> str:
        """A file of outcomes that would have to be written again, what is promised left out: it repeats the limits themselves."""
        if not self._outcomes or mutant.name.startswith("usual_"):
            return ""
        own = [market for market in MARKETS if market in markets]
        # Each job once, in turn over the markets: what is one market's own is asked of all jobs there.
        pairs = [(job, own[n % len(own)]) for n, job in enumerate(JOBS)] if own else []
        return next((f"outcome {job} in {market}" for job, market in pairs if self._is_another(job, market)), "")

    def _is_another(self, job: str, market: str) -> bool:
        """Whether a job comes to something else than its file says, which it does not with nothing changed."""
        if self._on_file.get((job, market)) is False or not self._moved(job, market):
            return False
        if (job, market) not in self._on_file:
            with self._changed.unchanged():
                self._on_file[job, market] = not self._moved(job, market)
        return self._on_file[job, market]

    def _moved(self, job: str, market: str) -> bool:
        with Session([self._root]) as session:
            try:
                found = outcome(session.evaluate(read_job(SCENARIOS / f"job-{job}.toml"), market=market))
            except Exception:  # noqa: BLE001  a broken value may break anything: that is noticing
                return True
        return any(changes(_without_limits(kept(job)[market]), _without_limits(found), job))

    def _by_named_tests(self, mutant: Mutant, _: Sequence[str]) -> str:
        """Tests that are about the kind of value, then those named by it, by a check that reads it, a task that sizes or buys by it."""
        first = [n for key, names in FIRST.items() if mutant.kind == key or mutant.name.startswith(key) for n in names]
        names = [name for one in first for name in self._items if name.startswith(one)]
        about = {mutant.name: 2.0, str(mutant.was): 1.0, **dict.fromkeys(self._related(mutant), 1.5)}
        pool = self._tests(mutant)
        ranked = {name: sum(weight * _about(name, word) for word, weight in about.items()) for name in pool}
        names += sorted((name for name in pool if ranked[name] >= 1.5), key=lambda name: -ranked[name])
        return self._by_some(dict.fromkeys(names[: len(first) + _NAMED_MOST]), mutant)

    def _related(self, mutant: Mutant) -> set[str]:
        name = mutant.name
        if mutant.section in ("item", "factor", "crew"):
            books = [policy.prices.prices for policy in self._policies.values() if policy.prices is not None]
            return {task for book in books for task, price in book.items() if f"'{name}'" in repr(price)}
        if mutant.section in ("parameter", "table", "figure"):
            return self._checks_on(name) | self._tasks_on(name) | self._rules_to(name) | self._figures_on(name)
        return set()

    def _by_tests(self, mutant: Mutant, _: Sequence[str]) -> str:
        return self._by_some(self._tests(mutant), mutant)

    def _by_some(self, names: Iterable[str], mutant: Mutant) -> str:
        left = self._seconds_most
        with _shared_fixtures(self._items):
            for name in names:
                if (name, mutant.id) in self._asked:
                    continue
                self._asked.add((name, mutant.id))
                if self._held.get(name, 0.0) is None or (self._held.get(name) or 0.0) > left:
                    continue
                passed, seconds = _run(self._items[name])
                left -= seconds
                if not passed and self._holds(name):
                    return f"test {name}"
                if passed:
                    self._held.setdefault(name, seconds)
        return ""

    def _holds(self, name: str) -> bool:
        """Whether a test passes with nothing changed."""
        if name not in self._held:
            with _shared_fixtures(self._items), self._changed.unchanged():
                passed, seconds = _run(self._items[name])
            self._held[name] = seconds if passed else None
        return self._held[name] is not None

    def _sorts(self, mutant: Mutant) -> list[str]:
        """Which sorts of tests to ask, the likeliest first."""
        if mutant.name.startswith("usual_"):
            return ["usual"]
        sorts = []
        if mutant.section in ("crew", "item", "factor", "price", "charge") or mutant.name.startswith("price_"):
            sorts = ["price"]
        elif mutant.name.startswith(("predict_", "season_", "load_")):
            sorts = ["prediction"]
        elif mutant.layer.startswith("codes/"):
            sorts = ["code"]
        if mutant.section == "figure":
            sorts.append("figure")
        if mutant.section in ("task", "table"):
            sorts.append("size")
        if mutant.section == "task":
            sorts.append("order")
        return [*sorts, "any"]

    def _tests(self, mutant: Mutant) -> list[str]:
        return list(dict.fromkeys(name for sort in self._sorts(mutant) for name in self._of_files(TESTS[sort])))

    def _of_files(self, files: Sequence[str]) -> list[str]:
        """Tests of some files, in the order of files; the quick first."""
        return [
            name
            for file in files
            for name in sorted((n for n in self._items if n.startswith(file)), key=lambda n: self._held.get(n) or 0.0)
        ]


def _without_limits(outcome: Mapping[str, Any]) -> dict[str, Any]:
    return {**outcome, "promised": {name: "" for name in outcome["promised"]}}


#: Beyond this no verdict becomes another by a tenth more or less; what is not a verdict stands nearer.
_REACH = 0.3


def _by_kind(subjects: Any) -> dict[str, list[Subject]]:
    held: dict[str, list[Subject]] = {}
    for subject in sorted(subjects, key=lambda one: one.key):
        # A plain copy, which can be kept from run to run.
        plain = {f.name: dict(value) for f in fields(subject) if isinstance(value := getattr(subject, f.name), Mapping)}
        held.setdefault(subject.kind, []).append(replace(subject, **plain))
    return held


def _standing(rule: Rule, subject: Subject, facts: Facts, atoms: frozenset[Atom]) -> int:
    """How many clauses keep a rule from firing at a place, two standing for more."""
    against = sum(not matches(subject, ((name, words),)) for name, words in rule.where)
    against += sum(not holds(clause, subject, facts, atoms, atoms) for clause in rule.when)
    against += bool(rule.any) and not any(holds(clause, subject, facts, atoms, atoms) for clause in rule.any)
    against += sum(holds(clause, subject, facts, atoms, atoms) for clause in rule.unless)
    return min(against, 2)


def _closer(held: dict[str, dict[str, float]], name: str, number: str, far: float) -> None:
    of = held.setdefault(name, {})
    of[number] = min(of.get(number, inf), far)


def _rests(policy: Policy, ref: Ref, name: str) -> bool:
    if ref.name == name:
        return True
    if ref.form == "table":
        by = policy.tables[ref.name].by
        return by == name or (by in policy.figures and _rests(policy, Ref("figure", by), name))
    figure = policy.figures.get(ref.name)
    return figure is not None and any(_rests(policy, part, name) for part in figure.refs)


def _about(test: str, word: str) -> float:
    """How plainly a test's own parameters name something: 1.5 as a word by itself, 1 as part of one, 0 not at all."""
    inside = test.partition("[")[2].removesuffix("]")
    if not word or word not in inside:
        return 0.0
    return 1.5 if word in inside.split() else 1.0


@contextlib.contextmanager
def _shared_fixtures(items: Mapping[str, pytest.Item]) -> Iterator[None]:
    """What tests of one module share, such as a composed policy, is theirs inside this and nobody's before or after."""
    state = next(iter(items.values())).session._setupstate if items else None
    if state:
        state.teardown_exact(None)
    try:
        yield
    finally:
        if state:
            state.teardown_exact(None)


def _run(item: pytest.Item) -> tuple[bool, float]:
    """Whether a test passes, and its seconds; what it shares with its module stays."""
    item.session._setupstate.teardown_exact(item.parent)  # type: ignore[arg-type]
    with contextlib.redirect_stdout(io.StringIO()):
        reports = runtestprotocol(item, nextitem=item.parent, log=False)  # type: ignore[arg-type]
    return all(report.passed for report in reports), sum(report.duration for report in reports)
