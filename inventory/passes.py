"""That somebody showed their badge, or signed in, at a tablet: a signed word of the service that the tablet keeps.

A tablet without a network can still change hands. What it tells later in somebody's name is believed where it has such a word
for that person at that device, not older than a month: so nobody can be named who never worked at this tablet, or does not any
more. It opens nothing: it takes effect only in the hands of somebody of the same site who is signed in.
"""

from __future__ import annotations

from django.core import signing

from inventory.core.reasons import BadInput
from inventory.core.said import say
from inventory.models import Person

SALT, LASTS_US = "floor-pass", 30 * 86_400_000_000
LONGEST = 200


def give(person: int, site: int, device: str, now_us: int) -> str:
    """A word for a person at a device."""
    return signing.Signer(salt=SALT).sign_object([person, site, device, now_us])


def bearer(word: str, site: int, device: str, now_us: int) -> Person:
    """The person whose word it is. BadInput pass.unknown, pass.device, pass.old, pass.ended."""
    try:
        person, of, at, given_us = signing.Signer(salt=SALT).unsign_object(word)
    except (signing.BadSignature, ValueError):
        raise BadInput(
            "pass.unknown", say("Who made this is not proved: show the badge at this tablet once while it has a network."), "by"
        ) from None
    row = Person.objects.filter(pk=person, site=site).first()
    if row is None or of != site or at != device:
        raise BadInput("pass.device", say("Who made this showed the badge at another tablet: show it here while it has a network."), "by")
    if now_us - given_us > LASTS_US:
        raise BadInput(
            "pass.old", say("{row} last showed a badge here over a month ago: show it again, then send this again.", row=row), "by"
        )
    if row.ended_us is not None and row.ended_us <= now_us:
        raise BadInput(
            "pass.ended", say("{row} no longer works here: quality or the owner has to tell this under their own name.", row=row), "by"
        )
    return row
