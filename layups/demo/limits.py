"""Life limits, and what a delivery's papers must state."""

from __future__ import annotations

from typing import Any

from inventory.models import CertLimit, LifeLimit, LifeSpec, Material

from .anchor import DAY_US, HOUR_US, MINUTE_US

OUT_MC = -12_000
"""Out time of prepreg and film runs above this temperature."""

Limits = dict[str, dict[str, Any]]


def _months(clock: str, months: int, checkpoint: str, **more: Any) -> dict[str, Any]:
    return {"clock": clock, "months": months, "checkpoint": checkpoint, **more}


def _above(hours: int, checkpoint: str) -> dict[str, Any]:
    return {"clock": "above", "limit_us": hours * HOUR_US, "threshold_mc": OUT_MC, "checkpoint": checkpoint}


_PRINTED = {"clock": "printed", "checkpoint": "used"}
_FILM_RETEST = {"ladder": "3 1", "unopened_only": True, "evidence": "lap shear, MPa", "evidence_min": "20"}
_HARDENER: Limits = {"storage": _months("calendar", 12, "mixed"), "opened": _months("opened", 3, "mixed")}
_EPOXY: Limits = {"storage": _months("calendar", 24, "mixed")}

LIFE: dict[str, Limits] = {
    "PP-T": {"storage": _months("calendar", 12, "laid"), "tack": _above(240, "laid"), "out": _above(504, "cure")},
    "FA-B": {"storage": _months("calendar", 6, "laid", **_FILM_RETEST), "out": _above(240, "cure")},
    "CS-F": {"storage": _months("calendar", 6, "laid"), "out": _above(168, "cure")},
    "LAM-A": _EPOXY,
    "LAM-B": _HARDENER,
    "INF-A": _EPOXY,
    "INF-B": _HARDENER,
    "WND-A": _EPOXY,
    "WND-B": _HARDENER,
    # A drum in its fourth month may be tested in a gel cup and kept for two more, opened or not (the yard's own step).
    "VE-I": {
        "storage": _months("calendar", 4, "mixed", ladder="2", unopened_only=False, evidence="gel, min", evidence_min="28"),
    },
    "PE-L": {"storage": _months("calendar", 6, "mixed")},
    "GC-W": {"storage": _months("calendar", 6, "mixed")},
    # The supplier states life at two storage temperatures and allows fractions to be added (R9).
    "PH-R": {"storage": {"clock": "fraction", "fractions": "10000:P3M 25000:P28D", "checkpoint": "mixed"}},
    "PH-C": {"storage": _months("calendar", 12, "mixed")},
    "MEKP": {"printed date": {"clock": "printed", "checkpoint": "mixed"}},
    "CO-6": {"storage": _months("calendar", 12, "mixed")},
    "WAX-5": {"storage": _months("calendar", 6, "mixed")},
    "STY": {"storage": _months("calendar", 6, "mixed")},
    "PU-B": {"opened": {"clock": "opened", "limit_us": 30 * DAY_US, "checkpoint": "mixed"}},
    "BP-A": {"storage": _months("calendar", 12, "used")},
    "BP-B": {"storage": _months("calendar", 12, "used")},
    "TPT": {
        "moisture": {"clock": "moisture", "limit_us": 60 * MINUTE_US, "checkpoint": "laid"},
        "heats": {"clock": "heats", "limit_n": 3, "checkpoint": "laid"},
    },
    "REL": {"printed date": _PRINTED, "opened": _months("opened", 6, "used")},
    "TAPE": {"printed date": _PRINTED},
}
# Version 1 did not limit tack, and lots that came under it are judged by it for good: the yard tightened the
# specification later. So a roll of an old lot that was out for 96 h was still in order until its out life ended.
PP_U_V1: Limits = {"storage": _months("calendar", 6, "laid"), "out": _above(120, "cure")}
PP_U_V2: Limits = {**PP_U_V1, "tack": _above(72, "laid")}

# material: (name, unit, low, high, for each roll). No limits: the value must be stated, whatever it is.
CERTIFICATES: dict[str, tuple[tuple[str, str, str, str, bool], ...]] = {
    "GB-600": (
        ("areal mass", "g/m²", "572", "632", False),
        ("moisture", "%", "", "0.15", False),
        ("size", "%", "0.4", "1.0", False),
    ),
    "CSM-300": (("areal mass", "g/m²", "270", "330", False),),
    "CT-204": (("areal mass", "g/m²", "196", "212", False),),
    "CU-300": (("areal mass", "g/m²", "288", "312", False),),
    "TOW-12K": (
        ("linear density", "tex", "776", "824", False),
        ("density", "g/cm³", "", "", False),
        ("strength", "MPa", "", "", False),
    ),
    "ROV-2400": (("linear density", "tex", "2280", "2520", False),),
    "CORE-80": (("density", "kg/m³", "72", "92", False),),
    "BALSA-150": (("moisture", "%", "", "12", False),),
    "PP-T": (("areal mass", "g/m²", "197", "211", True), ("resin", "%", "40.0", "44.0", True)),
    "PP-U": (("areal mass", "g/m²", "145", "155", True), ("resin", "%", "34.0", "38.0", True)),
    "FA-B": (("lap shear", "MPa", "20", "", False),),
    "CS-F": (("expansion", "times", "1.7", "2.5", False),),
    "LAM-A": (("EEW", "g/eq", "185", "195", False),),
    "LAM-B": (("amine value", "mg KOH/g", "", "", False),),
    "INF-A": (("EEW", "g/eq", "175", "185", False),),
    "INF-B": (("amine value", "mg KOH/g", "", "", False),),
    "WND-A": (("EEW", "g/eq", "180", "190", False),),
    "WND-B": (("amine value", "mg KOH/g", "", "", False),),
    "VE-I": (("gel", "min", "28", "42", False), ("viscosity", "mPa·s", "180", "260", False), ("styrene", "%", "40", "45", False)),
    "PE-L": (("gel", "min", "18", "25", False), ("viscosity", "mPa·s", "", "", False)),
    "GC-W": (("gel", "min", "8", "14", False), ("hiding", "mm", "", "", False)),
    "PH-R": (("viscosity", "mPa·s", "", "", False), ("water", "%", "", "", False)),
    "MEKP": (("active oxygen", "%", "8.9", "9.1", False),),
    "PU-B": (("NCO", "%", "", "", False),),
    "BP-A": (("lap shear", "MPa", "", "", False),),
    "BP-B": (("lap shear", "MPa", "", "", False),),
    "TPT": (("resin", "%", "", "", False), ("moisture", "%", "", "", False)),
}


def build_limits(materials: dict[str, Material]) -> dict[str, LifeSpec]:
    """The first version of every specification; returns them by material."""
    specs = {code: add_spec(materials[code], 1, limits) for code, limits in {**LIFE, "PP-U": PP_U_V1}.items()}
    CertLimit.objects.bulk_create(
        CertLimit(material=materials[code], name=name, unit=unit, low=low, high=high, per_item=each)
        for code, rows in CERTIFICATES.items()
        for name, unit, low, high, each in rows
    )
    return specs


def tighten_pp_u(material: Material) -> LifeSpec:
    """Version 2 for PP-U: tack 72 h. Lots that arrive from now on are bound to it."""
    return add_spec(material, 2, PP_U_V2, "tack life 72 h added")


def add_spec(material: Material, version: int, limits: Limits, note: str = "") -> LifeSpec:
    spec = LifeSpec.objects.create(material=material, version=version, note=note)
    LifeLimit.objects.bulk_create(LifeLimit(spec=spec, name=name, **values) for name, values in limits.items())
    return spec
