"""The steps of `record`, in order, inside the gate."""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import replace

from inventory.core import fold
from inventory.core.exposure import Exposure
from inventory.core.fold import Step
from inventory.core.kinds import RANK, USES
from inventory.core.reasons import Reason, Refused
from inventory.core.said import say, strung
from inventory.core.shares import CONTAINS
from inventory.models import Act, Block, Edge, Finding, Item, Leg, Lot, Material

from . import findings, judged, rows
from .claims import Claim, Line, NewItem, Receipt, Ref, canonical
from .findings import Found
from .gate import NeedsExclusive
from .propagate import below_zero, propagate
from .rules import gate_reasons, sources_of
from .then import as_it_was
from .transaction import Entry, Transaction
from .use import tight_in


def run(claims: Sequence[Claim], tx: Transaction) -> list[Receipt]:
    """Record all claims or raise; the caller holds the gate."""
    seen = _repeats(claims, tx)
    fresh = [c for c in claims if c.key not in seen]
    tx.load(line.item for c in fresh for line in c.lines if isinstance(line.item, int))
    receipts = dict(seen)
    for claim in fresh:
        receipts[claim.key] = _one(claim, tx)
    tx.save_states()
    return [receipts[c.key] for c in claims]


def _repeats(claims: Sequence[Claim], tx: Transaction) -> dict[object, Receipt]:
    """Acts already recorded under these keys: the same content gives the same receipt, other content is an error (R32)."""
    keys = [c.key for c in claims]
    same = rows.ACTS_BY_KEY.all(tx.who.site, keys[0]) if len(keys) == 1 else Act.objects.filter(site=tx.who.site, key__in=keys)
    known = {a.key: a for a in same}
    out: dict[object, Receipt] = {}
    for claim in claims:
        act = known.get(claim.key)
        if act is None:
            continue
        if act.fingerprint != claim.fingerprint():
            text = say("This key was already used for something else. Nothing was changed; send the new record under a new key.")
            raise Refused(Reason("key.reused", text, {"act": act.pk}))
        out[claim.key] = receipt_of(act, replay=True)
    return out


def receipt_of(act: Act, replay: bool) -> Receipt:
    body = json.loads(act.body)
    reasons = tuple(Reason(code, text, numbers) for code, text, numbers in body.get("broke", ()))
    touched = tuple(act.legs.order_by("pk").values_list("item_id", flat=True))
    return Receipt(act.pk, act.key, act.kind, act.happened_us, body.get("new", {}), touched, replay, reasons, body)


def _one(claim: Claim, tx: Transaction) -> Receipt:
    claim = _named(claim, tx)
    intent = claim.stance == "intent"
    at_us = tx.now_us if intent or claim.happened_us is None else min(claim.happened_us, tx.now_us)
    tx.happened_us = at_us
    key: fold.Key = (at_us, RANK[claim.kind], tx.who.device, claim.device_seq, claim.key.hex)
    _need_exclusive(claim, key, tx)
    with as_it_was(tx, () if intent else [line.item for line in claim.lines], key):
        broke = _dedupe(gate_reasons(tx, claim, at_us))
    if broke and (intent or any(r.cap for r in broke)):
        raise Refused(*broke)
    names = _births(claim, tx)
    act = _append_act(claim, tx, at_us, broke, names)
    legs = _append_legs(claim, act, tx, names)
    edges = _append_edges(claim, act, tx, names, legs, key)
    _void(claim, tx, act)
    refolded: set[int] = set()
    if tx.to_refold:
        dirty, tx.to_refold = tx.to_refold, set()
        refolded = set(propagate(tx, dirty).items)
    else:
        _settle_counts(claim, legs, tx)
    if broke:
        _raise_findings(claim, tx, act, legs, edges, broke, refolded)
    for effect in claim.effects:
        effect(tx, act, names)
    tx.edges_written.clear()
    return Receipt(act.pk, claim.key, claim.kind, at_us, names, tuple(legs), reasons=tuple(broke), body=json.loads(act.body))


