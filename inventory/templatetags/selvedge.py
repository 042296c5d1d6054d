"""The parts every page is made of. `{% load selvedge %}` and use:

Small words
    {% status "held" note="Odile 10:00" %}   word + shape; codes stand in shapes.STATUS
    {% qty 41500000 "um" %}  {% duration us %}  {% instant us %}  {% instant us "near" %}   (styles: near clock day last iso)
    {% code "U-3" url %}     a label's code in the code face, a link when there is an address
    {{ sentence|figures }}   escape a sentence and make its numbers stand out

Blocks
    {% verdict reasons title="T-4 stays shut" %}   the big yes or no. `reasons`: Reason values or sentences; none = yes.
        yes="…" what to do now; offer="T-2" offer_url=… what would pass instead; tone="kept" = stored although it breaks rules
    {% lifeline reading %}   one limit (core.limits.Reading), words first: "5 h 50 of out life left"
    {% countdown stop_us what="M-1" stop="stop: pot life over" %}
    {% sentences rows %}     the morning list; each row dict(urgency="now|today|soon|note", text, url="", action="", action_url="",
        when_us=None)
    {% timeline movements %} history; each dict(when_us, verb, text, person, device="", recorded_us=None, void="", marks=(), url="")
    {% table caption columns rows %}  columns: [Column("Out time", num=True)] from templatetags.tables; cells are text or safe parts
    {% table_files %}        in the frame's foot: every table of the page as CSV and XLSX
    {% pager previous_url next_url shown %}   {% empty "Nothing is out." hint="…" url="…" action="…" %}

Forms (they work without JavaScript; the server puts the idempotency key in, the page's script only renews it)
    <form method="post" data-key>{% csrf_token %}{% formkey %}
      {% errors form %} {% field form.length unit="m" %} {% field form.reason %}
      <div class="actions"><button type="submit" class="button primary">Cut</button>
      <button type="submit" class="button danger" data-confirm="Scrap 180.0 g of M-1?" data-confirm-yes="Scrap it">Scrap</button></div>
    </form>
    The view reads the key from POST["key"].
    {% scanbox action "Scan a roll" intent="take-out" %}   posts `code`, `intent` and `key`; method="get" for plain finding

From Python the same as functions: shapes.chip, words.qty, words.duration, words.instant, words.code_link, tables.table.
Context that parts read: `zone` (name of the site's zone) and `now_us`. Everything escapes what it is given.
"""

from __future__ import annotations

import json
import uuid
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from django.forms.boundfield import BoundField
from django.template import Library
from django.template.context import Context
from django.utils.html import format_html
from django.utils.safestring import SafeString
from django.utils.translation import gettext as _

from inventory import readers
from inventory.core.codewords import word
from inventory.core.limits import Reading
from inventory.core.said import Told, read_out
from inventory.core.said import first_up as raised
from inventory.templatetags import lives, shapes, tables, words

register = Library()
_PARTS = "inventory/parts/"


@register.inclusion_tag(_PARTS + "table_files.html", takes_context=True)
def table_files(context: Context) -> dict[str, Any]:
    """Every table of the page, as a file. Stands below the tables, since it names those that were drawn."""
    request = context.get("request")
    if request is None or request.method != "GET":
        return {"files": ()}
    asked = request.GET.copy()
    asked.pop("file", None)
    asked.pop("table", None)
    files = []
    for n, found in enumerate(tables.drawn(), start=1):
        asked["table"] = str(n)
        files.append((found.caption, [(kind.upper(), f"?{asked.urlencode()}&file={kind}") for kind in ("csv", "xlsx")]))
    return {"files": files}


@register.simple_tag
def script_words() -> SafeString:
    """The words of the page's scripts in its language, as data; nothing in English, which stands in the scripts."""
    found = readers.script_words(readers.language())
    return format_html('<meta name="words" content="{}">\n', json.dumps(found, ensure_ascii=False)) if found else SafeString("")


@register.simple_tag
def status(code: object, note: object = "") -> SafeString:
    return shapes.chip(code, note)


@register.simple_tag
def shape(name: str) -> SafeString:
    return shapes.shape(name)


@register.simple_tag
def qty(value: int | None, base: str) -> SafeString:
    return words.qty(value, base)


@register.simple_tag
def duration(us: int | None) -> SafeString:
    return words.duration(us)


@register.simple_tag(takes_context=True)
def instant(context: Context, us: int | None, style: str = "") -> SafeString:
    return words.instant(us, context.get("zone"), context.get("now_us"), style)


@register.simple_tag(takes_context=True)
def age(context: Context, us: int | None) -> SafeString:
    """An instant with its age beside it, kept fresh by tick.js ("07:40, 3 min ago"); without script the instant alone."""
    if us is None:
        return words.unknown()
    when = words.instant(us, context.get("zone"), context.get("now_us"), "near")
    return format_html('{} <span class="age" data-age-us="{}"></span>', when, int(us))


