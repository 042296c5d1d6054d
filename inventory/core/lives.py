"""Life limits by the words that people use for them."""

from __future__ import annotations

_SHORT = {
    "storage": "storage life",
    "shelf": "shelf life",
    "tack": "tack life",
    "handling": "handling life",
    "out": "out life",
    "opened": "life after opening",
    "cycles": "thaw cycles",
    "moisture": "time in the open",
}


def spoken(name: str, first: bool = False) -> str:
    """The name of a limit as it stands in a sentence: "5 h 50 of out life left"; `first`: as its first word. A
    specification's own longer name is kept."""
    said = _SHORT.get(name.casefold(), name)
    return said[:1].upper() + said[1:] if first else said
