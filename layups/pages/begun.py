"""What a builder goes on with: the parts that are being made, the one with the builder's own newest record first."""

from __future__ import annotations

from inventory.pages.door import Shop
from inventory.pages.today import BEGUN, Begun, Going
from inventory.pages.ways import to
from layups.reads.underway import UnderWay, under_way

from . import words
from .ongoing import against, next_words, until

MOST = 4
ROLE = "builder"


def parts_begun(shop: Shop) -> Begun | None:
    """None for who builds nothing, and where nothing is being made."""
    if ROLE not in shop.roles:
        return None
    found = [u for u in under_way(shop.signed_in.site, shop.now_us, shop.person.pk) if u.since_us is None]
    found.sort(key=lambda u: (-(u.mine_us or 0), u.held))
    rows = tuple(going(u, shop) for u in found[:MOST])
    return Begun(rows, to("parts", which="in_work")) if rows else None


def going(u: UnderWay, shop: Shop) -> Going:
    end = until(u.deadline, shop)
    told = (next_words(u), end.governs, end.planned)
    return Going(
        u.part.number,
        words.part_url(u.part.number, u.part.item.code),
        words.states([u.word, *against(u, end.word)]),
        tuple(filter(None, told)),
    )


BEGUN.append(parts_begun)
