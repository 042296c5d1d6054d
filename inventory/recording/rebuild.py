"""Refold the whole record and compare it with what is stored: states, handed exposures, open findings. There is never a
difference; if there is one, a program wrote round the write path, and the report names where."""

from __future__ import annotations

from dataclasses import dataclass, field

from inventory.core.said import say
from inventory.models import Edge, Finding, Item, ItemState, Site

from . import findings
from .claims import Who, canonical
from .gate import gate
from .propagate import propagate
from .transaction import Transaction, state_row


@dataclass
class Report:
    items: int = 0
    edges: int = 0
    differences: list[str] = field(default_factory=list)


def rebuild(site: Site, now_us: int, repair: bool = False) -> Report:
    """Compare; with `repair` also store what the records say. Alone at the gate, so that nothing moves meanwhile."""
    who = Who(site.pk, site.zone, 0, 0, "rebuild")
    with gate(site.pk, exclusive=True):
        tx = Transaction(who, now_us, exclusive=True)
        everything = set(Item.objects.filter(site=site).values_list("pk", flat=True))
        report = Report(len(everything), Edge.objects.filter(src__site=site, void=False).count())
        if not everything:
            return report
        stored = {row.pk: row for row in ItemState.objects.filter(item__site=site)}
        out = propagate(tx, everything, write=False)
        report.differences += out.differing
        judging = tx.judging()
        for pk, entry in tx.entries.items():
            report.differences += _columns(stored.get(pk), state_row(entry, judging), entry.facts.name)
        report.differences += _findings(site, out.found)
        if repair and report.differences:
            propagate(Transaction(who, now_us, exclusive=True), everything)
    return report


def _columns(old: ItemState | None, new: ItemState, name: str) -> list[str]:
    """Differences in stored columns. The next notice is a work list and is left out; `head` counts legs and is checked apart."""
    if old is None:
        return [say("{name} has no stored state", name=name)]
    columns = ("qty", "overdrawn", "location_id", "ceiling_mc", "since_us", "gone", "back_us", "ends_us", "governs", "last", "doc")
    return [
        say(
            "{name}: {value} stored {getattr} but folds to {getattr_2}",
            name=name,
            value=c,
            getattr=repr(getattr(old, c)),
            getattr_2=repr(getattr(new, c)),
        )
        for c in columns
        if getattr(old, c) != getattr(new, c)
    ]


def _findings(site: Site, found: list[findings.Found]) -> list[str]:
    """The set of open derived findings, apart from those that quality has disposed of."""
    wanted = {(f.leg, f.code) for f in found}
    rows = Finding.objects.filter(item__site=site)
    derived = {(f.leg_id, f.code): f for f in rows if f.code.startswith(findings.DERIVED)}
    is_open = {key for key, f in derived.items() if f.closed_us is None}
    settled = {key for key, f in derived.items() if f.closed_by not in ("", findings.LATER, findings.VOIDED)}
    missing, extra = wanted - is_open - settled, is_open - wanted
    return [say("finding {canonical} should be open", canonical=canonical(list(k))) for k in sorted(missing)] + [
        say("finding {canonical} should be closed", canonical=canonical(list(k))) for k in sorted(extra)
    ]
