"""All contact with the durable-rules engine: its C module, inside the subset that was measured to be safe.

The engine reads freed memory, drops facts in silence, loops or crashes when used freely. What keeps it right:

* only strings and the constant 1 go in; every fact is flat, small, never empty, and has ``k`` (its kind) and ``one``;
* a pattern tests the kind first, then words, then one equality of its ``key`` with a field of the first fact, and ends
  in a tautology (the engine reads past a conjunction that ends in a join that fails);
* rules and facts are quoted alike: the engine compares escaped text, so ``ö`` is not ``\\u00f6`` to it;
* joins never read ``id`` or ``sid``: the engine does not copy these, it keeps pointing into the caller's text. Every
  text handed over is also kept alive until the state is deleted;
* ids are sequential and field names are checked: the engine tells both apart by a 32-bit hash only;
* a sentinel that matches nothing goes first, so that the returned state is valid; one with a rule of its own goes last
  and must fire, which proves that no fact before it was dropped;
* one warm-up run at creation: deleting a state in which nothing ever fired crashes;
* no ``none``, ``any``, ``$or``, ``$nex``, ``$mt``, ``count``, ``cap``, events, retraction, or threads of the engine.
"""

import json
import re
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass
from json.encoder import encode_basestring_ascii as _quoted
from types import TracebackType
from typing import NamedTuple, Self

try:
    import durable_rules_engine as _c
except (
    ImportError
) as error:  # built without the flags that Python 3.13 needs, or not at all: told when rules are to run
    _c, _MISSING = None, str(error)
else:
    _MISSING = ""

from airwarrant.errors import EngineFault

PATTERNS_PER_KIND = 60
KINDS_PER_RULESET = 400
PATTERNS_PER_RULE = 6
FACTS_PER_STATE = 5_000
FIELDS_PER_RULESET = 200
_STRING_LENGTH = 1_000
_RESERVED = ("id", "sid", "$s", "k", "key", "one", "z0", "zz")
_FIRST = '{"id":"z0","z0":1}'
_LAST = '{"id":"zz","zz":1}'
_LAST_RULE = "zz"
_OK, _UNMATCHED, _SEEN = 0, 1, 2
_MATCH = re.compile(r'"c(\d+)":\{"id":"(\d+)"')


@dataclass(frozen=True, slots=True, order=True)
class Pattern:
    """What one fact of a rule must be.

    Attributes
    ----------
    kind : str
        Kind of the fact.
    words : tuple of (str, str)
        Fields and the words they must hold.
    join : str
        Field of the rule's first fact that this fact's key must equal; empty for the first pattern.
    """

    kind: str
    words: tuple[tuple[str, str], ...] = ()
    join: str = ""

    @property
    def fields(self) -> frozenset[str]:
        """Fields that it reads besides kind and key: those of its words, and the first fact's that it joins on."""
        return frozenset([*(name for name, _ in self.words), self.join]) - {"", "key"}


@dataclass(frozen=True, slots=True)
class DurableRule:
    """A rule as the engine takes it: facts that must all be there, the first of them the subject."""

    name: str
    patterns: tuple[Pattern, ...]


class Statement(NamedTuple):
    """A fact as the engine takes it; `fields` may not name what the driver adds itself."""

    kind: str
    key: str
    fields: tuple[tuple[str, str], ...] = ()


Conclude = Callable[[str, tuple[Statement, ...]], Iterable[Statement]]