def _named(claim: Claim, tx: Transaction) -> Claim:
    """Put ids for items that an earlier claim of the same call brought into being: no rule is skipped for them."""

    def known(ref: Ref) -> Ref:
        return tx.names[ref] if isinstance(ref, str) and ref not in claim.new and ref in tx.names else ref

    lines = tuple(replace(line, item=known(line.item)) for line in claim.lines)
    flows = tuple(replace(flow, src=known(flow.src), dst=known(flow.dst)) for flow in claim.flows)
    return replace(claim, lines=lines, flows=flows)


def _dedupe(reasons: list[Reason]) -> list[Reason]:
    return list({(r.code, r.text): r for r in reasons}.values())


def _need_exclusive(claim: Claim, key: fold.Key, tx: Transaction) -> None:
    """Reaching below other items needs the gate alone: a late record of something already used, or an input into something
    that already gave (which could also close a cycle)."""
    if tx.exclusive:
        return
    for line in claim.lines:
        if not isinstance(line.item, int):
            continue
        state = tx.state(line.item)
        late = state.last is not None and key <= state.last
        receives = any(f.dst == line.item for f in claim.flows)
        if state.given and (late or receives):
            raise NeedsExclusive


# --- appending -----------------------------------------------------------------------------------


def _births(claim: Claim, tx: Transaction) -> dict[str, int]:
    """Bring new items into being, lots first so that pieces can name them; a thousand take as many statements as one."""
    ids: dict[str, int] = {}
    if not claim.new:
        return ids
    stubs = {i.code: i for i in Item.objects.filter(site=tx.who.site, code__in=[n.code for n in claim.new.values()], stub=True)}
    materials = Material.objects.in_bulk({n.material for n in claim.new.values() if n.material is not None})
    for lots in (True, False):
        born = [(name, new, _item_of(new, tx, ids, stubs)) for name, new in claim.new.items() if (new.kind == "lot") is lots]
        Item.objects.bulk_create([item for _, _, item in born if item._state.adding], batch_size=400)
        for name, new, item in born:
            ids[name] = tx.names[name] = item.pk
            if new.material is not None:
                item.material = materials[new.material]
            tx.adopt(item)
        Lot.objects.bulk_create([_lot_of(item, new) for _, new, item in born if new.facts is not None], batch_size=400)
    return ids


def _lot_of(item: Item, new: NewItem) -> Lot:
    f = new.facts
    assert f is not None and new.material is not None
    return Lot(
        item=item,
        supplier_id=f.supplier,
        number=f.number,
        number_key=f.number_key,
        material_id=new.material,
        made_us=f.made_us,
        printed_us=f.printed_us,
        spec_id=f.spec,
    )


def _item_of(new: NewItem, tx: Transaction, ids: dict[str, int], stubs: dict[str, Item]) -> Item:
    lot = (ids.get(new.lot) or tx.names.get(new.lot)) if isinstance(new.lot, str) else new.lot
    values = {
        "mark": new.mark,
        "kind": new.kind,
        "material_id": new.material,
        "unit": new.unit,
        "lot_id": lot,
        "delivery_id": new.delivery,
        "owner_id": new.owner,
        "supplier_serial": new.supplier_serial,
        "core_ug": new.core_ug,
    }
    stub = stubs.get(new.code)
    if stub is not None:  # seen in a late scan before it was recorded: its birth completes it
        Item.objects.filter(pk=stub.pk).update(stub=False, **values)
        tx.to_refold.add(stub.pk)
        return Item.objects.get(pk=stub.pk)
    return Item(site_id=tx.who.site, code=new.code, made_by_id=tx.who.device, **values)


def _append_act(claim: Claim, tx: Transaction, at_us: int, broke: list[Reason], names: dict[str, int]) -> Act:
    body = dict(claim.body)
    if names:
        body["new"] = names
    if broke:
        body["broke"] = [[r.code, r.text, r.numbers] for r in broke]
    act = Act(
        site_id=tx.who.site,
        key=claim.key,
        fingerprint=claim.fingerprint(),
        kind=claim.kind,
        stance=claim.stance,
        happened_us=at_us,
        rank=RANK[claim.kind],
        device_id=tx.who.device,
        device_seq=claim.device_seq,
        claimed_us=claim.claimed_us,
        recorded_us=tx.now_us,
        person_id=tx.who.person,
        user_id=tx.who.user,
        role=tx.who.role,
        reason=claim.reason,
        voids_id=claim.voids,
        approves_id=claim.approves,
        canon=1,
        body=canonical(body),
    )
    rows.insert_act(act)
    return act


