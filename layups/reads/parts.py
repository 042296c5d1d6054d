"""Lists of parts, a page at a time, in a constant number of queries; and the parts that a defect divides."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from django.db.models import Exists, OuterRef, Q, QuerySet

from inventory.core import fold
from inventory.core.reasons import BadInput
from inventory.core.said import say, strung
from inventory.lineage import among, down_ids, open_blocks
from inventory.models import Block, Edge, Finding, Item, Site
from inventory.recording.transaction import body_of
from layups.core.verdicts import DEFECT, DROP
from layups.models import Defect, Inspection, Part

from .assemblies import seats_of
from .part import pieces_among, word_of

PAGE = 50


@dataclass(frozen=True, slots=True)
class Row:
    """One part in a list. `word`: building, bagged, curing, cured, assembled, shipped, scrapped; `inside`: the assembly it is in."""

    id: int
    number: str
    code: str
    design: str
    customer: str
    place: str
    word: str
    inside: str
    held: bool
    findings: int
    planned_cure_us: int | None


@dataclass(frozen=True, slots=True)
class Page:
    """A page of parts, newest first; `before` is what to ask for the next page with, None at the end."""

    rows: tuple[Row, ...]
    before: int | None


def parts(
    site: Site, *, design: str = "", text: str = "", in_shop: bool = False, state: str = "", ids: Collection[int] | None = None,
    before: int | None = None, limit: int = PAGE,
) -> Page:  # fmt: skip
    """Parts of a site, newest first. `text`: a piece of the number; `in_shop`: not shipped, not scrapped; `state`: one of STATES;
    `ids`: among these. Raises BadInput parts.state."""
    # Asked of each part, not joined: else SQLite reads every thing of the site before it sorts out the newest parts.
    mine = Exists(Item.objects.filter(pk=OuterRef("pk"), site=site))
    found = Part.objects.filter(mine).select_related("item__state__location", "design", "customer").order_by("-pk")
    if design:
        found = found.filter(design__code=design)
    if text.strip():
        found = found.filter(number__icontains=text.strip()[:40])
    if in_shop:
        found = found.filter(item__state__gone="")
    if state:
        found = in_state(found, site, state)
    if ids is not None:
        found = found.filter(pk__in=among(ids))
    if before is not None:
        found = found.filter(pk__lt=before)
    taken = list(found[: limit + 1])
    shown = taken[:limit]
    return Page(_rows(shown), shown[-1].pk if len(taken) > limit else None)


STATES = ("in_work", "building", "bagged", "curing", "cured", "assembled", "held", "finding", "shipped", "scrapped")
"""What a list of parts can be narrowed to: the words of `word_of`, all that is still being made, what is held, what has an open
finding."""


def in_state(found: QuerySet[Part], site: Site, state: str) -> QuerySet[Part]:
    """The same as `word_of` says of each, asked of the database, so that a page is a page of what was asked for."""
    if state not in STATES:
        raise BadInput(
            "parts.state", say("There is no state “{state}”: one of {states}.", state=state[:40], states=strung(", ", STATES)), "state"
        )
    if state in ("shipped", "scrapped"):
        return found.filter(item__state__gone=state)
    if state == "held":
        return found.filter(pk__in=among(held_parts(site))).exclude(item__state__gone="scrapped")
    if state == "finding":
        return found.filter(Exists(Finding.objects.filter(item=OuterRef("pk"), closed_us__isnull=True)))
    curing, bagged = _noted("curing"), _noted("bagged")
    done = _noted("cured") | Q(Exists(Edge.objects.filter(dst=OuterRef("pk"), kind="start", void=False)))
    wanted = {
        "in_work": curing | ~done,
        "curing": curing,
        "cured": ~curing & done,
        "bagged": ~curing & ~done & bagged,
        "building": ~curing & ~done & ~bagged,
    }
    assembly = Q(design__kind="assembly")
    return found.filter(assembly if state == "assembled" else ~assembly & wanted[state], item__state__gone="")


def _noted(name: str) -> Q:
    """Is this instant in the state? Its document leaves out what never happened."""
    return Q(item__state__doc__contains=f'"{name}":')


def held_parts(site: Site) -> set[int]:
    """All parts that an open block reaches: those below one, asked one by one, since an exemption may have freed them."""
    blocked = set(Block.objects.filter(site=site, to_us__isnull=True).values_list("item_id", flat=True))
    below = Part.objects.filter(pk__in=among(blocked | set(down_ids(blocked))))
    return set(open_blocks(below.values_list("pk", flat=True)))


def _rows(shown: list[Part]) -> tuple[Row, ...]:
    keys = [p.pk for p in shown]
    held = open_blocks(keys) if keys else {}
    seats, pieces = seats_of(keys), pieces_among(keys)
    counts: dict[int, int] = dict.fromkeys(keys, 0)
    for item in Finding.objects.filter(item__in=keys, closed_us__isnull=True).values_list("item_id", flat=True):
        counts[item] += 1
    out = []
    for p in shown:
        state = p.item.state
        out.append(
            Row(
                id=p.pk,
                number=p.number,
                code=p.item.code,
                design=p.design.code,
                customer=p.customer.name if p.customer else "",
                place=state.location.name if state.location else "",
                word=word_of(fold.from_doc(body_of(state.doc)), p, p.pk in pieces),
                inside=seats[p.pk][0].number if p.pk in seats else "",
                held=bool(held.get(p.pk)),
                findings=counts[p.pk],
                planned_cure_us=p.planned_cure_us,
            )
        )
    return tuple(out)


def sides(site: Site, design: str, defect: str, since_us: int | None = None) -> tuple[list[int], list[int]]:
    """The parts of a design that have a defect, and those that were tested for it and have none, since an instant. Where no
    test shows the defect, those that had any test but a drop test (which tests the bag)."""
    acts = {"act__voided_by__isnull": True, **({"act__happened_us__gte": since_us} if since_us is not None else {})}
    mine = {"part__design__code": design, "part__item__site": site}
    bad = set(Defect.objects.filter(code=defect, **mine, **acts).values_list("part_id", flat=True))
    tests = Inspection.objects.filter(**mine, **acts).exclude(kind=DROP)
    kinds = [kind for kind, name in DEFECT.items() if name == defect]
    if kinds:
        tests = tests.filter(kind__in=kinds)
    tested = set(tests.values_list("part_id", flat=True))
    return sorted(bad), sorted(tested - bad)


def defects_known(site: Site) -> list[tuple[str, str, int]]:
    """(design, defect, how many parts have it), most first: what can be asked about."""
    seen: dict[tuple[str, str], set[int]] = {}
    rows = Defect.objects.filter(part__item__site=site, act__voided_by__isnull=True)
    for design, code, part in rows.values_list("part__design__code", "code", "part_id"):
        seen.setdefault((design, code), set()).add(part)
    return sorted(((d, c, len(p)) for (d, c), p in seen.items()), key=lambda row: (-row[2], row[0], row[1]))