class Ruleset:
    """Rules inside the engine, created once and run many times; not for two threads at once.

    Parameters
    ----------
    rules : sequence of DurableRule
        Names unique; their order breaks ties.

    Raises
    ------
    EngineFault
        ``unsafe-rule`` when the rules leave the safe subset, ``engine-refused`` when the engine does not take them.
    """

    def __init__(self, rules: Sequence[DurableRule]) -> None:
        if _c is None:
            raise EngineFault(
                "engine-missing",
                f"the rule engine durable-rules cannot be loaded ({_MISSING}). Install it again with "
                'CPPFLAGS="-O2 -DPyEval_CallObject=PyObject_CallObject" pip install --no-cache-dir --force-reinstall durable-rules',
            )
        self._fields = _guard_rules(rules)
        self._quoted = {text: _quoted(text) for rule in rules for text in _texts(rule)}
        self._rules = frozenset(rule.name for rule in rules)
        form = {rule.name: {"all": [_pattern(i, p) for i, p in enumerate(rule.patterns)]} for rule in rules}
        form[_LAST_RULE] = {"all": [{"m": {"zz": 1}}], "pri": 60000}  # type: ignore[dict-item]
        text = json.dumps(form)  # quotes and escapes like `_quoted`
        try:
            self._handle: int | None = _c.create_ruleset("airwarrant", text)
        except _c.error as error:
            raise EngineFault("engine-refused", f"the engine did not take the rules: {error}") from error
        self._running = False
        self.run((), _nothing, firings=0)

    def run(self, facts: Sequence[Statement], conclude: Conclude, firings: int) -> None:
        """Assert `facts` and fire until nothing is left to fire.

        Parameters
        ----------
        facts : sequence of Statement
            Asserted in this order.
        conclude : callable
            Gets the rule's name and the facts it matched; returns the facts to add.
        firings : int
            Most firings there can be; one more is a fault.

        Raises
        ------
        EngineFault
            ``facts-dropped``, ``duplicate-id``, ``runaway``, ``engine-refused``, ``conclusion-failed`` or
            ``unsafe-fact``.
        """
        if self._handle is None or self._running:
            raise EngineFault("engine-refused", "the ruleset is closed or already running")
        if len(facts) > FACTS_PER_STATE:
            raise EngineFault("unsafe-fact", f"{len(facts)} facts; at most {FACTS_PER_STATE}")
        stated = list(facts)
        texts = [_FIRST, *[self._text(number, fact) for number, fact in enumerate(stated)], _LAST]
        batch = "[" + ",".join(texts) + "]"
        kept = [batch]  # the engine points into these texts until the state is deleted
        self._running = True
        try:
            self._drain(self._handle, stated, kept, conclude, firings)
        except _c.error as error:
            raise EngineFault("engine-refused", f"the engine failed: {error}") from error
        finally:
            self._forget(self._handle)
            kept.clear()

    def _drain(self, handle: int, stated: list[Statement], kept: list[str], conclude: Conclude, firings: int) -> None:
        code, state = _c.assert_facts(handle, kept[0])
        _guard_code(code, "the facts")
        started = _c.start_action_for_state(handle, state)
        message: str | None = started[1] if started else None
        fired, last_seen = 0, False
        while message:
            rule = message[2 : message.index('"', 2)]
            if rule == _LAST_RULE:
                last_seen = True
            else:
                fired += 1
                if fired > firings:
                    raise EngineFault("runaway", f"more than {firings} firings; the last was of `{rule}`")
                for fact in self._concluded(rule, message, stated, conclude):
                    if len(stated) >= FACTS_PER_STATE:
                        raise EngineFault("runaway", f"more than {FACTS_PER_STATE} facts")
                    text = self._text(len(stated), fact)
                    stated.append(fact)
                    kept.append(text)
                    code, _ = _c.assert_fact(handle, text)
                    _guard_code(code, f"the conclusion `{fact.kind}`")
            message = _c.complete_and_start_action(handle, state)
        if not last_seen:
            raise EngineFault("facts-dropped", "the engine did not read all facts")

    def _concluded(self, rule: str, message: str, stated: list[Statement], conclude: Conclude) -> tuple[Statement, ...]:
        if rule not in self._rules:
            raise EngineFault("engine-refused", f"the engine fired a rule it was not given: {message[:200]}")
        by_place = sorted((int(place), int(number)) for place, number in _MATCH.findall(message))
        matched = tuple(stated[number] for _, number in by_place)
        try:
            return tuple(conclude(rule, matched))
        except EngineFault:
            raise
        except Exception as error:
            raise EngineFault("conclusion-failed", f"`{rule}` fired, but its conclusion failed: {error!r}") from error

    def _forget(self, handle: int) -> None:
        self._running = False
        try:
            _c.delete_state(handle, None)
        except _c.error as error:
            raise EngineFault("engine-refused", f"the engine kept its state: {error}") from error

    def _text(self, number: int, fact: Statement) -> str:
        known = self._quoted  # texts of the rules were guarded and quoted when the rules were
        kind, key, fields = fact
        more = ""
        if fields:
            named = dict(fields)
            if len(named) != len(fields) or not self._fields.issuperset(named):
                raise EngineFault("unsafe-fact", f"fields of `{kind}` are doubled, or no rule reads them")
            more = "".join([f",{known[name]}:{known.get(word) or _safe(word)}" for name, word in fields])
        return f'{{"id":"{number}","k":{known.get(kind) or _safe(kind)},"key":{_safe(key)}{more},"one":1}}'

    def close(self) -> None:
        """Give the engine's memory back; a second call does nothing."""
        if self._handle is not None:
            handle, self._handle = self._handle, None
            _c.delete_ruleset(handle)

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.close()


