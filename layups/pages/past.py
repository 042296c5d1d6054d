"""What was done to a part: steps, tests, cures and shipping, as the timeline takes them; and where it was loaded."""

from __future__ import annotations

from typing import Any

from django.utils.html import format_html

from inventory import readers
from inventory.core.said import first_up, say
from inventory.models import Act
from inventory.pages import acts
from inventory.pages.door import Shop
from inventory.pages.ways import to
from inventory.templatetags import words as said
from layups.core import verdicts
from layups.reads.part import PartPage

from . import words


def steps(page: PartPage, shop: Shop) -> list[dict[str, Any]]:
    """Steps, tests and cures in the order of time, as the timeline takes them."""
    rows = [(act.happened_us, step_row(act, body, shop)) for act, body in page.steps]
    rows += [(i.act.happened_us, inspection_row(i)) for i in page.inspections]
    rows += [(d.act.happened_us, defect_row(d)) for d in page.defects]
    rows += [(s.act.happened_us, shipment_row(s)) for s in page.shipments]
    return [row for _, row in sorted(rows, key=lambda pair: pair[0])]


def _row(act: Act, verb: str, text: Any, marks: tuple[Any, ...] = ()) -> dict[str, Any]:
    late = act.recorded_us if act.recorded_us - act.happened_us >= 60_000_000 else None
    return {
        "when_us": act.happened_us,
        "verb": verb,
        "text": text,
        "person": act.person.name,
        "recorded_us": late,
        "marks": marks,
        "url": to("record", act.pk),
    }


def step_row(act: Act, body: dict[str, Any], shop: Shop) -> dict[str, Any]:
    parts: list[object] = []
    verb = acts.kind_words(act.kind)
    if act.kind == "step":
        verb = first_up(readers.again(str(body.get("step", "step"))))
    if body.get("planned_cure_us"):
        parts.append(said.html_say("for {when}", when=said.instant(body["planned_cure_us"], shop.zone, shop.now_us)))
    if body.get("place"):
        parts.append(say("in {place}", place=body["place"]))
    if body.get("run"):
        parts.append(say("run {run}", run=body["run"]))
    if "reached_mc" in body:
        parts.append(say("at {reached} °C", reached=f"{body['reached_mc'] / 1000:g}"))
    if body.get("note"):
        parts.append(str(body["note"]))
    return _row(act, verb, format_html(", ".join(["{}"] * len(parts)), *parts) if parts else "", acts.broke(act))


def inspection_row(i: Any) -> dict[str, Any]:
    passed = words.state("passed" if i.passed else "failed")
    limit = say(", limit {limit}", limit=i.limit) if i.limit else ""
    tool = say(", with {instrument}", instrument=i.instrument) if i.instrument else ""
    text = format_html("{} {}{}{}", passed, i.result, limit, tool)
    return _row(i.act, verdicts.KINDS.get(i.kind, i.kind), text)


def defect_row(d: Any) -> dict[str, Any]:
    return _row(d.act, say("Defect"), format_html("{} {} {}", words.state("failed"), d.code, d.text))


def shipment_row(s: Any) -> dict[str, Any]:
    return {
        "when_us": s.act.happened_us,
        "verb": say("Shipped"),
        "text": say("to {customer}", customer=s.customer),
        "person": "",
        "url": to("record", s.act_id),
        "recorded_us": None,
    }