@register.simple_tag(name="code")
def code_tag(code: object, url: object = "") -> SafeString:
    return words.code_link(code, url)


@register.filter
def first_up(text: object) -> str:
    """A word or sentence with a capital at its beginning, in the language of the page."""
    return raised(word(text))


@register.filter(name="word")
def word_of(text: object) -> object:
    """A code that is a word (roll, quality) as it is read; of several, each."""
    return [word(each) for each in text] if isinstance(text, (list, tuple)) else word(text)


@register.filter
def figures(text: object) -> SafeString:
    return words.emphasise(text)


def _sheet(reason: object) -> str:
    """Where the safety data sheet is that a reason points to: nobody types an address with gloves on."""
    url = getattr(reason, "numbers", {}).get("sds_url") or ""
    return str(url) if str(url).startswith(("https://", "http://")) else ""


@register.inclusion_tag(_PARTS + "verdict.html")
def verdict(
    reasons: Iterable[object] | None, title: str = "", yes: str = "", offer: object = "", offer_url: str = "", tone: str = ""
) -> dict[str, object]:
    """Every reason is shown; `cap` reasons say that nobody may override them. Tone follows from the reasons unless given."""
    reasons = [reasons] if isinstance(reasons, str) else reasons  # one sentence, not its letters
    told = [
        {"text": getattr(r, "text", r), "code": getattr(r, "code", ""), "cap": getattr(r, "cap", False), "sheet": _sheet(r)}
        for r in reasons or ()
    ]
    tone = tone or ("no" if told else "yes")
    word, drawing = {"no": (_("No"), "octagon"), "kept": (_("Stored"), "diamond")}.get(tone, (_("Yes"), "tick"))
    return {
        "reasons": told,
        "title": title,
        "yes": yes,
        "offer": offer,
        "offer_url": offer_url,
        "tone": tone,
        "word": word,
        "drawing": drawing,
        "many": len(told) > 1,
    }


@register.inclusion_tag(_PARTS + "lifeline.html", takes_context=True)
def lifeline(context: Context, reading: Reading) -> dict[str, object]:
    """One life limit as read by inventory.core.limits, words first; the bar is decoration."""
    return {"life": lives.face(reading, context.get("zone"), context.get("now_us"))}


@register.inclusion_tag(_PARTS + "countdown.html", takes_context=True)
def countdown(context: Context, stop_us: int, what: str = "", stop: str = "") -> dict[str, object]:
    """Stop time in words, and the time left where script runs. `stop` is what it says at zero."""
    now_us = context.get("now_us")
    return {
        "stop_us": int(stop_us),
        "what": what,
        "stop": stop or _("stop: time is over"),
        "over": now_us is not None and now_us >= stop_us,
        "when": words.instant(stop_us, context.get("zone"), now_us, "near"),
    }


@register.inclusion_tag(_PARTS + "sentences.html", takes_context=True)
def sentences(context: Context, rows: Iterable[Mapping[str, Any]], label: str = "") -> dict[str, object]:
    """Sentences, most urgent first. The order within one urgency is the caller's."""
    order = list(shapes.URGENCY)
    ready = [dict(row) for row in rows]
    for row in ready:
        row["word"], row["drawing"], row["tone"] = shapes.URGENCY.get(row.get("urgency", "note"), shapes.URGENCY["note"])
        row["when"] = (
            words.instant(row["when_us"], context.get("zone"), context.get("now_us"), "near") if row.get("when_us") is not None else ""
        )
    ready.sort(key=lambda row: order.index(row["urgency"]) if row.get("urgency") in order else len(order))
    return {"rows": ready, "label": label}


@register.inclusion_tag(_PARTS + "timeline.html", takes_context=True)
def timeline(context: Context, movements: Iterable[Mapping[str, Any]]) -> dict[str, object]:
    """What happened to one thing, in the caller's order. Voided records are struck but stay readable."""
    return {"movements": list(movements), "zone": context.get("zone"), "now_us": context.get("now_us")}


@register.simple_tag
def table(caption: str, columns: Sequence[tables.Column], rows: Iterable[Sequence[object]]) -> SafeString:
    return tables.table(caption, columns, rows)


@register.inclusion_tag(_PARTS + "pager.html")
def pager(previous_url: str = "", next_url: str = "", shown: str = "", table: str = "") -> dict[str, object]:
    """table: the title of the table, by which a landmark is told from another on its page."""
    return {"previous_url": previous_url, "next_url": next_url, "shown": shown, "table": table}


