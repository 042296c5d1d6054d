"""Quantities, instants and sentences as a person reads them. Every function returns escaped HTML.

Shapes and units: quantities are ints in the base unit (um, cmm2, ug, pc), instants and spans are ints in µs.
"""

from __future__ import annotations

import re
from datetime import datetime, timedelta
from functools import lru_cache
from zoneinfo import ZoneInfo

from django.utils.html import format_html as format_html
from django.utils.safestring import SafeString, mark_safe
from django.utils.translation import gettext as _

from inventory import readers
from inventory.core import spans, units
from inventory.core.reasons import BadInput
from inventory.core.said import say

_UTC = ZoneInfo("UTC")
_UNIT = (
    r"h(?:[ \u00a0]\d\d)?|min|s|days?|weeks?|months?|Tage?n?|Wochen?|Monate?n?|d|m²|m2|mm|cm|m|kg|mg|g|µm|%|°C|°F|mbar|ml|l|per[ ]100"
    r"|pieces?|plies|metres?|Stück|Lagen|Meter|ft²|yd²|in²|ft|yd|lb|oz/yd²|oz|psi"
)
# What may stand under the stroke of a compound unit: g/m², g/mol, g/eq, kg/m³.
_PER = r"(?:/(?:mm|cm|m|yd|ft|in)[²³]?|/(?:mol|eq|min|h|l|K))"


@lru_cache(maxsize=8)
def _figure(language: str) -> re.Pattern[str]:
    """What is a figure in a sentence of this language: also a date, by its names of days and months."""
    day, month = ("|".join(re.escape(readers.shown(name)) for name in names) for names in (spans.DAYS, spans.MONTHS))
    return re.compile(
        rf"(?P<name>\b[A-Z][A-Z0-9]*(?:-[A-Z0-9]+)+\b|\b\d+×\d+\b(?![ \u00a0]?(?:{_UNIT})(?!\w)))"
        rf"|(?:\b(?:{day})[ ])?\b\d{{1,2}}[ ](?:{month})\b(?:[ ]\d{{4}})?(?:[ ]\d\d:\d\d)?"
        rf"|(?<![\w.,:/-])[−-]?\d+(?:[.,:–/-]\d+|[ \u00a0\u202f]\d{{3}}(?!\d))*(?![\w-])(?:[ \u00a0]?(?:{_UNIT}){_PER}?(?!\w))?"
    )


def html_say(template: str, **values: object) -> SafeString:
    """A sentence with markup in it, in the language of this page: `html_say('record <a href="{url}">{number}</a>', url=…, number=…)`.
    Only for pages: unlike `say` it is said at once. The values are escaped, the template is ours."""
    return format_html(_(template), **values)


def unknown() -> SafeString:
    """What stands where nothing is known: a word, because "unknown" is not zero (R36)."""
    return format_html('<span class="unknown">{}</span>', _("not known"))


def qty(value: int | None, base: str) -> SafeString:
    """A quantity in the trade's display unit, kept on one line."""
    if value is None:
        return unknown()
    return format_html('<span class="qty">{}</span>', units.display(value, base))


def duration(us: int | None) -> SafeString:
    """A span of time ("5 h 50"), kept on one line; a negative one is said as what it is ("over by 41 h 00")."""
    if us is None:
        return unknown()
    if us < 0:
        return format_html('<span class="qty">{} {}</span>', _("over by"), spans.duration(-us))
    return format_html('<span class="qty">{}</span>', spans.duration(us))


def emphasise(text: object) -> SafeString:
    """Escape a sentence and make its figures stand out: "114 h 10 of 72 h", "Sat 28 Mar 12:30". Codes such as T-4 or
    CT-204 are names, not figures, and so is the 2×2 of a twill: they are only kept on one line. Safe text that holds markup is
    left alone (the literals of a template are safe text too, but plain)."""
    if isinstance(text, SafeString) and ("<" in text or "&" in text):
        return text
    plain = readers.shown(text)
    pieces: list[SafeString] = []
    at = 0
    for found in _figure(readers.language()).finditer(plain):
        wrap = '{}<span class="nb">{}</span>' if found["name"] else '{}<b class="fig">{}</b>'
        pieces.append(format_html(wrap, plain[at : found.start()], found.group()))
        at = found.end()
    return format_html("{}{}", mark_safe("".join(pieces)), plain[at:])  # each piece is escaped already


def zone_of(zone: object) -> ZoneInfo:
    """The site's zone; UTC, and shown as such, when a page has none or one that does not exist."""
    if isinstance(zone, str | ZoneInfo) and zone:
        try:
            return spans.zone_of(zone)
        except BadInput:
            return _UTC
    return _UTC


def local(us: int, zone: object) -> datetime | None:
    """The instant as local time, or None when it lies outside the years that a calendar can show."""
    try:
        return spans.local(us, zone_of(zone))
    except (BadInput, ValueError):
        return None


def instant(us: int | None, zone: object, now_us: int | None = None, style: str = "") -> SafeString:
    """An instant in the site's zone, as <time> with its full ISO form.

    Styles: "" Mon 30 Mar 07:40; "near" 07:40 when it is today, else as ""; "clock" 07:40; "day" Mon 30 Mar; "last" the last
    whole day before this instant (a limit that ends at midnight is good *through* the day before, R41); "iso" 2026-03-30 07:40:20.
    The year is added when it is not the present one. The hour that happens twice in autumn carries its offset.
    """
    if us is None:
        return unknown()
    moment = local(us - 1 if style == "last" else us, zone)
    if moment is None:
        return format_html('<span class="unknown">{}</span>', _("no date"))
    now = local(now_us, zone) if now_us is not None else None
    return format_html('<time datetime="{}" class="when">{}</time>', moment.isoformat(), _face(moment, now, style))


def _face(moment: datetime, now: datetime | None, style: str) -> str:
    clock = f"{moment.hour:02d}:{moment.minute:02d}"
    if style == "iso":
        return f"{moment.date().isoformat()} {clock}:{moment.second:02d}{_offset(moment)}"
    if style == "clock" or (style == "near" and now is not None and moment.date() == now.date()):
        return clock + _offset(moment)
    day = say("{days} {day} {months}", days=spans.DAYS[moment.weekday()], day=moment.day, months=spans.MONTHS[moment.month - 1])
    if now is None or now.year != moment.year:
        day += say(" {year}", year=moment.year)
    return day if style in ("day", "last") else say("{day} {clock}{offset}", day=day, clock=clock, offset=_offset(moment))


def _offset(moment: datetime) -> str:
    """ " UTC+1" where the clock face alone would be ambiguous: the repeated hour, and a page without a zone."""
    if moment.tzinfo is _UTC:
        return " UTC"
    offset = moment.utcoffset() or timedelta(0)
    if moment.replace(fold=1 - moment.fold).utcoffset() == offset:
        return ""
    minutes = offset // timedelta(minutes=1)
    hours, rest = divmod(abs(minutes), 60)
    return f" UTC{'-' if minutes < 0 else '+'}{hours}" + (f":{rest:02d}" if rest else "")


def code_link(code: object, url: object = "") -> SafeString:
    """A label's code in the code face; a link when there is an address."""
    if url:
        return format_html('<a class="code" href="{}">{}</a>', url, code)
    return format_html('<span class="code">{}</span>', code)
