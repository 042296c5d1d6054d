"""What waits for quality, and for the second person where one is needed."""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

from inventory.core.reasons import Reason, ended
from inventory.core.said import say, say_n, strung
from inventory.core.spans import duration
from inventory.models import Act, Item, Nonconformance

from .looking import OWNER, QUALITY, STOREKEEPER, Look, Need, clocks, provider, roles_of, together
from .quality import approvals
from .release import against_release, waiting_pieces

RECENT_US = 14 * 86_400_000_000
"""How long a gel that was far from its prediction stays on the list: shop practice, no source."""


@dataclass
class _Waiting:
    delivery: str
    material: str
    at_us: int
    clear: list[Item] = field(default_factory=list)
    journey: list[Item] = field(default_factory=list)
    journeys: set[str] = field(default_factory=set)


@provider
def to_release(look: Look) -> Iterator[Need]:
    """What came in and waits, by delivery; what its papers say against it stands in a sentence of its own."""
    items = waiting_pieces(look.site)
    against = against_release(items) if items else {}
    groups: dict[tuple[str, str], _Waiting] = {}
    for item in items:
        number, material = item.delivery.number if item.delivery else "", item.material.code if item.material else ""
        group = groups.setdefault((number, material), _Waiting(number, material, item.state.since_us or 0))
        reasons = against[item.pk]
        moved = [r for r in reasons if r.code.startswith("transport.")]
        if moved:
            group.journey.append(item)
            group.journeys |= {_journey(r) for r in moved}
        elif not reasons:
            group.clear.append(item)
        yield from _papers(item, [r for r in reasons if not r.code.startswith("transport.")])
    for group in groups.values():
        yield from _group(group)


def _group(g: _Waiting) -> Iterator[Need]:
    name = say("{delivery}: ", delivery=g.delivery) if g.delivery else ""
    if g.journey:
        text = say_n(
            "{name}{names} of {material} waits for quality: transport ({journeys}).",
            "{name}{names} of {material} wait for quality: transport ({journeys}).",
            len(g.journey),
            name=name,
            names=_names(g.journey),
            material=g.material,
            journeys=strung("; ", sorted(g.journeys)),
        )
        yield Need("today", "release.transport", text, roles_of(QUALITY), ("item", g.journey[0].code), g.at_us)
    if g.clear:
        text = say(
            "{name}{names} of {material} may be released: the papers are in order.", name=name, names=_names(g.clear), material=g.material
        )
        yield Need("today", "release.ready", text, roles_of(QUALITY), ("item", g.clear[0].code), g.at_us)


def _names(items: list[Item]) -> str:
    return together([str(i) for i in items])


def _journey(reason: Reason) -> str:
    us = reason.numbers.get("us")
    return say("{us} too warm", us=duration(us)) if isinstance(us, int) and us else say("too cold")


def _papers(item: Item, reasons: list[Reason]) -> Iterator[Need]:
    """Outside its limits: look at it today. Merely not entered yet: the papers are on their way."""
    if not reasons:
        return
    about, at = ("item", item.code), item.state.since_us or 0
    if all(r.code in NOT_YET for r in reasons):
        yield Need(
            "soon",
            "release.missing",
            say("{item} waits: {waits_for}", item=item, waits_for=waits_for(item, reasons)),
            roles_of(QUALITY, STOREKEEPER),
            about,
            at,
        )
    else:
        yield Need(
            "today",
            "release.papers",
            say("{item} waits: {waits_for}", item=item, waits_for=waits_for(item, reasons)),
            roles_of(QUALITY),
            about,
            at,
        )


NOT_YET = ("certificate.missing", "certificate.none")


def waits_for(item: Item, reasons: Sequence[Reason]) -> str:
    """What stands against a release in a line: values that are missing by their names alone, the rest in full."""
    missing = [str(r.numbers["name"]) for r in reasons if r.code == "certificate.missing"]
    full = [r.text.removeprefix(f"{item}: ") for r in reasons if r.code not in NOT_YET]
    papers = say("no papers yet for {together}.", together=together(missing)) if missing else ""
    if not missing and any(r.code == "certificate.none" for r in reasons):
        papers = say("no certificate is on file.")
    return strung(" ", [*full, *([papers] if papers else [])])


