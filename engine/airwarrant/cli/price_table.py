"""What the offer comes to, as a table: lines by tier, what stands beside them, and a line less or more."""

from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from rich.console import Console
from rich.text import Text

from airwarrant.cli.figures import table_of
from airwarrant.result.why_prices import money_shown

_TIERS = {"required": "required by law, listing or safety"}


def line_amount(line: Mapping[str, Any]) -> str:
    """The amount of a line; empty for a held one and without a price book."""
    price = line["price"]
    if not price or line["state"] == "held":
        return ""
    return "no price" if price["amount"] is None else money_shown(price["amount"])


def print_totals(console: Console, result: Mapping[str, Any]) -> None:
    """Print the totals of a result; nothing here is computed."""
    totals, currency = result["totals"], result["market"]["currency"]
    if "tiers" not in totals:
        console.print(Text(f"\n{totals['why']}.", style="dim"))
        return
    table = table_of(f"Price, {currency}")
    table.add_column("")
    table.add_column("amount", justify="right")
    for tier, amount in totals["tiers"].items():
        if Decimal(amount):
            table.add_row(f"lines {_TIERS.get(tier, tier)}", money_shown(amount))
    for charge in totals["charges"]:
        at_cost = ", at cost" if charge["kind"] == "at-cost" else ""
        table.add_row(charge["title"] + at_cost, money_shown(charge["amount"]))
    whole = "not yet: " + totals["why"] if totals["amount"] is None else money_shown(totals["amount"])
    table.add_row(Text("total", style="bold"), Text(whole, style="bold"))
    console.print()
    console.print(table)
    _alternatives(console, totals)
    for line in totals["required_at_nothing"]:
        console.print(Text(f"{line} is required and the price book prices it at nothing.", style="yellow"))
    if totals["owner_approval"]:
        console.print(
            Text(f"The lines leave {totals['margin']} %: the owner approves this offer first.", style="yellow")
        )
    said = f"Not sold, {money_shown(totals['if_not_sold'])} is owed for the first readings. " if _owed(totals) else ""
    offered = result["sellable"]["answer"] == "yes" and "proposal" not in result["dates"].get("fell_back_to_survey", ())
    valid = f"The price holds until {totals['valid_until']}." if offered and totals["valid_until"] else ""
    console.print(Text(said + valid, style="dim"))


def _alternatives(console: Console, totals: Mapping[str, Any]) -> None:
    if not totals["alternatives"]:
        return
    table = table_of("The price of a line less or more")
    table.add_column("scope")
    table.add_column("total", justify="right")
    table.add_column("difference", justify="right")
    for one in totals["alternatives"]:
        name = ("without " if one["kind"] == "smaller" else "with ") + one["line"]
        if one["amount"] is None:
            table.add_row(name, "", one["why"])
            continue
        sign = "+" if Decimal(one["difference"]) > 0 else ""
        table.add_row(name, money_shown(one["amount"]), sign + money_shown(one["difference"]))
    console.print()
    console.print(table)


def _owed(totals: Mapping[str, Any]) -> bool:
    return bool(Decimal(totals["if_not_sold"]))
