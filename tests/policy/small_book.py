"""A small price book on the small policies folder; » marks where a fault must be."""

BASIS = 'edit = "company"\nbasis = { kind = "demo" }\n'
PARAMETERS = "".join(
    f'[parameter.{name}]\nvalue = {value}\nunit = "{unit}"\ntitle = "{name}"\n{BASIS}'
    for name, value, unit in (
        ("price_labour_index", 1, "1"), ("price_material_index", 1, "1"), ("price_margin", 50, "%"),
        ("price_least_margin", 40, "%"), ("price_round_to", 5, "money"), ("price_unit_off_credit", 15, "%"),
        ("price_valid", 30, "d"),
    )
)  # fmt: skip
BOOK = (
    PARAMETERS
    + f"""
[crew.team]
title = "Team"
people = 2
wage = 40
{BASIS}
[item.board]
title = "Board"
per = "in2"
cost = 0.50
{BASIS}
[item.screw]
title = "Screw"
per = "each"
cost = 3
{BASIS}
[item.pipe]
title = "Pipe"
per = "ft"
size_unit = "in"
by_size = [[6, 2], [8, 3]]
{BASIS}
[factor.tile]
title = "Tile roof"
value = 1.5
when = [{{ where = {{ roof_cover = "tile" }} }}]
{BASIS}
[price.undercut-door]
hours = 1
crew = "team"
factors = ["tile"]
materials = [{{ item = "screw", per = "each", quantity = 2 }}]
{BASIS}
[charge.permit]
title = "Permit"
kind = "at-cost"
cost = 10
{BASIS}
"""
)