def fnv_1a(text: str) -> int:
    """32-bit FNV-1a hash, by which the engine tells field names and ids apart."""
    value = 2166136261
    for byte in text.encode("utf-8"):
        value = ((value ^ byte) * 16777619) & 0xFFFFFFFF
    return value


def _engine_hash(name: str) -> int:
    """What the engine tells a field by: the hash of its name as it stands in the text that the engine is given."""
    return fnv_1a(_quoted(name)[1:-1])


def _texts(rule: DurableRule) -> Iterator[str]:
    """Every kind, field and word of a rule."""
    for pattern in rule.patterns:
        yield pattern.kind
        for field in pattern.words:
            yield from field
        yield pattern.join


def _nothing(rule: str, matched: tuple[Statement, ...]) -> tuple[Statement, ...]:
    return ()


def _pattern(number: int, pattern: Pattern) -> dict[str, object]:
    terms: list[dict[str, object]] = [{"k": pattern.kind}]
    terms.extend({name: word} for name, word in pattern.words)
    if pattern.join:
        terms.append({"key": {"c0": pattern.join}})
    terms.append({"one": {"c0": "one"} if number else 1})
    return {f"c{number}": {"$and": terms}}


def _guard_code(code: int, what: str) -> None:
    if code == _SEEN:
        raise EngineFault("duplicate-id", f"the engine took one of {what} for one it had seen")
    if code not in (_OK, _UNMATCHED):
        raise EngineFault("engine-refused", f"the engine answered {code} to {what}")


def _safe(text: str) -> str:
    _guard_string(text, "unsafe-fact")
    return _quoted(text)


def _guard_string(text: str, code: str) -> None:
    if len(text) > _STRING_LENGTH:
        raise EngineFault(code, f"a text of {len(text)} characters; at most {_STRING_LENGTH}")
    if not text.isascii() and any("\ud800" <= sign <= "\udfff" for sign in text):
        raise EngineFault(code, f"half a surrogate pair in {text!r}")


def _guard_rules(rules: Sequence[DurableRule]) -> frozenset[str]:
    """Hold rules to the safe subset; return the fields they read."""
    hashes: dict[int, str] = {_engine_hash(name): name for name in _RESERVED}
    fields = {name for rule in rules for pattern in rule.patterns for name in pattern.fields}
    count: dict[str, int] = {}
    for rule in rules:
        if not re.fullmatch(r"r\d+", rule.name) or not 1 <= len(rule.patterns) <= PATTERNS_PER_RULE:
            raise EngineFault("unsafe-rule", f"`{rule.name}`: its name, or its {len(rule.patterns)} patterns")
        for number, pattern in enumerate(rule.patterns):
            if bool(pattern.join) != bool(number):
                raise EngineFault("unsafe-rule", f"`{rule.name}`: pattern {number} joins on `{pattern.join}`")
            count[pattern.kind] = count.get(pattern.kind, 0) + 1
            _guard_string(pattern.kind, "unsafe-rule")
            for _, word in pattern.words:
                _guard_string(word, "unsafe-rule")
    for name in sorted(fields):
        _guard_string(name, "unsafe-rule")
        if hashes.setdefault(_engine_hash(name), name) != name or name in _RESERVED:
            raise EngineFault("unsafe-rule", f"field `{name}` shares its hash with `{hashes[_engine_hash(name)]}`")
    if len({rule.name for rule in rules}) != len(rules):
        raise EngineFault("unsafe-rule", "two rules of one name")
    if len(fields) > FIELDS_PER_RULESET:
        raise EngineFault("unsafe-rule", f"{len(fields)} fields; at most {FIELDS_PER_RULESET}")
    if len(count) > KINDS_PER_RULESET or max(count.values(), default=0) > PATTERNS_PER_KIND:
        raise EngineFault("unsafe-rule", f"{len(count)} kinds, or more than {PATTERNS_PER_KIND} patterns of one kind")
    return frozenset(fields)
