"""Words and readings of a visit's head: conditions of the readings, statics, flows, leakage, air and safety readings."""

from airwarrant.job.fields import EXPECTED, Field, flow, read, static, temperature, word, yes

_PROBE = ("straight", "in-turn", "at-coil", "at-blower")

#: Conditions that one reading may hold otherwise than its visit.
CONDITIONS = (
    word(
        "filter_state",
        "Filter during the newest readings",
        "clean",
        "loaded",
        "wrong-size",
        section="visit",
        key="filter",
    ),
    word("doors_state", "Inside doors during the newest readings", "open", "closed", section="visit", key="doors"),
)

STATES = (
    word(
        "registers_state", "Registers during the newest readings", "open", "some-shut", section="visit", key="registers"
    ),
    word(
        "dampers_state", "Hand dampers during the newest readings", "normal", "changed", section="visit", key="dampers"
    ),
    word("filter_changed", "Filter changed at the visit", "before-statics", "after-statics", "not", section="visit"),
    word("return_probe", "Where the return static was read", *_PROBE, section="visit"),
    word("supply_probe", "Where the supply static was read", *_PROBE, section="visit"),
    word(
        "flow_method",
        "How the blower airflow was read",
        "blower-table",
        "plenum-match",
        "flow-grid",
        "return-hood",
        "temperature-rise",
        section="visit",
    ),
    word("hood", "Hood of the register readings", "powered", "unpowered", section="visit"),
    word(
        "leakage_method",
        "How the leakage was tested",
        "fan-total",
        "fan-to-outside",
        "fan-both",
        section="visit",
    ),
    word("smoke_check", "Smoke check of reachable joints", "clear", "leaks", "not-done", section="visit"),
    word("zone_calls", "Zone calls the readings cover", "every", "one", section="visit"),
    word("exhausts_state", "Exhaust fans during room pressures", "off", "on", section="visit", key="exhausts"),
    yes("same_ports", "Read at the ports of the first visit", section="visit"),
    yes("gas_smell", "It smells of gas", section="visit"),
    word("gas_leak_check", "Leak check of the gas line", "passed", "failed", section="visit"),
)

READINGS = (
    static("return_static", "Return static pressure at the unit, negative", -2.0, 0.0),
    static("supply_static", "Supply static pressure at the unit"),
    static("external_static", "Total external static pressure"),
    static("filter_drop", "Drop over filter and grille"),
    static("return_duct_drop", "Drop over the return duct"),
    static("collar_drop", "Drop over the collar at the unit"),
    static("plenum_drop", "Drop over supply plenum and take-offs"),
    static("branch_drop", "Drop over plenum and branches together"),
    static("coil_drop", "Drop over an external coil"),
    flow("airflow", "Blower airflow"),
    flow("heating_flow", "Blower airflow while heating"),
    flow("register_flow", "Sum of supply registers"),
    flow("grille_flow", "Sum of return grilles"),
    read("grille_area", "Gross area of all filter grilles, as they were read", "in2", "cm2", 30, 6000),
    read("power", "Blower power", "W", "W", 0, 2500),
    flow("leakage_25", "Duct leakage at 25 Pa, total", 1200.0),
    flow("leakage_return_25", "Duct leakage at 25 Pa, return side", 1200.0),
    flow("leakage_supply_25", "Duct leakage at 25 Pa, supply side", 1200.0),
    flow("leakage_outside_25", "Duct leakage at 25 Pa, to outside", 1200.0),
    read("leakage_pressure", "Duct pressure reached in the leakage test", "Pa", "Pa", 1, 60),
    flow("return_leak", "Return leakage while running", 2000.0),
    flow("supply_leak", "Supply leakage while running", 2000.0),
    read("house_pressure", "Pressure of the house, blower on less blower off", "Pa", "Pa", -30, 30),
    temperature("grille_wet_bulb", "Wet bulb at the return grille"),
    temperature("grille_temp", "Air temperature at the return grille"),
    temperature("unit_temp", "Air temperature entering the unit"),
    temperature("supply_temp", "Air temperature leaving the unit"),
    temperature("attic_temp", "Air temperature in the attic or crawl"),
    temperature("outdoor_temp", "Outdoor air temperature"),
    temperature("duct_surface_temp", "Coldest duct surface outside the rooms"),
    temperature("indoor_dew_point", "Dew point in the rooms"),
    temperature("space_dew_point", "Dew point where the ducts run"),
    temperature("outdoor_dew_point", "Outdoor dew point"),
    temperature("heat_index", "Heat index outdoors"),
    read("outdoor_humidity", "Outdoor relative humidity", "%", "%", 0, 100),
    read("wind", "Wind", "mph", "m/s", 0, 100),
    read("temperature_rise", "Heating temperature rise", "F diff", "K", 0, 150),
    read("ambient_co", "Carbon monoxide in the room air", "ppm", "ppm", 0, 2000),
)

#: What the program works out of the whole record.
DERIVED = (
    word("fan_setting_known", "The fan setting of the readings is recorded", "yes", "no", section="derived"),
    word("jurisdiction_known", "The market names its jurisdiction and code editions", "yes", "no", section="derived"),
    word("tested", "A test-in visit on the old unit exists", "yes", "no", section="derived"),
    word("tons_change", "New tons against the old", "same", "larger", "smaller", section="derived"),
    word("unit_recorded", "Model and serial number of the new unit are recorded", "yes", "no", section="derived"),
    word(
        "instruments_named", "Instruments with the day of their last check are listed", "yes", "no", section="derived"
    ),
    word("out_filter", "Filter at test-out", "clean", "loaded", "wrong-size", section="derived"),
    word("out_smoke", "Smoke check of reachable joints at test-out", "clear", "leaks", "not-done", section="derived"),
    word("out_same_ports", "Test-out was read at the ports of the first visit", "yes", "no", section="derived"),
    word("out_setting_known", "The fan setting of test-out is one of the new unit's", "yes", "no", section="derived"),
    Field(
        "conflict",
        "reading",
        "Worst disagreement between readings of one flow, in standard deviations",
        "1",
        "1",
        section="derived",
    ),
    *(
        Field(f"{EXPECTED}{name}", "reading", f"{title}, as it was predicted", unit, si, section="derived")
        for name, title, unit, si in (
            ("return_static", "Return static pressure", "in. w.c.", "Pa"),
            ("supply_static", "Supply static pressure", "in. w.c.", "Pa"),
            ("airflow", "Blower airflow", "cfm", "L/s"),
            ("power", "Blower power", "W", "W"),
            ("leakage_25", "Duct leakage at 25 Pa, total", "cfm", "L/s"),
        )
    ),
    Field("age", "number", "Days between the newest readings and the proposal", "d", "d", section="derived"),
    Field(
        "instrument_age",
        "number",
        "Days since the oldest last check of an instrument used",
        "d",
        "d",
        section="derived",
    ),
)
