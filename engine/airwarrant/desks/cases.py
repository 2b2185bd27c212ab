"""Cases run: each record made, evaluated under its market, and held against what is expected of it."""

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial
from pathlib import Path
from typing import Any

from airwarrant.desks.altered import altered
from airwarrant.desks.coverage import Coverage
from airwarrant.desks.near_misses import Standing, standing
from airwarrant.errors import Fault, InputError, PolicyError, nearest
from airwarrant.evaluate import Evaluator
from airwarrant.job.reading_records import job_document, record_of
from airwarrant.job.record import JobRecord
from airwarrant.policy.cache import PolicyCache
from airwarrant.policy.cases import FOLDER, PROPOSAL, RECORDS, Case, Expectation, name_faults, read_cases
from airwarrant.policy.files import MARKETS
from airwarrant.policy.model import Policy, Rule
from airwarrant.result.document import document
from airwarrant.result.trace import PolicyTexts
from airwarrant.rules.verdict import Verdict
from airwarrant.run import Run
from airwarrant.shipped import shipped
from airwarrant.source.document import Document

#: A file that is none, for a record that no case has changed.
_NOWHERE = Document("", {}, {}, {})
#: Expectations that are answered by the run alone.
_OF_RUN = ("verdict", "fires", "nearly")


@dataclass(frozen=True, slots=True)
class Failure:
    """An expectation of a case that was not met."""

    case: Case
    expected: str
    found: str
    at: Expectation

    def __str__(self) -> str:
        return f"{self.at.at}: {self.case.title}: expected {self.expected}; {self.found}"


@dataclass(frozen=True, slots=True)
class CaseRun:
    """A case with what it came to, or the faults that kept it from running.

    Attributes
    ----------
    run : Run or None
        None also where only words of readings found were asked for: `verdicts` then holds these alone.
    verdicts : mapping of (check, time, subject) to Verdict
    """

    case: Case
    run: Run | None
    failures: tuple[Failure, ...]
    faults: tuple[Fault, ...]
    verdicts: Mapping[tuple[str, str, str], Verdict] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class CasesChecked:
    """What came of some cases: `faults` kept cases from running, `failures` were expected otherwise."""

    count: int
    failures: tuple[Failure, ...]
    faults: tuple[Fault, ...]
    coverage: Coverage


def check_cases(
    roots: Sequence[Path],
    *,
    only: Callable[[Case], bool] = lambda case: True,
    markets: Sequence[str] = (),
    done: Callable[[int, int], object] = lambda at, of: None,
) -> CasesChecked:
    """Run the cases of a policies folder.

    Parameters
    ----------
    roots : sequence of Path
        The folder whose cases are run, then those whose markets and layers they may name.
    only : callable of Case
        Which cases are run.
    markets : sequence of str
        Run only cases of these; empty: of every one.
    done : callable of (int, int)
        Told after each case how many of how many are done.

    Raises
    ------
    PolicyError
        With every fault of the files of cases themselves.
    """
    cases = [case for case in read_cases(roots[0]) if only(case)]
    failures: list[Failure] = []
    faults: dict[Fault, None] = {}
    coverage = Coverage(own=partial(_set_in, roots[0]))
    with CaseRunner(roots) as runner:
        if markets:
            cases = [case for case in cases if runner.market(case) in markets]
        for number, case in enumerate(cases, 1):
            came = runner.run(case)
            failures += came.failures
            faults |= dict.fromkeys(came.faults)
            if came.run is not None:
                coverage.note(came.run)
            done(number, len(cases))
    return CasesChecked(len(cases), tuple(failures), tuple(faults), coverage)


def _set_in(folder: Path, rule: Rule) -> bool:
    """Whether a file of a policies folder sets a rule, or a key of it."""
    return any((folder / file).is_file() for file in {rule.place.file, *(key.place.file for key in rule.keys.values())})


