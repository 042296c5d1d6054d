"""Holds that begin at what defective parts share, and what evidence about one product says of another."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from inventory.core.reasons import Reason
from inventory.core.said import say
from inventory.models import Edge, Item
from inventory.verbs.holding import EVIDENCE_RULES, Hold, Unhold
from inventory.verbs.registry import Call, Outcome, perform
from layups.models import Part


def hold_shared(call: Call, lot: int, reason: str, recall: bool = False) -> Outcome:
    """Hold a lot that defective parts share, with everything that was made from it (R7): one hold on the lot is enough, since
    whoever asks about a part looks up. Raises Item.DoesNotExist, Refused, BadInput as the verb `hold` does."""
    item = Item.objects.get(pk=lot, site=call.who.site)
    return perform("hold", call, Hold(item.code, reason, recall=recall))


def about_product(call: Call, p: Unhold, free: Sequence[Item]) -> Iterator[Reason]:
    """Evidence that was gained on one product frees no other one. It may name the design, the part, or the run that the piece
    was cut from."""
    about = p.about.strip().casefold()
    if not about:
        return
    ids = [item.pk for item in free]
    runs = dict(Edge.objects.filter(dst__in=ids, kind="start", void=False).values_list("dst_id", "src__mark"))
    for part in Part.objects.select_related("design").filter(pk__in=ids).order_by("pk"):
        names = {part.design.code, part.design.name, part.number, runs.get(part.pk, "")}
        if about not in {name.casefold() for name in names if name}:
            text = say(
                "The evidence is about {value}; {part} is a {design}: bring evidence of its own.",
                value=p.about.strip()[:60],
                part=part.number,
                design=part.design.code,
            )
            yield Reason("evidence.other_product", text, {"item": part.pk, "about": p.about.strip()[:60], "is": part.design.code})


if about_product not in EVIDENCE_RULES:
    EVIDENCE_RULES.append(about_product)
