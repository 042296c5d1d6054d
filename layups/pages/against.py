"""What speaks against the things of a trace: held, expired, not released, as on each thing's own page."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping

from inventory.core.said import say, strung
from inventory.lineage import among, open_blocks
from inventory.models import ItemState
from inventory.pages import itemfacts
from inventory.pages.door import Where
from inventory.reads import stock
from inventory.templatetags import shapes
from layups.reads.things import CONSUMED, Thing

CODES = ("held", "expired", "unreleased")
"""Of templatetags.shapes.STATUS, the worst first."""
Against = Mapping[int, tuple[str, ...]]
"""By a thing's id; what nothing speaks against is left out."""


def against(things: Iterable[Thing], shop: Where) -> Against:
    """A hold reaches whatever still is somewhere, shipped or not, and a lot of which nothing is left: others may still have some.
    That a lot ended after all of it was used says nothing of what was made in time: `expired` is said of pieces, not of lots.
    Only what is past its stored end is judged, so a large trace costs two queries, and a handful more where something is."""
    found = {t.id: t for t in things if t.kind == "lot" or t.where != CONSUMED}
    blocked = open_blocks(found)
    past = ItemState.objects.filter(pk__in=among(found), gone="", ends_us__lte=shop.now_us).exclude(item__kind="lot")
    rows = list(past.select_related("item__material", "item__owner", "item__lot__batch", "location__storage"))
    judged = {p.item.pk: itemfacts.statuses(p, shop.now_us) for p in (stock.pieces(rows, shop.zone, shop.now_us) if rows else ())}
    out = {}
    for pk in found:
        codes = {"unreleased" if hit.why == "incoming" else "held" for hit in blocked.get(pk, ())} | set(judged.get(pk, ()))
        if kept := tuple(code for code in CODES if code in codes):
            out[pk] = kept
    return out


def counted(things: Iterable[Thing], found: Against) -> Counter[str]:
    """How many of them each code is said of."""
    return Counter(code for t in things for code in found.get(t.id, ()))


def told(counts: Mapping[str, int], of: int) -> str:
    """ "held, expired" of one thing, "3 held, 1 expired" of several; nothing where nothing is."""
    said = [(word_of(code), counts[code]) for code in CODES if counts.get(code)]
    return strung(", ", (word if of == 1 else say("{count} {value}", count=n, value=word) for word, n in said))


def worst(counts: Mapping[str, int]) -> str:
    return next((code for code in CODES if counts.get(code)), "")


def word_of(code: str) -> str:
    return str(shapes.STATUS[code][0])
