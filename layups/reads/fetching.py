"""What to fetch for the next lines of a part: the kit that was cut for it, a pot that is still usable, else first expired, first
out (R5), with why an older piece was passed over."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass, replace

from inventory.core.limits import Reading
from inventory.core.tighter import Tighter
from inventory.core.units import display
from inventory.models import Leg, Material, Site
from inventory.reads import stock
from layups.core import schedule
from layups.core.schedule import Filling, Line
from layups.models import Part

from . import schedules


@dataclass(frozen=True, slots=True)
class Passed:
    """A piece that would have gone first, and why it does not."""

    name: str
    why: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Fetch:
    """The next open lines (`seqs`, of one kind) and what to fetch for them: `name` lies in `place`; `ready_us` is when it may
    be opened, None when now; `governs`: the limit by which it goes before its like. No `name`: nothing is fit; for a recipe, it
    has to be mixed."""

    seqs: tuple[int, ...]
    wants: str
    amount: str
    name: str = ""
    code: str = ""
    kind: str = ""
    place: str = ""
    ready_us: int | None = None
    passed: tuple[Passed, ...] = ()
    mix: str = ""
    governs: Reading | None = None


def fetch(
    site: Site, part: Part, lines: Sequence[Line], there: Sequence[Filling], now_us: int, tighter: Sequence[Tighter] = ()
) -> Fetch | None:
    """None when every line is filled. `tighter`: life limits that the part's customer or design tightens."""
    open_ones = [line for line in lines if not schedule.is_filled(line, there) and not line.box]
    if not open_ones:
        return None
    first = open_ones[0]
    if first.recipe is not None:
        return _pot(site, first, now_us, tighter)
    same = [line for line in open_ones if line.material == first.material and line.step == first.step]
    kit = _kit(site, part, first, now_us, tighter)
    if kit is not None:
        return _fetched(tuple(line.seq for line in same), first, kit, "")
    return _from_stock(site, part, first, now_us, tighter)


def _fetched(seqs: tuple[int, ...], line: Line, piece: stock.Piece, amount: str, passed: tuple[Passed, ...] = ()) -> Fetch:
    item = piece.item
    return Fetch(seqs, line.wants, amount, str(item), item.code, item.kind, piece.place, piece.thaw_ready_us, passed)


def _kit(site: Site, part: Part, line: Line, now_us: int, tighter: Sequence[Tighter]) -> stock.Piece | None:
    """A kit or sheet that was cut for this part."""
    rows = [r for r in stock.on_hand(site.pk, item__material=line.material) if r.item.kind in ("kit", "sheet")]
    legs = Leg.objects.filter(item__in=[r.item_id for r in rows], act__kind="cut", delta__gt=0)
    jobs = {item: str(json.loads(body).get("job", "")) for item, body in legs.values_list("item_id", "act__body")}
    mine = [r for r in rows if part.number.casefold() in jobs.get(r.item_id, "").casefold().replace(",", " ").split()]
    return next((p for p in stock.pieces(mine, site.zone, now_us, tighter) if p.fit), None)


def _pot(site: Site, line: Line, now_us: int, tighter: Sequence[Tighter]) -> Fetch:
    """A pot of the recipe that can still be used, the one that ends first before the others; else it has to be mixed."""
    rows = stock.on_hand(site.pk, item__kind="mix")
    recipes = schedules.recipes_of(r.item_id for r in rows)
    mine = [r for r in rows if r.item_id in recipes and recipes[r.item_id].pk == line.recipe]
    pots = [p for p in stock.pieces(mine, site.zone, now_us, tighter) if p.fit]
    amount = display(line.qty, "ug") if line.qty else ""
    if pots:
        return _fetched((line.seq,), line, min(pots, key=lambda p: (p.state.stop or 0, p.item.pk)), amount)
    return Fetch((line.seq,), line.wants, amount, mix=line.wants)


def _from_stock(site: Site, part: Part, line: Line, now_us: int, tighter: Sequence[Tighter]) -> Fetch:
    material = Material.objects.get(pk=line.material or 0)
    planned = part.planned_cure_us if part.planned_cure_us is not None and part.planned_cure_us > now_us else None
    choice = stock.choose(
        site.pk,
        site.zone,
        now_us,
        material,
        line.qty or 1,
        until_us=planned,
        customer=part.customer_id,
        job=part.number,
        tighter=tighter,
    )
    passed = tuple(Passed(p.candidate.mark, tuple(r.text for r in p.reasons)) for p in choice.passed_over)
    amount = display(line.qty, line.unit) if line.qty else ""
    if choice.best is None:
        return Fetch((line.seq,), line.wants, amount, passed=passed)
    piece = choice.best.ref
    assert isinstance(piece, stock.Piece)
    return replace(_fetched((line.seq,), line, piece, amount, passed), governs=piece.governs)
