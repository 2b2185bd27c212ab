"""Words of the equipment: the unit that is there, the unit to come, and their blowers."""

from airwarrant.job.fields import Field, Section, figure_of_unit, word, yes

_FORMS = ("package-roof", "package-ground", "split-attic", "split-closet", "furnace-coil", "manufactured-home")
_BLOWERS = ("fixed-speed", "constant-torque", "constant-airflow")
_REFRIGERANTS = ("a1", "a2l", "other")
_COILS = ("in-cabinet", "external")


def _blower(name: str, key: str, title: str, *words: str, section: Section = "old-blower") -> Field:
    return word(name, title, *words, section=section, key=key)


EQUIPMENT = (
    word("form", "Form of the new equipment", *_FORMS, section="new"),
    word("old_form", "Form of the old equipment", *_FORMS, section="old", key="form"),
    word("fuel", "Heating fuel of the new equipment", "gas", "oil", "electric", "heat-pump", "none", section="new"),
    word("unit_runs", "The old unit can run", "yes", "no", section="old", key="runs"),
    _blower("blower_kind", "kind", "Kind of the old blower", *_BLOWERS),
    _blower("new_blower_kind", "kind", "Kind of the new blower", *_BLOWERS, section="new-blower"),
    word(
        "table_includes", "What the old blower table includes (coil, filter) is stated", "stated", section="old-blower"
    ),
    _blower("table_coil", "table_coil", "Coil of the old blower table", "wet", "dry", "none"),
    _blower("table_filter", "table_filter", "Filter of the old blower table", "in", "out"),
    _blower("new_table_coil", "table_coil", "Coil of the new blower table", "wet", "dry", "none", section="new-blower"),
    _blower("new_table_filter", "table_filter", "Filter of the new blower table", "in", "out", section="new-blower"),
    figure_of_unit("tons", "Nominal tons", "ton", "kW", 1, 6),
    figure_of_unit("static_max", "Most external static on the nameplate", "in. w.c.", "Pa", 0.1, 1.5),
    figure_of_unit("maker_min_per_ton", "Least airflow the maker allows, per ton", "cfm/ton", "L/s/kW", 100, 600),
    figure_of_unit("maker_max_per_ton", "Most airflow the maker allows, per ton", "cfm/ton", "L/s/kW", 100, 900),
    figure_of_unit("maker_return_area", "Least return area the maker asks for", "in2", "cm2", 0, 3000),
    figure_of_unit("heat_min_flow", "Least airflow the heating section needs", "cfm", "L/s", 0, 3500),
    word("valve", "Metering device of the new coil", "txv", "other", section="new"),
    figure_of_unit("capacity", "Rated total cooling capacity", "Btu/h", "kW", 6000, 90000),
    figure_of_unit("seer", "Seasonal cooling efficiency on the label, Btu per Wh", "1", "1", 5, 40),
    figure_of_unit("heat_input", "Input of the heating section", "Btu/h", "kW", 0, 250000),
    figure_of_unit("heat_output", "Output of the heating section", "Btu/h", "kW", 0, 200000),
    figure_of_unit("rise_low", "Least temperature rise on the nameplate", "F diff", "K", 5, 100),
    figure_of_unit("rise_high", "Most temperature rise on the nameplate", "F diff", "K", 5, 120),
    figure_of_unit("strip_heat", "Electric heating elements installed", "kW", "kW", 0, 30),
    figure_of_unit("made", "Year of make", "year", "year", 1950, 2100),
    figure_of_unit("charge", "Refrigerant charge on the nameplate", "lb", "kg", 0, 60),
    word("refrigerant", "Safety class of the new refrigerant", *_REFRIGERANTS, section="new"),
    word("old_refrigerant", "Safety class of the old refrigerant", *_REFRIGERANTS, section="old", key="refrigerant"),
    yes("charge_checked", "Charge and room volume were held against the new unit's listing", section="new"),
    word("coil_place", "Cooling coil of the new unit", *_COILS, section="new"),
    yes("coil_over_finish", "The new coil stands over a finished ceiling or floor", section="new"),
    yes("second_drain", "Second pan, second drain or float switch is there or planned", section="new"),
    yes("eligible", "Efficiency and refrigerant may be installed here on the order date", section="new"),
)
