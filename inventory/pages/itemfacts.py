"""Everything that the page of one thing shows, in a number of queries that does not grow with its history."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from django.db.models import Q

from inventory.core import rollmap, spans
from inventory.core.certificates import Line
from inventory.core.limits import DATED_CLOCKS, Reading
from inventory.core.lives import spoken
from inventory.core.reasons import BadInput, Reason
from inventory.core.said import say, strung
from inventory.core.units import display
from inventory.models import Attachment, CertLimit, Edge, Extension, Finding, Item, ItemState
from inventory.reads import release, stock
from inventory.reads.looking import is_out
from inventory.reads.stock import Piece
from inventory.recording.transaction import NOTICE_US
from inventory.recording.use import thaw_reasons
from inventory.templatetags import shapes, words

from . import acts
from .door import Shop, Where
from .ways import item_link

HISTORY = 200


def row_of(item: Item) -> ItemState | None:
    related = ("item__material", "item__owner", "item__lot__batch__supplier", "item__delivery", "location__storage")
    return ItemState.objects.select_related(*related).filter(pk=item.pk).first()


def piece_of(item: Item, shop: Where) -> Piece | None:
    """The thing judged now; None for one that was only seen in a late scan so far."""
    row = row_of(item)
    return stock.pieces([row], shop.zone, shop.now_us)[0] if row is not None else None


def statuses(p: Piece, now_us: int) -> list[str]:
    """Codes of templatetags.shapes.STATUS, the worst first."""
    if p.state.gone:
        return [p.state.gone if p.state.gone in shapes.STATUS else "gone"]
    against = {r.code for r in p.against}
    out = []
    if against & {"block.quality", "block.recall"}:
        out.append("held")
    if "life.over" in against or any(c.startswith("pot.") for c in against):
        out.append("expired")
    if "life.unknown" in against:
        out.append("unknown")
    if "block.incoming" in against:
        out.append("unreleased")
    if p.state.back is not None and p.state.back <= now_us:
        out.append("overdue")
    elif is_out(p):
        out.append("out")
    if p.state.frozen:
        out.append("frozen")
    elif p.thaw_ready_us is not None:
        out.append("thawing")
    governs = p.governs
    if governs is not None and not governs.over and governs.ends_us is not None and governs.ends_us - now_us < NOTICE_US:
        out.append("ending")
    ready = p.fit and (p.state.frozen or p.thaw_ready_us is None)
    return [*(["fit"] if ready and p.item.kind not in ("part", "assembly", "lot") else []), *out]


def against_now(p: Piece, shop: Where) -> list[Reason]:
    """Everything that speaks against using it at this moment, a thaw that is still to come among it."""
    reasons = [*p.against, *thaw_reasons(p.facts, p.state, shop.now_us, shop.zone)]
    if p.usable <= 0 and not p.state.gone:
        reasons.append(Reason("stock.empty", say("Nothing is left of {item}.", item=p.item)))
    return reasons


def ends_words(p: Piece, shop: Shop) -> Any:
    """When its governing limit ends: the last day of a date, the instant of a clock that runs."""
    if p.stored.ends_us is None:
        return ""
    reading = p.governs
    dated = reading is not None and reading.ends_us == p.stored.ends_us and reading.limit.clock in DATED_CLOCKS
    return words.instant(p.stored.ends_us, shop.zone, shop.now_us, "last" if dated else "")


def shown_readings(p: Piece) -> list[Reading]:
    """The limits that still bind it, the governing one first; those of a pot's components were judged when it was mixed."""
    rows = [r for r in p.readings if p.item.kind != "mix" or r.limit.checkpoint == "used"]
    return sorted(rows, key=lambda r: (r is not p.governs, not r.over, r.limit.name))


def fit_words(p: Piece, shop: Shop) -> str:
    """What to know before using it, in one or two sentences."""
    said = []
    g = p.governs
    if p.item.kind == "mix":
        return (
            say("Use it up by {stop}; what is left then is scrapped.", stop=spans.clock_text(p.state.stop, shop.zone))
            if p.state.stop is not None
            else ""
        )
    if g is not None and not g.over:
        name = spoken(g.limit.name, first=True)
        left = say(", {left} left", left=spans.duration(g.left)) if g.left is not None and g.limit.clock == "above" else ""
        last = say(", last day {last_day}", last_day=last_day(g.ends_us, shop)) if g.ends_us is not None and not left else ""
        said.append(say("{name} governs{left}{last}.", name=name, left=left, last=last))
    if p.item.owner is not None:
        said.append(say("It belongs to {owner}: only for its jobs.", owner=p.item.owner))
    if p.state.reserved:
        said.append(say("Kept for {reserved}.", reserved=p.state.reserved))
    return strung(" ", said) or say("Nothing speaks against using it.")


