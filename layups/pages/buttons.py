"""What a person may do with a part now: the usual next steps first, the rest behind, quality's decisions apart."""

from __future__ import annotations

from dataclasses import dataclass

from inventory.core.said import say
from inventory.pages.door import Shop
from inventory.pages.ways import may, to
from layups.core.following import following
from layups.reads.part import PartPage
from layups.reads.standing import standing

from . import words
from .deeds import DEEDS

OPEN = ("building", "bagged")


@dataclass(frozen=True, slots=True)
class Button:
    label: str
    url: str
    css: str = ""


def buttons(p: PartPage, shop: Shop) -> tuple[list[Button], list[Button], list[Button]]:
    """(what comes next, what else may be recorded, decisions), only what this person may do."""
    main = following(standing(p))
    ready = "primary" if p.next is None or p.word != "building" else ""
    rest = [slug for slug in _other(p) if slug not in main]
    return (
        [_button(p, s, ready if n == 0 else "") for n, s in enumerate(main) if _may(shop, s)],
        [_button(p, s) for s in rest if _may(shop, s)],
        _decisions(p, shop),
    )


def _may(shop: Shop, slug: str) -> bool:
    return may(shop, DEEDS[slug].verb)


def _button(p: PartPage, slug: str, css: str = "") -> Button:
    return Button(DEEDS[slug].button, f"{words.part_url(p.part.number, p.item.code)}{slug}/", css)


def _other(p: PartPage) -> list[str]:
    if p.word in ("shipped", "scrapped"):
        return ["defect"]
    common = ["step", "test", "defect", "move"]
    if p.word == "curing":
        return common
    if p.word == "cured" or p.part.design.kind == "assembly":
        seated = any(s.until_us is None for s in p.seats)
        return [*common, *(["unjoin"] if seated else ["join"])]
    return [*common, "plan", "bag", "drop", "load", "on"]


def _decisions(p: PartPage, shop: Shop) -> list[Button]:
    """Quality's own, each with the password again on its page."""
    number, here = p.part.number, words.part_url(p.part.number, p.item.code)
    out = []
    if p.findings and may(shop, "dispose"):
        for case in dict.fromkeys(f.nonconformance_id for f in p.findings):
            out.append(Button(say("Decide on what broke a rule"), to("nonconformance", case)))
    if any(h.why != "incoming" for h in p.holds) and may(shop, "unhold"):
        out.append(Button(say("Let go"), to("decide", "let-go", item=p.item.code, next=here)))
    if may(shop, "hold"):
        out.append(Button(say("Hold {number}", number=number), to("decide", "hold", item=p.item.code, next=here), "danger"))
    return [b for b in out if b.url]