class CaseRunner:
    """Runs cases; a market's evaluator is built once.

    A case speaks of the record as it stands: what an earlier visit's result carries is not looked at.

    Parameters
    ----------
    roots : sequence of Path
        The policies folder of the cases, then those whose markets and layers it may name.
    """

    def __init__(self, roots: Sequence[Path]) -> None:
        # Markets that are there for cases only stand beside them.
        self._roots = (*roots, *(root / FOLDER for root in roots if (root / FOLDER / MARKETS).is_dir()))
        self._cache = PolicyCache(self._roots)
        self._evaluators: dict[str, Evaluator] = {}
        self._texts: dict[str, PolicyTexts] = {}
        self._policies: dict[tuple[object, ...], Policy | PolicyError] = {}
        self._records: dict[str, Document] = {}

    def run(self, case: Case) -> CaseRun:
        """Run one case; what is wrong with it comes back as faults, each with its place."""
        try:
            record = self.record(case)
            evaluator = self._evaluator(record, case)
            if faults := name_faults(case, evaluator.policy):
                return CaseRun(case, None, (), faults)
            if (
                _of_words(case)
                and (words := evaluator.found(record, [(one.name, one.place) for one in case.expect])) is not None
            ):
                return CaseRun(case, None, tuple(_failures(case, None, words, {})), (), words)
            run = evaluator.run(record)
        except InputError as error:
            return CaseRun(case, None, (), error.faults)
        # The result is written only where something of it is expected: it takes a fifth of the time.
        of_run = all(one.head in _OF_RUN for one in case.expect)
        result = {} if of_run else document(run, None, self._texts[evaluator.policy.digest])
        return CaseRun(case, run, tuple(_failures(case, run, run.verdicts, result)), (), run.verdicts)

    def record(self, case: Case) -> JobRecord:
        """The record of a case, in the market it is evaluated under."""
        record = record_of(altered(self._base(case), case))
        return replace(record, market=case.market or record.market)

    def start(self, name: str, market: str) -> tuple[JobRecord, Evaluator]:
        """A record as it stands and the evaluator of a market.

        Raises
        ------
        PolicyError
            If there is no such record, or the market is broken.
        """
        case = Case("", name, market, {}, {}, (), (), _NOWHERE, ())
        record = self.record(case)
        return record, self._evaluator(record, case)

    def market(self, case: Case) -> str:
        """Name of the market a case is evaluated under."""
        return case.market or str(self._base(case).data.get("market", ""))

    def close(self) -> None:
        """Free every engine."""
        for evaluator in self._evaluators.values():
            evaluator.close()
        self._evaluators.clear()

    def __enter__(self) -> "CaseRunner":
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def _base(self, case: Case) -> Document:
        if case.start not in self._records:
            path = next((path for name, path in self._known_records() if name == case.start), None)
            if path is None:
                known = [name for name, _ in self._known_records()]
                found, place = f"there is no record `{case.start}`", case.document.place((*case.path, "from"))
                fault = Fault("no-record", found, ", ".join(known), place, advice=nearest(case.start, known))
                raise PolicyError([fault])
            self._records[case.start] = job_document(path.read_bytes(), path.name)
        return self._records[case.start]

    def _known_records(self) -> Iterator[tuple[str, Path]]:
        """Records of the cases' own, then shipped scenarios."""
        for folder in (*(root / RECORDS for root in self._roots), shipped("scenarios")):
            for path in sorted(folder.glob("*.toml")):
                if "." not in path.stem and not path.stem.startswith("test-out"):
                    yield path.stem, path

    def _evaluator(self, record: JobRecord, case: Case) -> Evaluator:
        key = (record.market, *record.dates.values())
        if key not in self._policies:
            try:
                self._policies[key] = self._cache.policy(record.market, record.dates)
            except PolicyError as error:
                self._policies[key] = error
        policy = self._policies[key]
        if isinstance(policy, PolicyError):
            # A market that does not exist is the case's fault; a broken one is its own files'.
            at = case.document.place((*case.path, "market"))
            raise PolicyError(replace(f, place=at) if f.code == "unknown-market" else f for f in policy.faults)
        if policy.digest not in self._evaluators:
            self._evaluators[policy.digest] = Evaluator(policy, detail=False)
            self._texts[policy.digest] = PolicyTexts(policy)
        return self._evaluators[policy.digest]


def _of_words(case: Case) -> bool:
    """Whether a case asks only what checks say of readings found: that needs no prediction, no scope and no result."""
    return all(one.head == "verdict" and one.time == "found" for one in case.expect)


def _failures(
    case: Case, run: Run | None, verdicts: Mapping[tuple[str, str, str], Verdict], result: Mapping[str, Any]
) -> Iterator[Failure]:
    for one in case.expect:
        there, found = _word(one, verdicts) if run is None else _look(one, run, result)
        if there is one.absent:
            yield Failure(case, said(one), found, one)


def said(one: Expectation) -> str:
    """An expectation in words."""
    text = f"{'no ' if one.absent else ''}{one.head} {one.name} at {one.place}"
    if one.head == "nearly":
        text = f"{one.name} at {one.place} kept from firing by one clause only"
    if one.head == "verdict":
        text = f"verdict {one.name} of {one.place} ({one.time}) {one.is_}"
    extras = (("by", one.rule), ("tier", one.tier), ("size", one.size), ("hold", one.named), ("when", one.when))
    gate = {True: ["hand-over waits for it"], False: ["hand-over does not wait for it"], None: []}[one.gate]
    return ", ".join([text, *(f"{word} {value}" for word, value in extras if value), *gate])


