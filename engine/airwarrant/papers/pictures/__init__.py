"""Pictures of the papers: dataclasses in, SVG elements as text out; the same input gives the same bytes.

All words come from the caller, who joins a number and its unit with a no-break space where they should stay together. No
picture refers to anything outside it, and only its own ``title`` and ``desc`` have an id.
"""

from airwarrant.papers.pictures.air_path import air_path
from airwarrant.papers.pictures.air_path_parts import AirPath, Kind, Leak, Mark, Outlet, PathWords, Piece
from airwarrant.papers.pictures.blower_chart import Curve, Limit, Operation, blower_chart
from airwarrant.papers.pictures.door_pressures import Door, DoorWords, door_pressures
from airwarrant.papers.pictures.pressure_profile import ProfileWords, Station, pressure_profile
from airwarrant.papers.pictures.room_flows import RoomFlow, RoomWords, room_flows
from airwarrant.papers.pictures.shown import MISSING, Axis, Frame, Shown
from airwarrant.papers.pictures.waterfall import Step, WaterfallWords, waterfall

__all__ = [
    "MISSING",
    "AirPath",
    "Axis",
    "Curve",
    "Door",
    "DoorWords",
    "Frame",
    "Kind",
    "Leak",
    "Limit",
    "Mark",
    "Operation",
    "Outlet",
    "PathWords",
    "Piece",
    "ProfileWords",
    "RoomFlow",
    "RoomWords",
    "Shown",
    "Station",
    "Step",
    "WaterfallWords",
    "air_path",
    "blower_chart",
    "door_pressures",
    "pressure_profile",
    "room_flows",
    "waterfall",
]
