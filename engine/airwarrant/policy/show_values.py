"""Values, rows, sources and layers of a policy in the words an owner reads."""

from collections.abc import Mapping
from typing import Any

from airwarrant.policy.model import Figure, Policy, Table

_KINDS = {
    "published": "published",
    "common-practice": "common practice",
    "engineering-judgement": "engineering judgement",
    "demo": "invented for the demo",
}
_RIGHTS = {
    "locked": "locked: only towards the safe side",
    "code": "adopted law: changed with citation, edition and date",
    "company": "the company may change it",
    "job": "one job may override it, with a reason and a name",
}
_STEPS = {
    "size_of": "the size of {0}, without its sign",
    "larger_of": "the larger of {all}",
    "smaller_of": "the smaller of {all}",
    "largest_known_of": "the largest that is known of {all}",
    "first_known_of": "the first that is known of {all}",
    "ratio_of": "{0} over {1}",
    "sum_of": "the sum of {all}",
    "difference_of": "{0} less {rest}",
    "gap_between": "the gap between {0} and {1}",
    "product_of": "the product of {all}",
    "share_of": "{0} as a share of {1}",
}
_BETWEEN = {"last-row-at-or-below": "from", "next-row": "up to", "no-answer": "at"}


def number_text(value: float) -> str:
    """Write a number as policy files do: no zeros at its end, no power of ten where an owner would write none."""
    text = f"{value:.10f}".rstrip("0").rstrip(".")
    return text if float(text) == value else repr(value)


def value_text(value: Any, unit: str, currency: str = "") -> str:
    """Write a value with its unit; a word, and a number without dimension, has none."""
    if isinstance(value, str):
        return value
    shown = {"1": "", "money": currency, "word": ""}.get(unit, unit)
    return f"{number_text(float(value))} {shown}".rstrip()


def row_key_text(table: Table, key: float | str) -> str:
    """Say which keys a row answers for: ``from 150 cfm``, ``for water-heater``."""
    if isinstance(key, str):
        return f"for {key}"
    return f"{_BETWEEN[table.between]} {value_text(key, table.by_unit)}"


def rows_text(table: Table) -> str:
    """Write every row of a table in one line."""
    return ", ".join(f"{value_text(answer, table.unit)} {row_key_text(table, key)}" for key, answer in table.rows)


def outside_text(table: Table) -> str:
    """Say what a table answers before its first row and after its last; empty where the rows are words."""
    if any(isinstance(key, str) for key, _ in table.rows):
        return ""
    before = "the first row's answer" if table.below_first == "first-row" else "no answer"
    after = "the last row's answer" if table.above_last == "last-row" else "no answer"
    return f"{before} before the first row, {after} after the last"


def figure_sentence(figure: Figure) -> str:
    """Say how a figure comes about."""
    if figure.step == "sum_over":
        how = f"the sum of {figure.take} over every {figure.over}"
    else:
        names = [f"{value_text(r.value, r.unit)}" if r.form == "quantity" else r.name for r in figure.refs]
        how = _STEPS[figure.step].format(*names, all=", ".join(names), rest=", ".join(names[1:]))
    return f"“{figure.title}” of the {figure.each} is {how}, in {figure.unit}."


def basis_text(basis: Mapping[str, Any]) -> str:
    """Say what a value rests on, with its citation."""
    text = _KINDS[basis["kind"]]
    if basis.get("cite"):
        text += f": {basis['cite']}"
    if basis.get("edition"):
        text += f", edition {basis['edition']}"
    if basis.get("adopted"):
        text += f", adopted {basis['adopted']}"
    return text + ("; not confirmed yet" if basis.get("unconfirmed") else "")


def right_text(edit: str) -> str:
    """Say who may change a value."""
    return _RIGHTS[edit]


def layer_text(layer: str) -> str:
    """Name a layer in a sentence."""
    kind, _, name = layer.rpartition("/")
    return f"the code layer {name}" if kind == "codes" else f"the {name} layer"


def value_sentence(policy: Policy, section: str, name: str) -> str:
    """Say a parameter, a table or a figure; empty for anything else."""
    if section == "parameter":
        parameter = policy.parameters[name]
        value = value_text(parameter.value, parameter.unit, policy.market.currency)
        return f"“{parameter.title}” is {value} ({right_text(parameter.edit)}). Source: {basis_text(parameter.basis)}."
    if section == "table":
        table = policy.tables[name]
        by = f"by {table.by}: {rows_text(table)}"
        outside = outside_text(table)
        said = f"“{table.title}”, {by}" + (f"; {outside}" if outside else "")
        return f"{said} ({right_text(table.edit)}). Source: {basis_text(table.basis)}."
    return figure_sentence(policy.figures[name]) if section == "figure" else ""