def last_day(end_us: int, shop: Shop) -> str:
    """The last whole day before an end (R41); with the year when it is another one."""
    day = spans.local_date(end_us - 1, shop.zone)
    year = "" if day.year == spans.local_date(shop.now_us, shop.zone).year else say(" {year}", year=day.year)
    return say("{days} {day} {months}{year}", days=spans.DAYS[day.weekday()], day=day.day, months=spans.MONTHS[day.month - 1], year=year)


@dataclass(frozen=True, slots=True)
class RollMap:
    """The flaws of a roll in words, from its outer end."""

    marks: tuple[str, ...]
    usable: str
    longest: str
    between: str


def roll_map(p: Piece) -> RollMap | None:
    if not p.marks:
        return None
    longest = rollmap.longest_clear(max(p.state.qty, 0), p.marks)

    def at(um: int) -> str:
        return display(um, "um", exact=True)

    said = tuple(
        say("splice at {at}", at=at(m.start_um))
        if m.kind == "splice"
        else say("bad from {at} to {at_2}", at=at(m.start_um), at_2=at(m.end_um))
        for m in p.marks
    )
    return RollMap(said, at(p.usable), at(longest.length_um), say("{at} and {at_2}", at=at(longest.start_um), at_2=at(longest.end_um)))


@dataclass(frozen=True, slots=True)
class Paper:
    """One value of the papers with what is required of it."""

    name: str
    value: str
    limits: str
    status: str
    of: str


def papers(item: Item) -> list[Paper]:
    """The certificate values that count for this piece, or for a lot."""
    try:
        lines = release.judged([item])[item.pk] if item.kind != "lot" else _lot_lines(item)
    except BadInput as bad:
        return [Paper(bad.reason.text, "", "", "wrong", "")]
    needed = {row.name: row for row in CertLimit.objects.filter(material=item.material_id)}
    return [_paper(line, needed.get(line.name)) for line in lines]


def _lot_lines(lot: Item) -> list[Line]:
    from inventory.core import certificates

    found = release.papers_of([Item(pk=lot.pk, lot_id=lot.pk, material_id=lot.material_id)])
    return certificates.judge(found.required.get(lot.material_id or 0, []), found.of_lot[lot.pk], {})


def _paper(line: Line, need: CertLimit | None) -> Paper:
    unit = need.unit if need is not None else ""
    status = {"inside": "passed", "outside": "failed", "missing": "waiting"}[line.verdict]
    limits = ""
    if need is not None and (need.low or need.high):
        limits = (
            f"{need.low}–{need.high}"
            if need.low and need.high
            else say("at least {low}", low=need.low)
            if need.low
            else say("at most {high}", high=need.high)
        )
    value = say("{line_value} {unit}", line_value=line.value, unit=unit).strip() if line.value is not None else ""
    return Paper(
        line.name,
        value,
        say("{limits} {unit}", limits=limits, unit=unit).strip() if limits else "",
        status,
        say("this piece") if line.roll else say("the lot"),
    )


def history(item: Item, shop: Shop) -> list[dict[str, Any]]:
    """What happened to it, newest first."""
    found = stock.history(item.pk, HISTORY)
    edges = acts.edges_of(row["act"].pk for row in found)  # type: ignore[attr-defined]
    out = []
    for row in found:
        leg: Any = row["leg"]
        leg.item = item
        mine = [e for e in edges.get(leg.act_id, ()) if item.pk in (e.src_id, e.dst_id)]
        out.append(acts.movement(leg, mine, shop))
    return out


def relatives(item: Item) -> tuple[list[Any], list[Any]]:
    """(made from, went into): links with amounts, the newest first, void edges left out."""
    rows = (
        Edge.objects.filter(Q(src=item) | Q(dst=item), void=False)
        .select_related("src__batch", "dst__batch")
        .order_by("-happened_us", "-pk")
    )
    above, below = [], []
    for edge in rows[:HISTORY]:
        if edge.dst_id == item.pk:
            above.append((item_link(edge.src), display(edge.qty, edge.src.unit) if edge.src.unit != "pc" else "", edge))
        else:
            below.append((item_link(edge.dst), display(edge.qty, edge.src.unit) if edge.src.unit != "pc" else "", edge))
    return above, below


def findings(item: Item) -> list[Finding]:
    return list(Finding.objects.filter(item=item, closed_us__isnull=True).select_related("nonconformance").order_by("at_us", "pk")[:20])


def attachments(item: Item) -> list[Attachment]:
    owners = [pk for pk in (item.pk, item.lot_id) if pk]
    return list(Attachment.objects.filter(item__in=owners).order_by("-stored_us", "-pk")[:50])


def extensions(item: Item) -> list[Extension]:
    rows = Extension.objects.filter(item__in=[pk for pk in (item.pk, item.lot_id) if pk])
    return list(rows.select_related("asked_by", "approved_by", "approved__voided_by").order_by("from_us", "pk"))
