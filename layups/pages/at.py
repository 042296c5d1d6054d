"""A part by its address, and back to its page with the record that was made."""

from __future__ import annotations

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect

from inventory.core import codes
from inventory.core.said import say
from inventory.pages.door import Answer, Shop
from inventory.verbs import resolve
from layups.models import Part

from . import words

ANSWER = "answer"
"""Marks the message that the page shows big instead of as a banner."""


def part_at(shop: Shop, number: str) -> Part:
    """By its number, or by any label of it; 404."""
    rows = Part.objects.select_related("item", "design", "customer").filter(item__site=shop.site)
    row = rows.filter(number=number).first() or rows.filter(number__iexact=number).first()
    if row is None and len(number) <= 200 and "\x00" not in number:
        item = resolve.find(shop.site, codes.normalise(number))
        row = rows.filter(pk=item.pk).first() if item is not None else None
    if row is None:
        raise Http404(say("There is no part {number} here.", number=number[:60]))
    return row


def done(request: HttpRequest, row: Part, answer: Answer) -> HttpResponse:
    """To the page, with the record that was made."""
    assert answer.outcome is not None
    messages.success(request, answer.outcome.text, extra_tags=ANSWER)
    receipts = answer.outcome.receipts
    record = f"?did={receipts[-1].act}" if receipts else ""
    return redirect(words.part_url(row.number, row.item.code) + record)
