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


def spoken(name: str) -> str:
    """The name of a limit as it stands in a sentence: "5 h 50 of out life left". A specification's own longer name is kept."""
    return _SHORT.get(name.casefold(), name)
