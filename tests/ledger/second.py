"""The records read a second time, by loops that know nothing of the fold, the walks or the books: what the machine of
random days is held against.

Times in µs, quantities in the item's base unit. Out time runs above −12 °C, and where nobody knows the temperature.
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass

from inventory.models import Act, Block, Edge, Exemption, Leg

OUT_MC = -12_000
Key = tuple[int, int, int, int, str]


def _key(act: Act) -> Key:
    return (act.happened_us, act.rank, act.device_id, act.device_seq, act.key.hex)


@dataclass
class Second:
    """Everything that stands in the records now; what was voided is left out."""

    legs: dict[int, list[Leg]]
    edges: list[Edge]
    blocks: list[tuple[int, int]]
    free: set[tuple[int, int]]

    def quantity(self, item: int) -> int:
        """The book: what each record added or took, and what each count found."""
        held = 0
        for leg in self.legs.get(item, ()):
            held = leg.counted if leg.counted is not None else held + leg.delta
        return held

    def out(self, item: int, at_us: int) -> int:
        """Out time of a roll, or of a kit or remnant with what its roll had at the cut."""
        total, since, warm = 0, None, False
        for leg in self.legs.get(item, ()):
            now = leg.act.happened_us
            if now > at_us:
                break
            if since is not None and warm:
                total += now - since
            since = now
            if leg.ceiling_mc is not None or leg.location_id is not None:
                warm = leg.ceiling_mc is None or leg.ceiling_mc > OUT_MC
            elif leg is self.legs[item][0]:
                warm = True
            for edge in self.edges:
                if edge.dst_leg_id == leg.pk:  # until then it was in the roll or the lot, whatever was told of the piece
                    total = self.out(edge.src_id, now)
        return total + (at_us - since if since is not None and warm else 0)

    def held(self) -> dict[int, set[int]]:
        """The open blocks on each thing: from where a block stands down every flow, stopping at what quality freed of it."""
        below: dict[int, set[int]] = defaultdict(set)
        for edge in self.edges:
            below[edge.src_id].add(edge.dst_id)
        found: dict[int, set[int]] = defaultdict(set)
        for block, item in self.blocks:
            todo, seen = [item], set()
            while todo:
                here = todo.pop()
                if here in seen or (block, here) in self.free:
                    continue
                seen.add(here)
                found[here].add(block)
                todo += below[here]
        return dict(found)


def read() -> Second:
    legs: dict[int, list[Leg]] = defaultdict(list)
    for leg in Leg.objects.select_related("act").filter(act__voided_by__isnull=True).exclude(act__kind="void"):
        legs[leg.item_id].append(leg)
    for mine in legs.values():
        mine.sort(key=lambda leg: _key(leg.act))
    return Second(
        legs,
        list(Edge.objects.filter(act__voided_by__isnull=True)),
        list(Block.objects.filter(to_us__isnull=True).values_list("pk", "item_id")),
        set(Exemption.objects.values_list("block_id", "item_id")),
    )
