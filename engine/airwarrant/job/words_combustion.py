"""Words of combustion zones and appliances, and of materials of concern."""

from airwarrant.job.fields import link, number, read, word, yes

COMBUSTION = (
    (
        "zone",
        "Combustion zone",
        (
            yes("open_draft", "Holds an appliance that takes its air from the room"),
            word(
                "vents", "Weakest vent in the zone", "water-heater", "with-furnace", "induced", "power-vent", "sealed"
            ),
            yes("return_leak_here", "A return leak draws from this zone"),
            word("make_up", "Openings that feed its flames with air", "two", "one", "none"),
            number("make_up_area", "Free area of those openings", "in2", "cm2", 0, 3000),
            yes("worst_case", "Its pressure was read in the worst case"),
            read("draft", "Worst-case pressure of the zone", "Pa", "Pa", -60, 30),
        ),
    ),
    (
        "appliance",
        "Combustion appliance",
        (
            word("use", "What it is", "water-heater", "furnace", "boiler", "range", "dryer", "fireplace", "other"),
            word("burns", "What it burns", "gas", "propane", "oil", "wood"),
            word("venting", "Venting", "natural-draft", "induced", "power-vent", "sealed", "unvented"),
            yes("stays", "It stays after this job"),
            yes("flame_moves", "Its flame moves when the blower starts"),
            yes("exchanger_cracked", "Its heat exchanger is cracked, or looks it"),
            link("zone", "Zone it stands in", kind="zone"),
            number("input", "Input", "Btu/h", "kW", 0, 400000),
            read("spill", "Spillage at the draft hood, warm vent", "s", "s", 0, 1800),
            read("spill_cold", "Spillage at the draft hood, cold vent", "s", "s", 0, 1800),
            read("flue_co", "Carbon monoxide in the flue", "ppm", "ppm", 0, 2000),
        ),
    ),
    (
        "material",
        "Wrap, tape or board of concern",
        (
            yes("suspect_asbestos", "Asbestos-era wrap, tape or paper"),
            yes("cut_needed", "It must be cut or disturbed for this job"),
        ),
    ),
)