@provider
def passed(look: Look) -> Iterator[Need]:
    """A life that ran out while something lay outside: quality hears of it once, as long as it is here."""
    for p in look.pieces:
        over = [r for r in p.readings if r.over and r.limit.clock == "above" and not r.missing]
        if over and p.item.kind != "mix":
            where = (
                say("out in {place}", place=p.place)
                if p.state.thaw_from is not None and not p.state.frozen
                else say("in {place}", place=p.place)
            )
            text = say("{item}, {where}: {clocks}.", item=p.item, where=where, clocks=clocks(p, look.zone))
            yield Need("now", "life.passed", text, roles_of(QUALITY), ("item", p.item.code), min(r.ends_us or 0 for r in over))


@provider
def unknown(look: Look) -> Iterator[Need]:
    """Opening stock whose history nobody knows (R36)."""
    groups: dict[str, list[str]] = defaultdict(list)
    codes: dict[str, str] = {}
    for p in look.pieces:
        if p.state.unknown:
            material = p.item.material.code if p.item.material else ""
            groups[material].append(str(p.item))
            codes.setdefault(material, p.item.code)
    for material, names in groups.items():
        text = say(
            "{together} of {material}: the history is unknown. Give a starting value, with the reason.",
            together=together(names),
            material=material,
        )
        yield Need("soon", "history.unknown", text, roles_of(QUALITY), ("item", codes[material]))


@provider
def nonconforming(look: Look) -> Iterator[Need]:
    """One sentence a cause, however many records it touches (R13)."""
    rows = Nonconformance.objects.filter(site=look.site, closed_us__isnull=True).select_related("cause").prefetch_related("findings__item")
    for row in rows.order_by("opened_us", "pk"):
        names = sorted({str(f.item) for f in row.findings.all() if f.closed_us is None} - {str(row.cause)})
        if row.code == "stock":
            continue  # a count settles that, and the storekeeper is told
        touched = say(" Touches {together}.", together=together(names)) if names else ""
        text = say("{cause}: {text}{touched}", cause=row.cause, text=row.text, touched=touched)
        yield Need("today", "nonconformance", text, roles_of(QUALITY), ("nonconformance", str(row.pk)), row.opened_us)


@provider
def gelled(look: Look) -> Iterator[Need]:
    """Pots that gelled far from their prediction (R19), those of one system in one sentence."""
    acts = Act.objects.filter(site=look.site, kind="gel", happened_us__gt=look.now_us - RECENT_US, voided_by__isnull=True)
    groups: dict[tuple[str, str], list[tuple[Item, int, int]]] = defaultdict(list)
    for act in acts.order_by("happened_us").prefetch_related("legs__item"):
        body = json.loads(act.body)
        if _far(body):
            groups[(body.get("recipe") or "", body["word"])].append((act.legs.all()[0].item, body["observed_us"], act.happened_us))
    for (recipe, word), found in groups.items():
        names, shortest, longest = together([str(pot) for pot, _, _ in found]), *(f(us for _, us, _ in found) for f in (min, max))
        after = (
            duration(shortest)
            if shortest == longest
            else say("{shortest} to {longest}", shortest=duration(shortest), longest=duration(longest))
        )
        text = say(
            "{names} gelled {word}, after {after} ({recipe}): check lot, dose, temperature and scale.",
            names=names,
            word=word,
            after=after,
            recipe=recipe,
        )
        yield Need("today", "gel.far", text, roles_of(QUALITY), ("item", found[-1][0].code), found[-1][2])


def _far(body: dict[str, object]) -> bool:
    from inventory.core.gel import FAR_PPM, PPM

    ratio = body.get("ratio_ppm")
    return body.get("word") in ("early", "late") and isinstance(ratio, int) and abs(ratio - PPM) > FAR_PPM


@provider
def to_approve(look: Look) -> Iterator[Need]:
    """What somebody asked for and a second person must approve (R14, R44)."""
    for asked in approvals(look.site):
        text = say(
            "{asked_by} asks for a second person: {asked}, {asked_2}", asked_by=asked.asked_by, asked=asked.name, asked_2=ended(asked.text)
        )
        yield Need("today", "approval", text, roles_of(QUALITY, OWNER), ("record", str(asked.record)), asked.asked_us)
