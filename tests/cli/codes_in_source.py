"""Every fault code that the program can say, read from its source.

A code is whatever reaches the parameter `code` of `Fault`, of another error, or of a function that hands it on. It is followed
through names, tuples and returned tuples; one that cannot be followed is a failure of the reading, never a silent gap.
"""

import ast
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

import airwarrant

SOURCE = Path(airwarrant.__file__).parent
#: Errors that are a fault of the program, not of what it was given.
OF_THE_PROGRAM = ("EngineFault", "AirFault", "PaperFault")
#: All that this module refuses is a fault of the program.
_ENGINE = "rules/durable.py"
#: Where the shape library hands on the code that `refuse` gave it.
_HANDED_ON = {("job/shape_faults.py", "code")}


@dataclass
class Codes:
    """What was read: codes of inputs with the files that say them, codes of the program, and what could not be followed."""

    inputs: dict[str, set[str]] = field(default_factory=dict)
    program: set[str] = field(default_factory=set)
    lost: list[str] = field(default_factory=list)


@dataclass(frozen=True)
class _Function:
    node: ast.FunctionDef
    method: bool

    def position(self) -> int | None:
        """Which argument of a call is the code."""
        given = [
            one.arg for one in self.node.args.args if ast.unparse(one.annotation or one) in ("str", "LiteralString")
        ]
        names = [one.arg for one in self.node.args.args]
        return names.index("code") - self.method if "code" in given else None


def read_codes() -> Codes:
    """Read the whole package."""
    trees = {path.relative_to(SOURCE).as_posix(): ast.parse(path.read_text("utf-8")) for path in SOURCE.rglob("*.py")}
    sinks = {"Fault": {0}, **{name: {0} for name in OF_THE_PROGRAM}}
    for tree in trees.values():
        for function in _functions(tree):
            if (at := function.position()) is not None and function.node.name != "__init__":
                sinks.setdefault(function.node.name, set()).add(at)
    codes = Codes()
    for file, tree in sorted(trees.items()):
        _Module(file, tree, sinks, codes).read()
    return codes


def _functions(tree: ast.AST) -> Iterator[_Function]:
    methods = {
        id(one) for node in ast.walk(tree) if isinstance(node, ast.ClassDef) for one in node.body
        if not any(isinstance(mark, ast.Name) and mark.id == "staticmethod" for mark in getattr(one, "decorator_list", ()))
    }  # fmt: skip
    for node in ast.walk(tree):
        if isinstance(node, ast.FunctionDef):
            yield _Function(node, id(node) in methods)


