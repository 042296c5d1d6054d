"""One row in every guarded table, for tests that attack them."""

from __future__ import annotations

import uuid
from datetime import date

from django.db.models import Model

from inventory.models import (
    Attachment,
    Block,
    Calibration,
    CertValue,
    CountLine,
    CountSheet,
    CountTold,
    Disposition,
    Edge,
    Exemption,
    Extension,
    Finding,
    Item,
    ItemCode,
    ItemState,
    Kinetics,
    LabelPrint,
    LifeLimit,
    LifeSpec,
    LogReadings,
    LogWithdrawal,
    Lot,
    Nonconformance,
    Probe,
    Reading,
    Refusal,
    SupplierLabel,
    TemperatureLog,
)
from layups.models import CureChart, CureRecipe, Defect, Design, Inspection, Part, Shipment
from tests.ledger.shop import Shop


def one_of_each(shop: Shop) -> dict[str, Model]:
    """Fills every guarded table of a shop; gives one row of each by the model's label."""
    lot = shop.lot()
    roll = shop.roll(lot, 5_000_000)
    part = shop.item("part")
    laid = shop.act("lay", [(roll, part, 1_000_000)])
    asked = shop.act("extend_ask", deltas={lot: 0})
    allowed = shop.act("extend", deltas={lot: 0}, person=shop.marek, approves=asked)
    held = shop.act("hold", deltas={lot: 0})
    exempt = shop.act("exempt", deltas={part: 0})
    settled = shop.act("dispose", deltas={part: 0})
    facts = [shop.act(kind, deltas={part: 0}) for kind in ("inspect", "defect", "ship", "chart")]
    shop.flush()
    spec = LifeSpec.objects.get(material=roll.material)
    block = Block.objects.create(site=shop.site, item=lot, why="quality", opened=held, from_us=held.happened_us)
    cause = Nonconformance.objects.create(site=shop.site, cause=roll, code="life.over", opened_us=1)
    leg = laid.legs.get(item=roll)
    times = {"old_us": 1, "until_us": 2, "from_us": 1}
    people = {"asked": asked, "approved": allowed, "asked_by": shop.ines, "approved_by": shop.marek}
    design = Design.objects.create(code=f"RUD{shop.site.pk}", name="Rudder blade", process="prepreg")
    built = Part.objects.create(item=part, design=design, number=f"RUD-{shop.site.pk}")
    probe = Probe.objects.create(site=shop.site, name="F1-P", measures="product")
    log = TemperatureLog.objects.create(
        site=shop.site, key=uuid.uuid4(), probe=probe, measures="product", location=shop.place, sha256="0" * 64, name="log.csv", first_us=1,
        last_us=2, readings=2, known_us=1, least_mc=-18_000, most_mc=-17_000, person=shop.ines, recorded_us=3,
    )  # fmt: skip
    days = {"done_on": date(2026, 1, 1), "due_on": date(2026, 6, 30)}
    cure = CureRecipe.objects.create(code=f"OVEN{shop.site.pk}", version=1, name="oven", text="dwell 80 ±5 °C for at least 1 h")
    sheet = CountSheet.objects.create(site=shop.site, location=shop.place, begun_by=shop.ines, begun_us=1)
    made: list[Model] = [
        laid, leg, spec, shop.frozen, Lot.objects.get(item=lot), roll, shop.place, Edge.objects.get(act=laid), block, cause,
        Refusal.objects.create(site=shop.site, at_us=1, verb="lay", reasons="[]"),
        LifeLimit.objects.create(spec=spec, name="storage", clock="printed", checkpoint="laid"),
        CertValue.objects.create(lot=lot, name="areal mass", value="203", act=held),
        Attachment.objects.create(sha256="0" * 64, name="papers.pdf", media_type="application/pdf", size=1, person=shop.ines, stored_us=1),
        ItemCode.objects.create(site=shop.site, code="SECOND", item=roll),
        LabelPrint.objects.create(
            site=shop.site, key=uuid.uuid4(), item=roll, copies=1, person=shop.ines, device=laid.device,
            at_us=1, format="a", form="pdf", text="",
        ),
        Reading.objects.create(location=shop.place, at_us=1, temp_mc=-20_000, recorded_us=1),
        Kinetics.objects.create(
            material=roll.material, version=1, name="shape", source="a paper", form="published", constants='{"set": "room"}',
            seed_ppm=100, gel_ppm=577_000, low_mc=20_000, high_mc=80_000, heat_j_kg=1, heat_capacity=1, tg0_mc=0, tg1_mc=9, lambda_ppm=1,
        ),
        log,
        Calibration.objects.create(probe=probe, **days),
        LogReadings.objects.create(log=log, packed=b"x"),
        LogWithdrawal.objects.create(log=log, reason="another probe's", person=shop.ines, at_us=4),
        SupplierLabel.objects.create(
            supplier=lot.batch.supplier, material=roll.material, known_by="part", value="PW-200", told_by=shop.ines, told_us=1
        ),
        sheet, CountLine.objects.create(sheet=sheet, item=roll),
        CountTold.objects.create(sheet=sheet, key=uuid.uuid4(), said="0" * 64),
        Extension.objects.create(item=lot, limit="storage", evidence="lap shear 24.1 MPa", **times, **people),
        Exemption.objects.create(block=block, item=part, act=exempt),
        Disposition.objects.create(item=part, meaning="rework", act=settled),
        ItemState.objects.create(item=roll, head=2, qty=4_000_000),
        Finding.objects.create(leg=leg, code="life.over", item=part, nonconformance=cause, at_us=1, text="over", opened_us=1),
        Inspection.objects.create(part=built, kind="hardness", readings="28", result="28.0", passed=False, act=facts[0]),
        Defect.objects.create(part=built, code="soft", act=facts[1]),
        Shipment.objects.create(part=built, customer=shop.customer, act=facts[2]),
        cure, CureChart.objects.create(act=facts[3], part=built, recipe=cure, verdict="passes"),
    ]  # fmt: skip
    rows: dict[str, Model] = {row._meta.label: type(row)._default_manager.get(pk=row.pk) for row in made}
    assert isinstance(rows["inventory.Item"], Item)
    return rows