def _look(one: Expectation, run: Run, result: Mapping[str, Any]) -> tuple[bool, str]:
    """Whether what is expected is there, and what there is instead."""
    match one.head:
        case "line":
            lines = [line for line in result["lines"] if line["id"] == _line(one)]
            there = [
                line
                for line in lines
                if line["state"] == "scoped"
                and _same(line, one, "rule")
                and _same(line, one, "tier")
                and _same(line, one, "size")
            ]
            return bool(there), _line_found(one, result)
        case "held":
            if one.name == PROPOSAL:
                holds = [hold for hold in result["holds"] if "proposal" in hold["lines"]]
            else:
                lines = [line for line in result["lines"] if line["id"] == _line(one)]
                holds = [hold for line in lines for hold in line["held_by"]]
            there = [
                hold for hold in holds if _same(hold, one, "rule") and (not one.named or hold["name"] == one.named)
            ]
            by = ", ".join(f"{hold['name']} of {hold['rule']}" for hold in holds)
            return bool(there), f"it is held by {by}" if by else _line_found(one, result)
        case "declined":
            entries = [entry for entry in result["declined"] if entry["line"] == _line(one)]
            there = [
                entry for entry in entries if _same(entry, one, "rule") and (one.rule or entry["how"] == "declined")
            ]
            return bool(there), _line_found(one, result)
        case "finding":
            firings = [f for f in result["findings"] if (f["finding"], f["at"]) == (one.name, one.place)]
            return _by_rule(one, [firing for f in firings for firing in f["firings"]])
        case "stop" | "caution":
            entries = [
                entry
                for entry in result[f"{one.head}s"]
                if entry["name"] == one.name and one.place in entry["subjects"]
            ]
            at = f"@{one.place}"
            return _by_rule(one, [firing for entry in entries for firing in entry["firings"] if firing.endswith(at)])
        case "target":
            entries = [e for e in result["acceptance"] if (e["check"], e["place"]) == (one.name, one.place)]
            kept = [entry for entry in entries if one.gate in (None, entry["gate"])]
            if entries and not kept:
                return False, f"hand-over {'does not wait' if one.gate else 'waits'} for it"
            return _by_rule(one, [entry["firing"] for entry in kept])
        case "retest":
            entries = [e for e in result["retests"] if (e["reading"], e["subject"]) == (one.name, one.place)]
            there = [e for e in entries if (not one.rule or e.get("rule") == one.rule) and _same(e, one, "when")]
            asked = ", ".join(f"{e['when']} by {e.get('rule') or 'doubt'}" for e in entries)
            return bool(there), f"it is asked for {asked}" if asked else "nothing asks for it"
        case "verdict":
            return _word(one, run.verdicts)
        case "fires" | "nearly":
            return _standing(one, standing(run, one.name, one.place))


def _word(one: Expectation, verdicts: Mapping[tuple[str, str, str], Verdict]) -> tuple[bool, str]:
    verdict = verdicts.get((one.name, one.time, one.place))
    word = verdict.word if verdict else "unmeasured"
    if verdict is None or verdict.reading is None or verdict.limit is None:
        return word == one.is_, f"it is {word}"
    limit = verdict.limit
    name = f" by {limit.name}" if limit.form != "quantity" else ""
    return word == one.is_, f"it is {word}: {verdict.reading.text()} against {limit.text()}{name}"


def _standing(one: Expectation, here: Standing | None) -> tuple[bool, str]:
    if here is None:
        return False, "the rule does not speak of this place"
    if one.head == "fires":
        return not here.against, f"against it: {here.text()}" if here.against else "it fires"
    return len(here.against) == 1, f"against it: {here.text()}" if here.against else "it fires"


def _by_rule(one: Expectation, firings: Sequence[str]) -> tuple[bool, str]:
    rules = [firing.rpartition("@")[0] for firing in firings]
    there = one.rule in rules if one.rule else bool(rules)
    return there, f"it is there by {', '.join(rules)}" if rules else "it is not there"


def _line(one: Expectation) -> str:
    return f"{one.name}@{one.place}"


def _same(entry: Mapping[str, Any], one: Expectation, key: str) -> bool:
    wanted = getattr(one, key)
    return not wanted or entry.get(key) == wanted


def _line_found(one: Expectation, result: Mapping[str, Any]) -> str:
    for line in result["lines"]:
        if line["id"] == _line(one):
            return f"it is {line['state']} by {line['rule']}, {line['tier']}" + (
                f", {line['size']}" if line["size"] else ""
            )
    for entry in result["declined"]:
        if entry["line"] == _line(one):
            return f"it is {entry['how']}" + (f" by {entry['rule']}" if entry["rule"] else "")
    return "nothing speaks of it"