@register.inclusion_tag(_PARTS + "empty.html")
def empty(text: str, hint: str = "", url: str = "", action: str = "") -> dict[str, object]:
    return {"text": text, "hint": hint, "url": url, "action": action}


@register.inclusion_tag(_PARTS + "messages.html", takes_context=True)
def banners(context: Context) -> dict[str, object]:
    """Django's messages as banners: word, shape, sentence."""
    shown = []
    for message in context.get("messages") or ():
        level = getattr(message, "level_tag", "info")
        word, drawing, tone = shapes.MESSAGE.get(level, shapes.MESSAGE["info"])
        # a warning too is read out at once, and has the tone of a question (signal.js)
        shown.append({"word": word, "drawing": drawing, "tone": tone, "text": message.message, "loud": level in ("warning", "error")})
    return {"banners": shown}


@register.inclusion_tag(_PARTS + "fresh_labels.html", takes_context=True)
def fresh_labels(context: Context) -> dict[str, object]:
    """What has come into being and has no label: printed with one press, or at once where this browser does so."""
    from inventory.pages.labelling import fresh_labels as fresh  # pages use these parts

    request = context.get("request")
    offer = fresh(request) if request is not None and getattr(request, "shop", None) is not None else None
    return {"offer": offer, "csrf_token": context.get("csrf_token")}


@register.simple_tag(takes_context=True)
def formkey(context: Context) -> SafeString:
    """A fresh idempotency key as a hidden field, so that a form sent twice counts once even without script.
    `form_key` in the context keeps a key over a redisplay. autocomplete=off stops browsers from restoring an old one."""
    return format_html('<input type="hidden" name="key" value="{}" autocomplete="off">', context.get("form_key") or uuid.uuid4())


@register.inclusion_tag(_PARTS + "errors.html")
def errors(form: Any) -> dict[str, object]:
    """The summary above a form: its own errors, then a link to each field that has one."""
    bad = [
        {"label": bound.label, "id": bound.id_for_label or bound.auto_id, "errors": _errors(bound.errors)} for bound in form if bound.errors
    ]
    return {"own": _errors(form.non_field_errors()), "fields": bad}


def _errors(found: Any) -> list[object]:
    """The sentences of a form's errors, still as they were said: Django's own list would only give their English."""
    return [error.message % error.params if error.params else error.message for error in found.as_data()]


@register.inclusion_tag(_PARTS + "field.html")
def field(bound: BoundField, unit: str = "", hint: str = "") -> dict[str, object]:
    """Label above, control, unit, help and errors, tied together by aria-describedby (errors are read first)."""
    base = bound.auto_id
    unit = getattr(bound.field, "shown", unit)  # a `measures.Measure` knows whose unit stands there
    help_text = hint or bound.help_text
    kind = bound.widget_type
    group = bound.use_fieldset or kind in ("radioselect", "checkboxselectmultiple")
    ids = [f"{base}_error"] * bool(bound.errors) + [f"{base}_helptext"] * bool(help_text) + [f"{base}_unit"] * bool(unit)
    attrs: dict[str, str | bool] = {"aria-describedby": " ".join(ids)} if ids and not group else {}
    attrs |= {name: read_out(value) for name, value in bound.field.widget.attrs.items() if isinstance(value, Told)}
    return {
        "bound": bound,
        "errors": _errors(bound.errors),
        "control": bound.as_widget(attrs=attrs),
        "base": base,
        "unit": unit,
        "help": help_text,
        "group": group,
        "described": " ".join(ids),
        "tick": kind == "checkbox",
        "optional": not bound.field.required and kind != "checkbox",
    }


@register.inclusion_tag(_PARTS + "scanbox.html", takes_context=True)
def scanbox(
    context: Context,
    action: str,
    placeholder: str = "",
    label: str = "",
    method: str = "post",
    name: str = "code",
    intent: str = "",
    once: bool = True,
    focus: bool = True,
    button: str = "",
    small: bool = False,
    stay: bool = False,
    asks: str = "",
) -> dict[str, object]:
    """One box that takes any code. `once` ignores a double read within 2 s; `intent` tells the server what the scan means here; `asks`
    is what the page is for, of `scananswers.INTENTS`: so its scans are answered in place; `stay`: scans go off in the background, and the
    page's parts are renewed (needs stay.js)."""
    return {
        "action": action,
        "placeholder": placeholder,
        "label": label or _("Scan or type a code"),
        "method": "get" if method.lower() == "get" else "post",
        "name": name,
        "intent": intent,
        "asks": asks or ("open" if method.lower() == "get" else ""),
        "once": once,
        "focus": focus,
        "button": button or _("Go"),
        "small": small,
        "stay": stay,
        "base": f"scan-{name}-{'top' if small else 'page'}",
        "csrf_token": context.get("csrf_token"),
        "form_key": context.get("form_key"),
    }
