"""Pictures of the papers: dataclasses in, one SVG element as text out. All words come from the caller; the same input gives the same bytes."""

from airwarrant.papers.pictures.door_pressures import Door, DoorWords, door_pressures
from airwarrant.papers.pictures.pressure_profile import ProfileWords, Station, pressure_profile
from airwarrant.papers.pictures.room_flows import RoomFlow, RoomWords, room_flows
from airwarrant.papers.pictures.shown import MISSING, Axis, Frame, Shown
from airwarrant.papers.pictures.waterfall import Step, WaterfallWords, waterfall

__all__ = [
    "MISSING",
    "Axis",
    "Door",
    "DoorWords",
    "Frame",
    "ProfileWords",
    "RoomFlow",
    "RoomWords",
    "Shown",
    "Station",
    "Step",
    "WaterfallWords",
    "door_pressures",
    "pressure_profile",
    "room_flows",
    "waterfall",
]
