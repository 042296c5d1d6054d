"""A small shop whose rows are put in by hand, for tests of what stands below the write path.

Nothing is judged here: a test says what happened and gets exactly those rows. Rows are collected and written by
`flush` in a few statements, so that a test can afford thousands of them.
"""

from __future__ import annotations

import itertools
import uuid
from typing import Any

from inventory.models import (
    Act,
    Customer,
    Device,
    Edge,
    Item,
    Leg,
    LifeSpec,
    Location,
    Lot,
    Material,
    Person,
    Site,
    StorageClass,
    Supplier,
)

MADE = ("part", "assembly")
HOUR = 3_600_000_000
_shops = itertools.count(1)
BLOCK = 1_000_000_000
"""Each shop numbers its things in a block of its own, for an item is a key of dictionaries before it is written. SQLite counts on from the
highest number it has seen, also when that row is gone again: what another shop left behind lies in a lower block."""


class Shop:
    """One site with its people, one place, one supplier and the materials that a test asks for."""

    def __init__(self) -> None:
        n = next(_shops)
        self.site = Site.objects.create(code=f"S{n}", name="Quillstrand Boatyard", zone="Europe/Copenhagen")
        self.ines = Person.objects.create(site=self.site, name="Ines")
        self.marek = Person.objects.create(site=self.site, name="Marek")
        self.device = Device.objects.create(site=self.site, name="bench")
        self.frozen = StorageClass.objects.create(site=self.site, name="frozen", low_mc=-25_000, high_mc=-18_000)
        self.place = Location.objects.create(site=self.site, code="F1", name="Chest freezer", kind="freezer", storage=self.frozen)
        self.supplier = Supplier.objects.create(name=f"Aldervane Weavers {n}")
        self.customer = Customer.objects.create(name=f"Ferrel Rowing Club {n}")
        self._n, self._at = n, 0
        self._ids = itertools.count(n * BLOCK + 1)
        self._seq: dict[str, int] = {}
        self._materials: dict[str, Material] = {}
        self._new: dict[type, list[Any]] = {Item: [], Lot: [], Act: [], Leg: [], Edge: []}

    def material(self, unit: str) -> Material:
        """The shop's material of a stock unit: a fabric by length, a resin by mass, a core by piece."""
        if unit not in self._materials:
            kind = {"um": "fabric", "cmm2": "film", "ug": "resin", "pc": "core"}[unit]
            self._materials[unit] = Material.objects.create(
                code=f"M{self._n}-{unit}", name=f"{kind} by {unit}", kind=kind, unit=unit, width_um=1_270_000,
                usable_width_um=1_250_000, areal_mg_m2=204_000, supplier=self.supplier,
            )  # fmt: skip
            LifeSpec.objects.create(material=self._materials[unit], version=1)
        return self._materials[unit]

    def item(self, kind: str, unit: str = "um", **more: Any) -> Item:
        """A labelled thing; it has no leg yet."""
        material = None if kind in MADE else self.material(unit)
        number = next(self._ids)
        unit = "pc" if kind in MADE and unit == "um" else unit
        thing = Item(id=number, site=self.site, code=f"C{number}", kind=kind, unit=unit, material=material, **more)
        self._new[Item].append(thing)
        return thing

    def lot(self, unit: str = "um") -> Item:
        """A lot with the facts of the batch."""
        thing = self.item("lot", unit)
        number = f"L-{thing.code}"
        self._new[Lot].append(Lot(item=thing, supplier=self.supplier, number=number, number_key=number, material=self.material(unit)))
        return thing

    def roll(self, lot: Item, qty: int, at: int | None = None, kind: str = "roll") -> Item:
        """A piece of a lot, received."""
        thing = self.item(kind, lot.unit, lot=lot)
        self.act("receive", [(lot, thing, qty)], {lot: 0, thing: qty}, at=at)
        return thing

    def act(
        self,
        kind: str,
        edges: list[tuple[Any, ...]] = (),  # type: ignore[assignment]
        deltas: dict[Item, int] | None = None,
        *,
        counted: dict[Item, int] | None = None,
        at: int | None = None,
        edge_kind: str = "",
        **more: Any,
    ) -> Act:
        """Something that happened, an hour after the last unless `at` says when. An edge is (from, to, qty) or
        (from, to, qty, got); a leg without a given delta takes −Σ qty where the edges leave, +Σ got where they arrive."""
        self._at = self._at + HOUR if at is None else at
        act = Act(
            id=next(self._ids), site=more.pop("site", self.site), key=uuid.uuid4(), fingerprint="0" * 64, kind=kind, stance="observed",
            happened_us=self._at, rank=more.pop("rank", 50), device=self.device, recorded_us=10**15,
            person=more.pop("person", self.ines), role="storekeeper", reason="wrong item" if kind == "void" else "", **more,
        )  # fmt: skip
        self._new[Act].append(act)
        legs: dict[Item, Leg] = {}
        for thing in [thing for edge in edges for thing in edge[:2]]:
            legs[thing] = legs.get(thing) or self._leg(act, thing, 0)
        for source, target, qty, *got in edges:
            legs[source].delta -= qty if source.kind != "lot" else 0
            legs[target].delta += (got[0] if got else qty) if target.kind not in MADE else 0
        for thing, delta in (deltas or {}).items():
            legs[thing] = legs.get(thing) or self._leg(act, thing, 0)
            legs[thing].delta = delta
        for thing, found in (counted or {}).items():
            legs[thing] = legs.get(thing) or self._leg(act, thing, 0)
            legs[thing].counted = found
        self._new[Leg].extend(legs.values())
        for source, target, qty, *got in edges:
            edge = Edge(
                act=act, kind=edge_kind or kind, src=source, dst=target, src_leg=legs[source], dst_leg=legs[target],
                happened_us=self._at, qty=qty, got=got[0] if got else None,
            )  # fmt: skip
            self._new[Edge].append(edge)
        return act

    def join(self, component: Item, assembly: Item, at: int | None = None, until: int | None = None) -> Edge:
        """A component built into an assembly, and taken out again at `until`."""
        self.act("join", [(component, assembly, 1)], at=at)
        edge: Edge = self._new[Edge][-1]
        edge.until_us = until
        return edge

    def void(self, act: Act) -> Act:
        """Void an act: its edges no longer count."""
        self.flush()
        Edge.objects.filter(act=act).update(void=True)
        return self.act("void", [], {leg.item: 0 for leg in act.legs.all()}, voids=act)

    def flush(self) -> None:
        """Write what was collected."""
        for model, rows in self._new.items():
            model.objects.bulk_create(rows, batch_size=500)  # type: ignore[attr-defined]
            rows.clear()

    def _leg(self, act: Act, thing: Item, delta: int) -> Leg:
        self._seq[thing.code] = self._seq.get(thing.code, 0) + 1
        return Leg(act=act, item=thing, seq=self._seq[thing.code], delta=delta)