def _resolve(ref: Ref, names: dict[str, int], tx: Transaction) -> int:
    return ref if isinstance(ref, int) else names[ref] if ref in names else tx.names[ref]


def _append_legs(claim: Claim, act: Act, tx: Transaction, names: dict[str, int]) -> dict[int, Leg]:
    """One leg per item, each with the item's next sequence number."""
    legs: list[Leg] = []
    for line in claim.lines:
        entry = tx.entry(_resolve(line.item, names, tx))
        entry.head += 1
        legs.append(
            Leg(
                act=act,
                item_id=entry.facts.id,
                seq=entry.head,
                delta=line.delta,
                counted=line.counted,
                location_id=line.location,
                ceiling_mc=line.ceiling,
                body=canonical(_with_source(line, entry)),
            )
        )
        entry.changed = True
    rows.insert_legs(legs)
    return {leg.item_id: leg for leg in legs}


def _with_source(line: Line, entry: Entry) -> dict[str, object]:
    """A lot is its own life source; its first leg says so."""
    return line.body | {"source": entry.facts.id} if entry.facts.kind == "lot" and entry.head == 1 else line.body


def _append_edges(claim: Claim, act: Act, tx: Transaction, names: dict[str, int], legs: dict[int, Leg], key: fold.Key) -> list[Edge]:
    """Apply sources first, then hand their exposure on to what they flowed into; late ones are left to the refold."""
    flows = [(_resolve(f.src, names, tx), _resolve(f.dst, names, tx), f) for f in claim.flows]
    srcs, dsts = {s for s, _, _ in flows}, {d for _, d, _ in flows}
    for item in legs:
        if item not in dsts:
            _apply(tx, item, legs[item], key, claim.kind, (), item in srcs)
    edges = []
    for src, dst, flow in flows:
        handed = canonical([e.to_doc() for e in tx.state(src).at(key[0]).totals()])
        edges.append(
            Edge(
                act=act,
                kind=claim.kind,
                src_id=src,
                dst_id=dst,
                src_leg=legs[src],
                dst_leg=legs[dst],
                happened_us=key[0],
                qty=flow.qty,
                got=flow.got,
                grade=flow.grade,
                handed=handed,
            )
        )
    rows.insert_edges(edges)
    tx.edges_written += edges
    if claim.kind != "receive":
        _no_cycle(edges, tx)
    for item in sorted(dsts):
        given = tuple(e for s, d, _ in flows if d == item for e in tx.state(s).at(key[0]).totals())
        tx.need_sources(e.source for e in given)
        _apply(tx, item, legs[item], key, claim.kind, given, item in srcs)
    return edges


def _apply(tx: Transaction, item: int, leg: Leg, key: fold.Key, kind: str, handed: tuple[Exposure, ...], gives: bool) -> None:
    entry = tx.entry(item)
    if kind == "void":
        return
    body = json.loads(leg.body)
    step = Step(key, kind, leg.delta, leg.counted, leg.location_id, leg.ceiling_mc, body, handed, gives)
    if item in tx.to_refold or (entry.state.last is not None and key <= entry.state.last):
        tx.to_refold.add(item)
        return
    if fold.starts_anew(entry.state, step):
        earlier = Edge.objects.filter(dst=item, void=False, until_us__isnull=True).exclude(kind=CONTAINS).exclude(act=leg.act_id)
        earlier.update(until_us=fold.end_of(key))
    entry.state = fold.apply(entry.state, step)
    tx.need_sources(s.source for s in entry.state.strands)


def _no_cycle(edges: list[Edge], tx: Transaction) -> None:
    """A graph over time has no cycle (R43). Only an input into something that already gave can close one."""
    from inventory.lineage import down_ids

    for edge in edges:
        if tx.state(edge.dst_id).given and edge.src_id in set(down_ids([edge.dst_id])):
            name, into = tx.entry(edge.src_id).facts.name, tx.entry(edge.dst_id).facts.name
            raise Refused(
                Reason(
                    "graph.cycle",
                    say("{name} was itself made from {into}: it cannot go into it.", name=name, into=into),
                    {"src": edge.src_id, "dst": edge.dst_id},
                )
            )


