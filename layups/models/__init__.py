"""The tables of what is built: designs with their schedules, parts, cure runs, inspections, defects, shipments."""

from .designs import Design, Ply, RoomLimit, Window
from .limits import TighterLimit
from .parts import CureRun, Defect, Inspection, Part, Shipment

__all__ = ["CureRun", "Defect", "Design", "Inspection", "Part", "Ply", "RoomLimit", "Shipment", "TighterLimit", "Window"]
