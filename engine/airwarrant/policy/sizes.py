"""Sizes of tasks, and what is calculated beside a table: every key, output, reference and unit held against the other."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from airwarrant.calculations.calculation import Calculation, Key
from airwarrant.calculations.key_units import unit_of
from airwarrant.errors import nearest
from airwarrant.job.dictionary import HOUSE_KEY, KINDS
from airwarrant.policy.dimensions import step_fault
from airwarrant.policy.faults import Faults, words
from airwarrant.policy.layers import Block, Layered
from airwarrant.policy.model import Asked, Given, Proof, Ref, Size, Table, Task
from airwarrant.policy.references import References
from airwarrant.source.place import Place
from airwarrant.units import UNITS, same_dimension

Path = tuple[str | int, ...]


@dataclass(frozen=True, slots=True)
class SizeReader:
    """Builds what one block asks to be calculated.

    Attributes
    ----------
    block : Block
    kinds : tuple of str
        Kinds of thing it is asked of; empty where no job is at hand: then values of the policy and quantities alone may stand.
    given : mapping of name to unit
        What its place gives beside the references, such as the size that is proved.
    references, faults
    """

    block: Block
    kinds: tuple[str, ...]
    given: Mapping[str, str]
    references: References
    faults: Faults

    def asked(self, raw: Mapping[str, Any], *path: str | int) -> Asked | None:
        """Build a calculation that is asked for; None after a fault."""
        name = raw["calculate"]
        calculations = _calculations()
        calculation = calculations.get(name)
        if calculation is None:
            self._note(
                "unknown-calculation",
                f"there is no calculation `{name}`",
                words(calculations),
                (*path, "calculate"),
                nearest(name, calculations),
            )
            return None
        taken = self._output(calculation, raw["take"], (*path, "take"))
        keys = {key.name("ip"): key for key in calculation.inputs}
        found = [self._given(calculation, keys, key, value, (*path, "with", key)) for key, value in raw["with"].items()]
        missing = [
            key
            for key, what in keys.items()
            if what.default is None and not what.optional and key not in raw["with"] and what.form != "structure"
        ]
        given = tuple(one for one in found if one is not None)
        if missing and len(given) == len(found):  # a misspelt key is told once, by its own name
            self._note("missing-key", f"`{name}` also needs {words(missing)}", words(keys), (*path, "with"))
        return Asked(name, given, *taken) if taken and len(given) == len(found) and not missing else None

    def proof(self, raw: Mapping[str, Any], *path: str | int) -> Proof | None:
        """Build a proof; None after a fault."""
        asked = self.asked(raw, *path)
        if asked is None:
            return None
        calculation = _calculations()[asked.calculate]
        shown = [self._output(calculation, one, (*path, "show", i)) for i, one in enumerate(raw.get("show", ()))]
        if ("must_be" in raw) != ("limit" in raw) or ("otherwise" in raw and "limit" not in raw):
            self._note("missing-key", "`must_be` and `limit` stand together", "both or neither", path)
            return None
        limit = None
        if "limit" in raw:
            limit = self.number(raw["limit"], asked.unit, *path, "limit")
            if limit is None:
                return None
        return Proof(
            raw["title"],
            asked,
            tuple(name for name, _ in (one for one in shown if one)),
            raw.get("must_be"),
            limit,
            raw.get("otherwise") == "next-size",
        )

    def number(self, text: str, unit: str, *path: str | int) -> Ref | None:
        """Resolve a number in a unit of the dimension of `unit`; None after a fault."""
        ref = self.resolve(text, path)
        if ref is None:
            return None
        own = self.unit(ref)
        if own in UNITS and unit in UNITS and not same_dimension(own, unit):
            a, b = UNITS[own].dimension, UNITS[unit].dimension
            self._note("unit-mismatch", f"`{text}`: {a} ({own}) against {b} ({unit})", f"a number of {b}", path)
            return None
        return ref

    def resolve(self, text: str, path: Path) -> Ref | None:
        """Resolve a reference for every kind; None after a fault."""
        if text in self.given:
            return Ref("given", text)
        found = [self.references.resolve(text, kind, self.at(path)) for kind in self.kinds or (HOUSE_KEY,)]
        if None in found:
            return None
        ref = found[0]
        if ref is not None and not self.kinds and ref.form not in ("parameter", "quantity"):
            self._note("not-here", f"`{text}` belongs to a job", f"{words(self.given)}, @parameter or a quantity", path)
            return None
        return ref

    def unit(self, ref: Ref) -> str:
        """Unit a resolved reference answers in."""
        if ref.form == "given":
            return self.given[ref.name]
        return self.references.unit(ref, self.kinds[0] if self.kinds else HOUSE_KEY)

    def at(self, path: Path) -> Place:
        return self.block.at(str(path[0]), *path[1:])

    def _given(
        self, calculation: Calculation, keys: Mapping[str, Key], name: str, raw: Any, path: Path
    ) -> Given | None:
        key = keys.get(name)
        if key is None:
            found = f"`{calculation.name}` has no key `{name}`"
            self._note("unknown-key", found, words(keys), path, nearest(name, keys))
            return None
        if key.form == "word":
            if raw in key.words:
                return Given(name, word=raw)
            self._note("unknown-word", f"`{name}` is `{raw}`", words(key.words), path, nearest(str(raw), key.words))
            return None
        unit = unit_of(key)
        if not unit:
            self._note("not-a-number", f"policy cannot give `{name}`", "a key with a number and a unit", path)
            return None
        if isinstance(raw, str):
            ref = self.number(raw, unit, *path)
            return Given(name, refs=(ref,)) if ref else None
        parts = [self.resolve(text, (*path, "product_of", i)) for i, text in enumerate(raw["product_of"])]
        refs = tuple(ref for ref in parts if ref is not None)
        if len(refs) < len(parts):
            return None
        units = [self.unit(ref) for ref in refs]
        wrong = step_fault("product_of", units, unit) if all(one in UNITS for one in units) else ""
        if wrong:
            self._note("unit-mismatch", f"`{name}`: {wrong}", f"parts that give {unit}", path)
            return None
        return Given(name, refs=refs)

    def _output(self, calculation: Calculation, name: str, path: Path) -> tuple[str, str] | None:
        outputs = {key.name("ip"): unit_of(key) for key in calculation.outputs}
        if outputs.get(name):
            return name, outputs[name]
        usable = [key for key, unit in outputs.items() if unit]
        found = f"`{calculation.name}` gives no number `{name}`"
        self._note("unknown-key", found, words(usable), path, nearest(name, usable))
        return None

    def _note(self, code: str, found: str, allowed: str, path: Path, advice: str = "") -> None:
        self.faults.note(code, found, allowed, place=self.at(path), advice=advice)


def read_sizes(
    block: Block,
    tables: Mapping[str, Table],
    said: Mapping[str, Block],
    kinds: frozenset[str],
    layered: Layered,
    references: References,
    faults: Faults,
) -> tuple[Size, ...]:
    """Build the sizes of a task for the kinds its line is asked for; without such a kind there is nothing to size."""
    # A rule for each of no known kind has its own fault; its conclusions say nothing about the size.
    known = tuple(sorted(kinds & KINDS.keys()))
    found = []
    for index, raw in enumerate(block.get("size", ())):
        path = ("size", index)
        _texts(block, raw, said, layered, faults, index)
        name = raw.get("table")
        if name is not None and name not in tables:
            if not layered.may_be(name):
                place = block.at(*path, "table")
                what = f"there is no table `{name}`"
                faults.note("unknown-table", what, words(tables), place=place, advice=nearest(name, tables))
            continue
        if known:
            found.append(_size(block, raw, path, SizeReader(block, known, {}, references, faults)))
    return tuple(size for size in found if size is not None)


def read_beside(
    blocks: Mapping[str, Block], tables: dict[str, Table], references: References, faults: Faults
) -> dict[str, tuple[Proof, ...]]:
    """Build what is calculated beside the rows of each table that asks for it."""
    out = {}
    for name in sorted(tables):
        table, block = tables[name], blocks[name]
        raw = block.get("beside", ())
        if raw and (table.by_unit not in UNITS or table.unit not in UNITS):
            faults.note(
                "word-table",
                f"`{name}` has words for keys, so nothing can be calculated beside its rows",
                "numbers with `by_unit`",
                place=block.at("beside"),
            )
            continue
        given = {"key": table.by_unit, "answer": table.unit}
        reader = SizeReader(block, (), given, references, faults)
        found = [reader.proof(one, "beside", i) for i, one in enumerate(raw)]
        if found:
            out[name] = tuple(proof for proof in found if proof is not None)
    return out


def size_refs(task: Task) -> tuple[Ref, ...]:
    """Return every reference that the sizes of a task read."""
    out: list[Ref | None] = []
    for size in task.sizes:
        asked = [size.asked, *(proof.asked for proof in size.proofs)]
        out += [size.value, size.step, size.most, *(proof.limit for proof in size.proofs)]
        out += [ref for one in asked if one for given in one.given for ref in given.refs]
    return tuple(ref for ref in out if ref is not None)


def _calculations() -> Mapping[str, Calculation]:
    """Every calculation by name; imported here so that the command starts without the formulas."""
    from airwarrant.calculations.registry import CALCULATIONS

    return CALCULATIONS


def _texts(
    block: Block, raw: Mapping[str, Any], said: Mapping[str, Block], layered: Layered, faults: Faults, index: int
) -> None:
    for key in ("if_unknown", "if_zero"):
        name = raw.get(key)
        if name and name not in said and not layered.may_be(name):
            faults.note(
                "unknown-wording",
                f"nothing is said by the name `{name}`",
                "the name of a [said.…] block",
                place=block.at("size", index, key),
                advice=nearest(name, said),
            )


def _size(block: Block, raw: Mapping[str, Any], path: tuple[str, int], reader: SizeReader) -> Size | None:
    wrong = _shape_fault(raw)
    if wrong:
        code, found, allowed = wrong
        reader.faults.note(code, found, allowed, place=block.at(*path))
        return None
    text = f"@{raw['table']}" if "table" in raw else raw.get("value")
    value = reader.resolve(text, (*path, "table" if "table" in raw else "value")) if text else None
    asked = reader.asked(raw, *path) if "calculate" in raw else None
    if (text and value is None) or ("calculate" in raw and asked is None):
        return None
    unit = reader.unit(value) if value is not None else asked.unit if asked is not None else ""
    if value is not None and asked is not None and unit in UNITS and not same_dimension(unit, asked.unit):
        a, b = UNITS[unit].dimension, UNITS[asked.unit].dimension
        what = f"`{text}` is a {a} ({unit}), `{asked.take}` a {b} ({asked.unit})"
        reader.faults.note("unit-mismatch", what, f"an output of {a}", place=block.at(*path, "take"))
        return None
    inner = SizeReader(block, reader.kinds, {"size": unit}, reader.references, reader.faults)
    proofs = [inner.proof(one, *path, "prove", i) for i, one in enumerate(raw.get("prove", ()))]
    step = reader.number(raw["step"], unit, *path, "step") if "step" in raw else None
    most = reader.number(raw["most"], unit, *path, "most") if "most" in raw else None
    if None in proofs or ("step" in raw and step is None) or ("most" in raw and most is None):
        return None
    if step is not None and not (reader.references.constant(step) or 0.0) > 0.0:
        place = block.at(*path, "step")
        reader.faults.note("not-a-step", f"`{raw['step']}`", "a quantity or @parameter above 0", place=place)
        return None
    return Size(
        raw["title"],
        unit,
        value,
        asked,
        raw.get("governs", "calculation" if value is None else "table"),
        step,
        most,
        raw.get("past_most", "stop"),
        tuple(proof for proof in proofs if proof is not None),
        raw.get("if_unknown", ""),
        raw.get("if_zero", ""),
    )


def _shape_fault(raw: Mapping[str, Any]) -> tuple[str, str, str] | None:
    """What is wrong with the keys of one size as a whole: code, found, allowed."""
    policy = [key for key in ("table", "value") if key in raw]
    asked = [key for key in ("calculate", "with", "take") if key in raw]
    if len(policy) > 1:
        return "two-alternatives", "a size with `table` and `value`", "one of them"
    if asked and len(asked) < 3:
        return "missing-key", f"a size with {words(asked)} alone", "`calculate`, `with` and `take` together"
    if not policy and not asked:
        return "missing-key", "a size that nothing gives", "`table`, `value` or `calculate`"
    if bool(policy and asked) != ("governs" in raw):
        return (
            "missing-key",
            "`governs` stands with two sources, and only with two",
            "table, calculation, larger, smaller",
        )
    if "past_most" in raw and "most" not in raw:
        return "missing-key", "`past_most` without `most`", "both or neither"
    stepping = raw.get("past_most") == "several" or any("otherwise" in one for one in raw.get("prove", ()))
    if stepping and "step" not in raw:
        return "missing-key", "a size that may grow has no `step`", 'such as step = "2 in"'
    return None
