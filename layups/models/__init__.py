"""The tables of what is built: designs with their schedules, parts, cure runs, inspections, defects, shipments."""

from .cured import CuredPly
from .curing import CureChart, CureRecipe
from .designs import Design, Ply, RoomLimit, Window
from .limits import TighterLimit
from .making import Consumable, Infusion
from .parts import CureRun, Defect, Inspection, Part, Shipment

__all__ = [
    "Consumable", "CureChart", "CureRecipe", "CureRun", "CuredPly", "Defect", "Design", "Infusion", "Inspection", "Part", "Ply",
    "RoomLimit", "Shipment", "TighterLimit", "Window",
]  # fmt: skip
