"""Codes that are words, and stand in sentences and cells as they are: kinds of things, roles, parts of a recipe.

Whoever shows one alone asks `word`; within a sentence it is found by itself.
"""

from __future__ import annotations

from inventory.core.said import NAMED, Said, say

_WORDS = (
    say("roll"), say("spool"), say("drum"), say("can"), say("box"), say("sheet"), say("kit"), say("remnant"), say("mix"), say("pot"),
    say("tank"), say("part"), say("assembly"), say("lot"), say("piece"), say("item"), say("label"), say("place"), say("customer"),
    say("rolls"), say("spools"), say("drums"), say("cans"), say("boxes"), say("sheets"), say("kits"), say("parts"), say("lots"),
    say("storekeeper"), say("builder"), say("quality"), say("owner"), say("auditor"),
    say("fabric"), say("mat"), say("prepreg"), say("resin"), say("hardener"), say("peroxide"), say("promoter"), say("gelcoat"),
    say("film"), say("core"), say("tow"), say("additive"), say("amine"), say("acid"), say("isocyanate"),
    say("room"), say("ramp"), say("dwell"), say("cool"), say("gap"), say("passes"), say("fails"), say("passed"), say("failed"),
    say("low"), say("high"), say("target"), say("mean"), say("lowest"), say("highest"), say("early"), say("late"), say("within"),
    say("orthotropic"), say("isotropic"), say("quasi-isotropic"), say("anisotropic"), say("symmetric"), say("antisymmetric"),
    say("smoke"), say("boil"), say("tray"), say("cup"), say("product"), say("air"), say("returned"), say("scrapped"), say("sold"),
    say("used up"), say("shipped"), say("opened"), say("received"), say("free"), say("held"), say("material"), say("source"), say("thing"),
    say("name"), say("quantity"), say("serial"), say("order"), say("due"), say("unit"), say("thickness"), say("width"), say("length"),
    say("area"), say("mass"), say("volume"), say("density"), say("temperature"), say("humidity"), say("today"), say("tomorrow"),
    say("cut"), say("lay"), say("bag"), say("cure"), say("ship"), say("move"), say("step"), say("test"), say("yes"), say("no"),
    say("laid"), say("bagged"), say("cured"), say("mixed"), say("used"), say("ply"), say("plies"), say("assembled"), say("demoulded"),
    say("limit"), say("history"), say("fibre"),
)  # fmt: skip
NAMED.update({str.__str__(word): word for word in _WORDS if isinstance(word, Said)})


def word(text: object) -> str:
    """A code as it is read, where it stands alone; anything else as it is."""
    if isinstance(text, str):
        return NAMED.get(text, text) if type(text) is str else text
    return str(text)
