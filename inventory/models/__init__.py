"""The tables of the shelf. See each module's first lines; `ledger` is the truth, `derived` follows from it."""

from .counts import CountLine, CountSheet, CountTold
from .derived import (
    Block,
    Disposition,
    Edge,
    Exemption,
    Extension,
    Finding,
    Flag,
    ItemState,
    Nonconformance,
    Notice,
    Outbox,
    PotCurve,
)
from .items import Attachment, CertValue, Delivery, Item, ItemCode, ItemKind, Lot
from .kinetics import GelBy, Kinetics
from .label_kinds import KnownBy, SupplierLabel
from .labels import LabelPrint
from .ledger import Act, Leg, Refusal
from .logs import Calibration, Job, JobState, LogReadings, LogWithdrawal, Probe, TemperatureLog
from .materials import (
    CertLimit,
    Checkpoint,
    Clock,
    Customer,
    LifeLimit,
    LifeSpec,
    Material,
    MaterialKind,
    Recipe,
    RecipeAdditive,
    Supplier,
    Unit,
    Weave,
)
from .people import Device, Person, Role, RoleName, Site, Token, User
from .places import Location, LocationKind, Reading, StorageClass

__all__ = [
    "Act", "Attachment", "Block", "Calibration", "CertLimit", "CertValue", "Checkpoint", "Clock", "CountLine", "CountSheet", "CountTold",
    "Customer", "Delivery", "Device", "Disposition", "Edge", "Exemption", "Extension", "Finding", "Flag", "GelBy", "Item",
    "ItemCode", "ItemKind", "ItemState", "Job", "JobState", "Kinetics", "KnownBy", "LabelPrint", "Leg", "LifeLimit", "LifeSpec", "Location",
    "LocationKind", "LogReadings", "LogWithdrawal", "Lot", "Material", "MaterialKind", "Nonconformance", "Notice",
    "Outbox", "Person", "PotCurve", "Probe", "Reading", "Recipe", "RecipeAdditive", "Refusal", "Role", "RoleName",
    "Site", "StorageClass", "Supplier", "SupplierLabel", "TemperatureLog", "Token", "Unit", "User", "Weave",
]  # fmt: skip
