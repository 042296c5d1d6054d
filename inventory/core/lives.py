"""Life limits by the words that people use for them."""

from __future__ import annotations

from inventory.core.said import say

_SHORT = {
    "storage": say("storage life"),
    "shelf": say("shelf life"),
    "tack": say("tack life"),
    "handling": say("handling life"),
    "out": say("out life"),
    "opened": say("life after opening"),
    "cycles": say("thaw cycles"),
    "moisture": say("time in the open"),
}
LONG = {str.__str__(said): said for said in _SHORT.values()}
"""The same by themselves, for where one stands in text that was stored."""


def spoken(name: str, first: bool = False) -> str:
    """The name of a limit as it stands in a sentence: "5 h 50 of out life left"; `first`: as its first word. A
    specification's own longer name is kept."""
    said = _SHORT.get(name.casefold(), name)
    return said[:1].upper() + said[1:] if first else said
