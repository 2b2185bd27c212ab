"""Words of the rooms and their doors."""

from airwarrant.job.fields import EXPECTED, Field, derived, flow, number, read, word, yes

_FACES = ("north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west")

ROOM: tuple[Field, ...] = (
    word("use", "Use of the room", "bedroom", "living", "kitchen", "dining", "bath", "hall", "other"),
    word("complaint", "What the homeowner says of it", "hot", "cold", "stuffy", "noisy", "dusty", "none"),
    word("complaint_when", "When", "morning", "afternoon", "evening", "night", "always"),
    word("complaint_season", "In which season", "summer", "winter", "both"),
    word("complaint_door", "With its door", "open", "closed", "either"),
    number("severity", "How bad, 1 to 5", "1", "1", 1, 5),
    yes("damper_access", "A balancing damper can be fitted or reached"),
    yes("transfer_ok", "A transfer path to the hall is acceptable"),
    word("asked", "What the homeowner asks for here", "own-return", "transfer-grille", "trimmed-door", "none"),
    yes("wall_ok", "A grille in the wall or over the door is acceptable"),
    yes("undercut_ok", "The door can be trimmed"),
    yes("own_return", "It has a return of its own"),
    yes("thermostat_here", "The thermostat hangs here"),
    yes("other_system", "Another system also serves it"),
    yes("registers_shut", "A register in it was found shut"),
    derived("balanced", "The system was balanced before the newest readings", "yes", "no"),
    number("storey", "Storey it lies on, from 1", "1", "1", 0, 4),
    number("registers", "Supply registers in it", "1", "1", 0, 12),
    number("target", "Design airflow", "cfm", "L/s", 0, 1000),
    number("load", "Sensible cooling load", "Btu/h", "kW", 0, 40000),
    number("load_share", "Its share of the house's load", "%", "%", 0, 100),
    number("area", "Floor area", "ft2", "m2", 10, 2000),
    number("wall_area", "Outside wall, without windows", "ft2", "m2", 0, 2000),
    number("glass_area", "Window glass", "ft2", "m2", 0, 600),
    word("glass_faces", "Side the glass faces", *_FACES),
    word("ceiling_below", "What is above its ceiling", "attic", "roof", "inside"),
    number("people", "People usually there in the afternoon", "1", "1", 0, 20),
    number("door_width", "Width of its door", "in", "mm", 18, 72),
    number("undercut", "Gap under its door, above the finished floor", "in", "mm", 0, 3),
    yes("carpet", "Carpet under its door"),
    number("transfer_area", "Net free area of transfer grille or jump duct", "in2", "cm2", 0, 400),
    flow("flow", "Air into the room, door open", 1000.0),
    Field(f"{EXPECTED}flow", "reading", "Air into the room, as it was predicted", "cfm", "L/s", section="derived"),
    flow("return_flow", "Air out of the room through its own return", 1000.0),
    read("door_pressure", "Pressure in the room with its door shut", "Pa", "Pa", -60, 60),
    read("offset", "Room above the thermostat", "F diff", "K", -40, 40),
)
