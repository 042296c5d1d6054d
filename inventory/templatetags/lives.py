"""A life limit in words. The figure comes first; the bar only repeats it for the eye."""

from __future__ import annotations

from dataclasses import dataclass

from django.utils.functional import Promise
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _
from django.utils.translation import gettext_lazy

from inventory.core.limits import COUNTED_CLOCKS, DATED_CLOCKS, Reading
from inventory.core.lives import spoken
from inventory.core.spans import limit_text
from inventory.templatetags import words

_SOON = 20  # per cent of a limit under which word and shape change; a matter of looks, no rule hangs on it
_WHEN: dict[str, Promise] = {
    "mixed": gettext_lazy("judged when mixed"),
    "laid": gettext_lazy("judged when laid"),
    "bagged": gettext_lazy("judged when bagged"),
    "cure": gettext_lazy("judged at the start of cure"),
    "used": gettext_lazy("judged when used"),
}


@dataclass(frozen=True, slots=True)
class Face:
    """What the page shows of one reading. `filled` is the share left in whole per cent, None where no bar makes sense."""

    headline: SafeString
    detail: SafeString
    tone: str
    drawing: str
    filled: int | None


def face(reading: Reading, zone: object = None, now_us: int | None = None) -> Face:
    """The words for one limit as it was read (inventory.core.limits.read)."""
    if reading.missing:
        headline = format_html(_("{name}: <b>not known</b>"), name=spoken(reading.limit.name))
        return Face(headline, format_html("{}", reading.missing), "soon", "query", None)
    share = None if reading.over else _share(reading)
    tone = "stop" if reading.over else "soon" if _is_near(reading, share, now_us) else "fit"
    drawing = {"stop": "octagon", "soon": "hourglass"}.get(tone, "tick")
    headline = _over(reading, zone, now_us) if reading.over else _left(reading, zone, now_us)
    return Face(headline, _detail(reading, zone, now_us), tone, drawing, 0 if reading.over and _measured(reading) else share)


def _over(reading: Reading, zone: object, now_us: int | None) -> SafeString:
    name, clock = spoken(reading.limit.name), reading.limit.clock
    if reading.ends_us is None:
        return format_html(_("{name} <b>over</b>"), name=name)
    if clock in DATED_CLOCKS:
        return format_html(
            _("{name} <b>over</b>: last day was {when}"), name=name, when=words.instant(reading.ends_us, zone, now_us, "last")
        )
    return format_html(_("{name} <b>over</b> since {when}"), name=name, when=words.instant(reading.ends_us, zone, now_us))


def _left(reading: Reading, zone: object, now_us: int | None) -> SafeString:
    name, clock, left = spoken(reading.limit.name), reading.limit.clock, reading.left
    if clock in DATED_CLOCKS:
        if reading.ends_us is None:
            return format_html(_("{name}: <b>not opened yet</b>"), name=name)
        return format_html(_("{name}: through <b>{when}</b>"), name=name, when=words.instant(reading.ends_us, zone, now_us, "last"))
    if left is None:
        return format_html(_("{name}: <b>not over</b>"), name=name)
    if clock in COUNTED_CLOCKS:
        return format_html(_("<b>{left}</b> of {name} left"), left=left, name=name)
    if clock == "fraction":
        return format_html(_("<b>{left} %</b> of {name} left"), left=_share(reading), name=name)
    return format_html(_("<b>{left}</b> of {name} left"), left=words.duration(left), name=name)


def _detail(reading: Reading, zone: object, now_us: int | None) -> SafeString:
    parts: list[object] = []
    clock, used, allowed = reading.limit.clock, reading.used, reading.allowed
    if used is not None and allowed is not None and clock in COUNTED_CLOCKS:
        parts.append(format_html(_("used {used} of {allowed}"), used=used, allowed=allowed))
    elif used is not None and allowed is not None and clock != "fraction":
        parts.append(format_html(_("used {used} of {allowed}"), used=words.duration(used), allowed=limit_text(allowed)))
    if not reading.over and reading.ends_us is not None and clock not in DATED_CLOCKS:
        parts.append(format_html(_("ends {when} if it stays where it is"), when=words.instant(reading.ends_us, zone, now_us, "near")))
    if reading.limit.checkpoint in _WHEN:
        parts.append(_WHEN[reading.limit.checkpoint])
    if reading.limit.by:
        parts.append(format_html(_("tightened by {who}"), who=reading.limit.by))
    return format_html(" · ".join(["{}"] * len(parts)), *parts)


def _measured(reading: Reading) -> bool:
    return reading.used is not None and bool(reading.allowed)


def _share(reading: Reading) -> int | None:
    """Per cent left, rounded down, but at least 1 while anything is left."""
    if not _measured(reading) or reading.allowed is None or reading.left is None:
        return None
    return 0 if reading.left <= 0 else max(1, min(100, reading.left * 100 // reading.allowed))


def _is_near(reading: Reading, share: int | None, now_us: int | None) -> bool:
    """Few per cent left, or, where no share can be given, the last week of a date."""
    if share is not None:
        return share < _SOON
    return reading.ends_us is not None and now_us is not None and reading.ends_us - now_us < 7 * 24 * 3_600_000_000
