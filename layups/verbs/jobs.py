"""A customer's material is put aside and cut only for that customer's parts (R38): a job that names a part is judged by it."""

from __future__ import annotations

from collections.abc import Iterator

from inventory.core.reasons import Reason
from inventory.models import Item
from inventory.verbs.jobs import JOB_RULES
from inventory.verbs.registry import Call
from layups.models import Part

from .checks import owner_reasons
from .finding import Made


def owner_of_job(call: Call, item: Item, job: str) -> Iterator[Reason]:
    """A job may name several parts; a name that is no part's says nothing about whose it is."""
    if item.owner_id is None:
        return
    names = {job, *job.replace(",", " ").split()}
    for part in Part.objects.select_related("item", "customer").filter(number__in=names, item__site=call.who.site).order_by("number"):
        yield from owner_reasons(item, Made(part.item, part))


JOB_RULES.append(owner_of_job)
