"""The kinds of act, and the rank that breaks ties between acts of the same instant.

The rank is part of the order key, which belongs to the act and is shared by all its legs: things are born before they
move, move before they are opened, are opened before they are cut, are cut before they are laid.
"""

from __future__ import annotations

RANK: dict[str, int] = {
    "made": 0,  # a lot at its maker
    "receive": 1,
    "start": 2,  # a part or assembly begins
    "baseline": 3,  # quality's starting value for unknown history
    "certify": 4,
    "release": 5,
    "hold": 5,
    "unhold": 5,
    "exempt": 5,
    "identify": 6,
    "relabel": 6,
    "reserve": 7,
    "move": 10,
    "dry": 11,
    "open": 12,
    "cut": 20,
    "pour": 21,
    "mix": 22,
    "gel": 23,
    "window": 24,
    "lay": 30,
    "bag": 31,
    "join": 32,
    "unjoin": 33,
    "heat": 34,
    "cure_on": 40,
    "cure_abort": 41,
    "cure_off": 42,
    "step": 44,
    "inspect": 45,
    "defect": 46,
    "chart": 47,
    "count": 50,
    "adjust": 52,
    "use": 54,
    "scrap": 60,
    "return": 61,
    "ship": 62,
    "sell": 63,
    "extend_ask": 70,
    "extend": 71,
    "dispose": 72,
    "expose": 80,
    "void": 90,
}

# Decisions travel to everything below at once, so they are made with no other writer at work (decision 23).
DECISIONS = frozenset({"release", "hold", "unhold", "exempt", "extend", "void", "expose", "baseline", "dispose"})

# Edges along which material is used: the ones that are judged again when late truth arrives (R13).
USES = frozenset({"cut", "mix", "pour", "lay"})