class _Module:
    def __init__(self, file: str, tree: ast.Module, sinks: dict[str, set[int]], codes: Codes) -> None:
        self.file, self.tree, self.sinks, self.codes = file, tree, sinks, codes
        self.named = {function.node.name: function.node for function in _functions(tree)}
        self.around: dict[int, ast.FunctionDef] = {}
        for function in _functions(tree):
            for node in ast.walk(function.node):
                self.around[id(node)] = function.node  # the inner one is walked last

    def read(self) -> None:
        for function in _functions(self.tree):
            given, without = function.node.args.args, len(function.node.args.args) - len(function.node.args.defaults)
            for at, value in enumerate(function.node.args.defaults):
                if given[without + at].arg == "code":
                    self._take(value, function.node.name, set())
        for node in ast.walk(self.tree):
            if isinstance(node, ast.ClassDef):
                for one in node.body:
                    if isinstance(one, ast.Assign) and [ast.unparse(name) for name in one.targets] == ["code"]:
                        self._take(one.value, "Fault", set())
            if not isinstance(node, ast.Call):
                continue
            owner, _, name = ast.unparse(node.func).rpartition(".")
            for at in self.sinks.get(name, ()):
                given = next((one.value for one in node.keywords if one.arg == "code"), None)
                if given is None and at < len(node.args):
                    given = node.args[at]
                if given is None:
                    continue
                certain = name in ("Fault", "fault_at", *OF_THE_PROGRAM) or owner.endswith("faults") or self._own(name)
                lost = len(self.codes.lost)
                if certain or name == "note":
                    self._take(given, name, set())
                if not certain:  # a function of the same name elsewhere may take something else there
                    del self.codes.lost[lost:]

    def _own(self, name: str) -> bool:
        here = self.named.get(name)
        if here is None:  # imported: the name is the function's own
            return any(
                isinstance(one, ast.ImportFrom) and name in [each.name for each in one.names]
                for one in ast.walk(self.tree)
            )
        return "code" in [one.arg for one in here.args.args]

    def _take(self, value: ast.expr, sink: str, seen: set[int], at: int | None = None) -> None:
        """Follow a value to its codes; with `at`, to that part of the tuple it comes to."""
        if id(value) in seen:
            return
        seen.add(id(value))
        match value:
            case ast.Constant(value=str(code)) if at is None:
                if sink in OF_THE_PROGRAM or self.file == _ENGINE:
                    self.codes.program.add(code)
                else:
                    self.codes.inputs.setdefault(code, set()).add(self.file)
            case ast.Constant(value=None):
                pass
            case ast.IfExp():
                self._take(value.body, sink, seen, at)
                self._take(value.orelse, sink, seen, at)
            case ast.Tuple() if at is not None:
                self._take(value.elts[at], sink, seen)
            case ast.Subscript(value=ast.Name(id=name)) if at is None and self._table(name):
                for one in self._table(name):
                    self._take(one, sink, seen)
            case ast.Call(func=ast.Name(id=name)) if name in self.named:
                for one in ast.walk(self.named[name]):
                    if (
                        isinstance(one, ast.Return | ast.Yield)
                        and one.value is not None
                        and self.around[id(one)] is self.named[name]
                    ):
                        self._take(one.value, sink, seen, at)
            case ast.Name(id=name):
                self._name(value, name, sink, seen, at)
            case ast.Attribute(attr="code"):
                pass  # of another fault, or of a class whose own line was read
            case _:
                self.codes.lost.append(f"{self.file}:{value.lineno} {ast.unparse(value)}")

    def _table(self, name: str) -> list[ast.expr]:
        for one in self.tree.body:
            if isinstance(one, ast.Assign) and ast.unparse(one.targets[0]) == name and isinstance(one.value, ast.Dict):
                return one.value.values
        return []

    def _name(self, value: ast.Name, name: str, sink: str, seen: set[int], at: int | None) -> None:
        around = self.around.get(id(value))
        if around is not None and name == "code" and name in [one.arg for one in around.args.args]:
            return  # whoever calls this function is read
        found = (self.file, name) in _HANDED_ON
        for one in ast.walk(around or self.tree):
            found |= self._given(one, name, sink, seen, at)
        if not found:
            for top in self.tree.body:
                found |= self._given(top, name, sink, seen, at)
        if not found:
            self.codes.lost.append(f"{self.file}:{value.lineno} {name}")

    def _given(self, one: ast.AST, name: str, sink: str, seen: set[int], at: int | None) -> bool:
        """Follow the name where this statement gives it a value."""
        targets: list[ast.expr] = []
        values: list[ast.expr] = []
        if isinstance(one, ast.Assign):
            targets, values = one.targets, [one.value]
        elif isinstance(one, ast.NamedExpr | ast.AnnAssign) and one.value is not None:
            targets, values = [one.target], [one.value]
        elif isinstance(one, ast.For | ast.comprehension):
            targets = [one.target]
            values = one.iter.elts if isinstance(one.iter, ast.Tuple | ast.List) else [one.iter]
        for target in targets:
            if isinstance(target, ast.Name) and target.id == name:
                for value in values:
                    self._take(value, sink, seen, at)
                return True
            if isinstance(target, ast.Tuple) and at is None:
                for place, part in enumerate(target.elts):
                    if isinstance(part, ast.Name) and part.id == name:
                        for value in values:
                            self._take(value, sink, seen, place)
                        return True
        return False