def _void(claim: Claim, tx: Transaction, act: Act) -> None:
    if claim.voids is None:
        return
    Edge.objects.filter(act=claim.voids).update(void=True)
    findings.close_of_void(claim.voids, tx.now_us)
    Block.objects.filter(opened=claim.voids, to_us__isnull=True).update(to_us=tx.now_us, closed=act)
    tx.to_refold |= set(Leg.objects.filter(act=claim.voids).values_list("item_id", flat=True))
    tx.to_refold |= set(Edge.objects.filter(act=claim.voids).values_list("dst_id", flat=True))


# --- findings of the act at hand --------------------------------------------------------------------


def _settle_counts(claim: Claim, legs: dict[int, Leg], tx: Transaction) -> None:
    """A count closes what was open about too little in the book."""
    counted = [leg.item_id for leg in legs.values() if leg.counted is not None]
    if not counted:
        return
    open_ones = list(Finding.objects.filter(item__in=counted, closed_us__isnull=True, code__startswith="stock.below"))
    findings.close(open_ones, tx.now_us, findings.LATER)


def _raise_findings(
    claim: Claim, tx: Transaction, act: Act, legs: dict[int, Leg], edges: list[Edge], broke: list[Reason], refolded: set[int]
) -> None:
    """An observation that broke rules: one finding a rule, and what it went into is held until quality has looked (R34).
    What was folded again has been judged with that, and stays as it was found."""
    targets = [e.dst_id for e in edges] if claim.kind in USES else [int(r) for r in sources_of(claim) if isinstance(r, int)]
    targets = targets or list(legs)
    target = targets[0]
    stated = [r for r in broke if not r.code.startswith((*findings.DERIVED, "stock.not_enough"))]
    broken = [Found(legs[target].pk, target, _cause(r, target, tx), tx.happened_us, r) for r in stated]
    broken += _derived(claim, tx, legs, edges, refolded)
    for line in claim.lines:
        if isinstance(line.item, int) and line.item not in refolded and line.delta < 0 and tx.state(line.item).qty < 0:
            entry = tx.entry(line.item)
            leg = legs[line.item]
            step = Step(act.order, claim.kind, line.delta)
            for _, reason in below_zero(entry, [step], {step.key: entry.state}):
                broken.append(Found(leg.pk, line.item, line.item, tx.happened_us, reason))
    there = set(Finding.objects.filter(leg__act=act).values_list("leg_id", "code")) if refolded else set()
    findings.write([f for f in broken if (f.leg, f.code) not in there], (), tx.who.site, tx.now_us)
    if claim.kind in USES:
        text = strung(" ", (r.text for r in broke))[:240]
        Block.objects.bulk_create(
            [Block(site_id=tx.who.site, item_id=t, why="quality", text=text, opened=act, from_us=tx.now_us) for t in dict.fromkeys(targets)]
        )


def _derived(claim: Claim, tx: Transaction, legs: dict[int, Leg], edges: list[Edge], refolded: set[int]) -> list[Found]:
    """What follows from the records, on every thing that it is true of."""
    causes, judging, at_us = judged.inherited([*legs, *(e.src_id for e in edges)]), tx.judging(), tx.happened_us
    found: list[Found] = []
    for edge in edges:
        source = tx.entry(edge.src_id)
        if edge.src_id not in refolded:
            by = judging.tightened(tight_in(json.loads(edge.dst_leg.body)))
            found += judged.of_use(source.facts, source.state, edge, at_us, by, causes)
    for item, leg in legs.items():
        entry = tx.entry(item)
        found += () if item in refolded else judged.of_itself(entry.facts, entry.state, leg, claim.kind, at_us, judging, causes)
    return [*found, *judged.of_legs(tx, {leg.pk for item, leg in legs.items() if item not in refolded})]


def _cause(reason: Reason, target: int, tx: Transaction) -> int:
    """The item that a finding is the fault of: the source that will not live long enough, else what it went into."""
    if not reason.code.startswith(("life.", "thaw.", "pot.")):
        return target
    for edge in tx.edges_written:
        if edge.dst_id == target:
            source = tx.entry(edge.src_id)
            if reason.numbers.get("source") in (None, *(s.source for s in source.state.strands)):
                return judged.cause_of(judged.inherited([edge.src_id]), edge.src_id, reason, tx.happened_us)
    return target
