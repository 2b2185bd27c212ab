"""Words of the house itself: building, access, hazards seen on the walk, what energy costs."""

from airwarrant.job.fields import Field, number, word, yes

SPACES = ("attic", "crawl", "garage", "roof", "closet", "basement", "inside")


def _space(name: str, title: str) -> Field:
    return word(name, title, *SPACES, section="house")


def _house(name: str, title: str) -> Field:
    return yes(name, title, section="house")


BUILDING = (
    _space("return_path_space", "Space the return path runs through"),
    _space("supply_path_space", "Space the supply ducts run through, if another than the return's"),
    number("floor_area", "Floor area the system serves", "ft2", "m2", 200, 8000, "house"),
    number("year_built", "Year built", "year", "year", 1850, 2100, "house"),
    number("altitude", "Altitude", "ft", "m", -280, 11000, "house"),
    number("ceiling_height", "Ceiling height", "ft", "m", 6.5, 25, "house"),
    number("storeys", "Storeys above ground", "1", "1", 1, 4, "house"),
    word("foundation", "Foundation", "slab", "crawl", "basement", "home-belly", section="house"),
    word("attic_kind", "Attic", "vented", "unvented", "none", section="house"),
    word("roof_cover", "Roof covering", "tile", "shingle", "metal", "membrane", "other", section="house"),
    word("roof_pitch", "Pitch of the roof", "flat", "low", "steep", section="house"),
    _house("manufactured_home", "It is a manufactured home"),
    _house("attached_garage", "A garage shares a wall, floor or ceiling with the rooms"),
    _house("gas_service", "Fuel gas is piped to the house, or there is a tank"),
    _house("co_alarm", "Carbon monoxide alarms stand where the code asks for them"),
    _house("evaporative_cooler", "There is or was an evaporative cooler"),
    number("sensible_load", "Sensible cooling load of the house", "Btu/h", "kW", 1000, 150000, "house"),
    number("latent_load", "Latent cooling load of the house", "Btu/h", "kW", 0, 60000, "house"),
    number("heating_load", "Heating load of the house", "Btu/h", "kW", 0, 250000, "house"),
    word("load_method", "Where the loads come from", "calculated", "area-estimate", section="house"),
    number("systems", "Systems that serve the house", "1", "1", 1, 8, "house"),
    number("house_area", "Floor area of the whole house", "ft2", "m2", 200, 20000, "house"),
    number("supply_duct_area", "Surface of supply duct outside the rooms", "ft2", "m2", 0, 3000, "house"),
    number("return_duct_area", "Surface of return duct outside the rooms", "ft2", "m2", 0, 2000, "house"),
    number("supply_duct_r", "Insulation of supply duct, label", "h ft2 F/Btu", "m2 K/W", 0, 12, "house"),
    number("return_duct_r", "Insulation of return duct, label", "h ft2 F/Btu", "m2 K/W", 0, 12, "house"),
    number("duct_outside", "Length of duct outside the rooms", "ft", "m", 0, 1000, "house"),
    number("new_duct_share", "Share of the ducts that will be new", "%", "%", 0, 100, "house"),
    _house("zone_dampers", "Motor dampers split the system into zones"),
    word("bypass", "Bypass from supply to return", "none", "shut", "open", section="house"),
    _house("bypass_needed", "The maker of the zone control asks for the bypass"),
    _house("finer_filter_wanted", "The owner wants a finer filter"),
    _house("balance_asked", "The homeowner asks for the rooms to be balanced"),
    _house("sealing_asked", "The homeowner asks for the ducts to be sealed"),
    _house("larger_unit_asked", "The homeowner asks for a larger unit"),
    _house("health_stated", "Somebody told of a sensitivity of their health"),
    _house("sold_at_home", "The agreement is made in the home, and it is no emergency repair"),
)

# `yes` is the hazard throughout, but for `attic_floor`.
HAZARDS = (
    _house("asbestos_suspect", "Old wrap, tape or paper that may hold asbestos is on the ducts"),
    _house("paint_cut", "Painted surface will be cut or broken"),
    number("paint_cut_area", "Painted surface that will be cut, largest in one room", "ft2", "m2", 0, 1000, "house"),
    _house("lead_paint", "That paint holds lead, by test"),
    _house("mould_like", "Growth that looks like mould, in ducts or where work is done"),
    _house("pests", "Droppings, nests or live animals where work is done"),
    _house("live_wiring", "Bare or loose wiring where work is done"),
    _house("roof_edge", "A roof edge, hole or skylight without guard where work is done"),
    _house("attic_floor", "The attic has a floor or walkway to work from"),
    _house("crawl_water", "Standing water or sewage in the crawl space"),
    _house("heat_risk", "Somebody who lives there is at risk from heat while the power is off"),
    _house("structure_cut", "A truss, joist or fire-rated wall would have to be cut"),
)

ACCESS = (
    number("hatch_width", "Attic hatch, lesser side", "in", "mm", 8, 96, "house"),
    number("hatch_length", "Attic hatch, greater side", "in", "mm", 8, 144, "house"),
    number("attic_path", "Way in the attic from the hatch to the unit", "ft", "m", 0, 150, "house"),
    number("attic_path_width", "Width of the floor along that way", "in", "mm", 0, 120, "house"),
    _house("service_space", "Level space before the unit to serve it from"),
    number("roof_height", "Height of the roof edge where the unit stands", "ft", "m", 0, 60, "house"),
    number("crawl_height", "Least height in the crawl space", "in", "mm", 0, 120, "house"),
    _house("crane_needed", "A crane must lift the unit"),
    _house("parking", "The crew can park at the house"),
    _house("pets", "Pets are in the house"),
)

ENERGY = (
    number("electric_rate", "Price of electricity", "money/kWh", "money/kWh", 0.01, 2, "house"),
    number("gas_rate", "Price of gas", "money/therm", "money/kWh", 0.1, 15, "house"),
    word("tariff", "Electricity tariff", "flat", "time-of-use", "tiered", section="house"),
    _house("programme", "A utility or public programme pays toward the work"),
)
