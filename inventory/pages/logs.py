"""/logs/: temperature logs. A file is handed in, a job reads it; its page shows what it says and what can be charged by it."""

from __future__ import annotations

import json
from typing import Any

from django import forms
from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_http_methods, require_safe

from inventory import attachments
from inventory.core.reasons import BadInput
from inventory.core.said import say, say_as
from inventory.core.spans import duration
from inventory.core.temperature import display_celsius
from inventory.logs import why_no_evidence
from inventory.models import Attachment, Item, Location, Probe, TemperatureLog
from inventory.reads import logs as reads
from inventory.reads.stays import stays_in
from inventory.templatetags import shapes, words
from inventory.templatetags.tables import Column
from inventory.verbs.loggers import ChargeLog, TakeLog

from . import logcharts
from .deeds import PageForm, attempt, told
from .doing import status_of
from .door import Answer, Shop, ask_confirmed, call_of, page
from .ways import item_link, may, to

LOGS = (
    Column(say("Log")),
    Column(say("Probe")),
    Column(say("From")),
    Column(say("To")),
    Column(say("Readings"), num=True),
    Column(say("Warmest"), num=True),
    Column(say("State")),
)
WARM = (
    Column(say("Above")),
    Column(say("From")),
    Column(say("To")),
    Column(say_as("how long", "For"), num=True),
    Column(say("Warmest"), num=True),
    Column(say("What to do"), wide=True),
)
GAPS = (Column(say("From")), Column(say("To")), Column(say_as("how long", "For"), num=True))
LEFT = (Column(say("Lines")), Column(say("What was wrong"), wide=True), Column(say("There stood")))
TOUCHED = (Column(say("What")), Column(say("Material")), Column(say("Lay there from")), Column(say("To")), Column(say("Charged"), num=True))
MOST = 50


class LogForm(PageForm):
    """The file and its probe; what the file cannot say by itself may be said."""

    file = forms.FileField(
        error_messages={"required": say("Choose the logger’s file.")},
        label=say("The logger’s file"),
        help_text=say("CSV or text, as the logger writes it. It is kept as it is."),
    )
    probe = forms.CharField(
        max_length=60, label=say("Probe"), help_text=say("The name on its label."), widget=forms.TextInput({"list": "probes"})
    )
    measures = forms.ChoiceField(
        required=False,
        label=say("It measures"),
        choices=(("", say("as on record")), ("product", say("the product, or its dummy load")), ("air", say("the air"))),
        help_text=say("Asked of a new probe. Time is charged by a probe in the product; one in the air shows every defrost."),
    )
    column = forms.CharField(
        required=False, max_length=120, label=say("Column"), help_text=say("Its heading, where the file has several probes.")
    )
    unit = forms.ChoiceField(required=False, label=say("Unit"), choices=(("", say("as the file says")), ("°C", "°C"), ("°F", "°F")))
    zone = forms.CharField(
        required=False, max_length=60, label=say("Zone of its times"), help_text=say("Such as UTC or +01:00; empty: the shop’s own.")
    )
    day_first = forms.ChoiceField(
        required=False,
        label=say("Dates"),
        choices=(("", say("as the file shows")), ("yes", say("day before month")), ("no", say("month before day"))),
    )
    from_day = forms.CharField(
        required=False, max_length=10, label=say("First day"), help_text=say("2026-03-30: a log of other days is refused.")
    )
    to_day = forms.CharField(required=False, max_length=10, label=say("Last day"))

    NEEDED = ("file", "probe", "measures")

    @property
    def needed(self) -> list[Any]:
        return [self[name] for name in self.NEEDED]

    @property
    def more(self) -> list[Any]:
        return [self[name] for name in self.fields if name not in self.NEEDED]

    @property
    def more_open(self) -> bool:
        return any(bound.errors or bound.value() for bound in self.more)


@page
@require_http_methods(["GET", "HEAD", "POST"])
def new(request: HttpRequest) -> HttpResponse:
    """GET place or delivery; sha: a file that was handed in before."""
    shop: Shop = request.shop  # type: ignore[attr-defined]
    said = request.POST if request.method == "POST" else request.GET
    place, delivery, sha = (said.get(name, "").strip()[:64] for name in ("place", "delivery", "sha"))
    initial = {name: request.GET[name] for name in LogForm.base_fields if name in request.GET}
    form = LogForm(request.POST, request.FILES) if request.method == "POST" else LogForm(initial=initial)
    kept = Attachment.objects.filter(sha256=sha, person__site=shop.site).first() if sha else None
    form.fields["file"].required = kept is None
    answer = Answer()
    if request.method == "POST":
        answer = attempt(request, "take_log", form, lambda: taken(request, form, place, delivery, kept))
        if answer.outcome is not None:
            return redirect("job", answer.outcome.data["job"])
    where = Location.objects.filter(site=shop.site, code__iexact=place).first() if place else None
    title = say(
        "A log of {where}", where=where.name if where else say("delivery {delivery}", delivery=delivery) if delivery else say("a place")
    )
    context = {
        "title": (say("No – ") if answer.reasons else "") + title,
        "heading": title,
        "form": form,
        "answer": answer,
        "place": place,
        "delivery": delivery,
        "kept": kept,
        "probes": list(Probe.objects.filter(site=shop.site).order_by("name")[:200]),
        "may": may(shop, "take_log"),
        "back": to("place", where.code) if where else to("delivery", number=delivery) if delivery else to("places"),
    }
    return render(request, "inventory/log_new.html", context, status=status_of(answer, form))


def taken(request: HttpRequest, form: forms.Form, place: str, delivery: str, kept: Attachment | None) -> TakeLog:
    """What was filled in; the file is kept first, so that the job can name it."""
    d = form.cleaned_data
    file, shop = d.get("file"), request.shop  # type: ignore[attr-defined]
    if file is not None and may(shop, "take_log"):
        call = call_of(request)
        kept = attachments.keep(file.chunks(), file.name, call.who, call.now_us)
    if kept is None and may(shop, "take_log"):
        raise BadInput("log.file_needed", say("Choose the logger’s file."), "file")
    day_first = {"yes": True, "no": False}.get(d["day_first"])
    more = {name: d[name] for name in ("measures", "column", "unit", "zone", "from_day", "to_day")}
    return TakeLog(kept.sha256 if kept else "", d["probe"], place, delivery, day_first=day_first, **more)


def log_of(shop: Shop, number: int) -> TemperatureLog:
    rows = TemperatureLog.objects.select_related("probe", "location__storage", "delivery__material", "person", "withdrawn__person")
    found = rows.filter(site=shop.site, pk=number).first() if number < 2**53 else None
    if found is None:
        raise Http404
    return found


@page
@require_safe
def log(request: HttpRequest, number: int) -> HttpResponse:
    """One log: its picture, the times that were too warm, gaps, and what was not understood."""
    shop: Shop = request.shop  # type: ignore[attr-defined]
    row = log_of(shop, number)
    view, doc = reads.view(row, shop.zone), json.loads(row.doc)
    levels = [(line.mc, say("{mc}, {whose}", mc=display_celsius(line.mc), whose=line.whose)) for line in view.lines]
    context = {
        "title": say(
            "Log {pk}: {probe}, {location}", pk=row.pk, probe=row.probe, location=row.location.name if row.location else row.delivery
        ),
        "log": row,
        "doc": doc,
        "view": view,
        "withdrawn": getattr(row, "withdrawn", None),
        "where_url": to("place", row.location.code) if row.location else delivery_url(row),
        "picture": logcharts.svg(view.picture, levels, shop.zone),
        "says": reads.picture_words(row, shop.zone),
        "figures": figures(row, doc, view),
        "warm_columns": WARM,
        "warm": [warm_row(row, w, shop) for w in view.warm],
        "gap_columns": GAPS,
        "gaps": [[*(words.instant(us, shop.zone, shop.now_us) for us in gap), duration(gap[1] - gap[0])] for gap in doc["gaps"]],
        "left_columns": LEFT,
        "left": [[str(a) if a == b else f"{a}–{b}", text, given] for a, b, text, given in doc["left"]],
        "file": Attachment.objects.filter(sha256=row.sha256, person__site=shop.site).order_by("pk").first(),
        "withdraw": to("do", "withdraw_log", log=row.pk, next=request.path) if may(shop, "withdraw_log") else "",
        "calibrate": to("do", "calibrate", probe=row.probe.name, next=request.path) if may(shop, "calibrate") else "",
        "use": use_url(row, view) if may(shop, "receive") else "",
    }
    return render(request, "inventory/log.html", context)


def figures(row: TemperatureLog, doc: dict[str, Any], view: reads.View) -> list[tuple[str, str, str]]:
    """(name, figure, what to mind about it)."""
    step = (
        duration(doc["step_us"])
        if doc["step_us"] and doc["step_us"] >= 60_000_000
        else say("{step} s", step=f"{(doc['step_us'] or 0) / 1000000.0:g}")
    )
    found = [(say("Readings"), say("{readings}, every {step}", readings=row.readings, step=step) if doc["step_us"] else "1", "")]
    found += [(say("Covered"), duration(row.known_us), say("without its gaps") if doc["gap_count"] else "")]
    found += [(say("Coldest"), display_celsius(row.least_mc), ""), (say("Warmest"), display_celsius(row.most_mc), "")]
    found += [
        (
            say("Above {mc}", mc=display_celsius(line.mc)),
            duration(view.above_us[line.mc]) if view.above_us[line.mc] else say("never"),
            line.whose,
        )
        for line in view.lines
    ]
    if row.mean_mc is not None and row.kinetic_mc is not None:
        found += [
            (say("Mean"), display_celsius(round(row.mean_mc, -1)), say("over time")),
            (say("Mean kinetic"), display_celsius(round(row.kinetic_mc, -1)), say("83.144 kJ/mol: a convention for medicines, no resin’s")),
        ]
    return found


def warm_row(row: TemperatureLog, w: reads.Warm, shop: Shop) -> list[Any]:
    e = w.excursion
    return [
        display_celsius(w.line.mc).replace(" ", "\u00a0"),
        words.instant(e.start_us, shop.zone, shop.now_us),
        words.instant(e.end_us, shop.zone, shop.now_us),
        duration(e.end_us - e.start_us),
        display_celsius(round(e.peak_mc, -1)),
        todo(row, w, shop),
    ]


def todo(row: TemperatureLog, w: reads.Warm, shop: Shop) -> Any:
    """What can be done about one stretch, or why nothing."""
    if row.location is None:
        return say("counts for the delivery")
    if w.record is not None:
        return words.format_html(
            "{} {}", shapes.chip("done", say("charged")), words.code_link(say("record {record}", record=w.record), to("record", w.record))
        )
    if not w.line.charges:
        return say("the place’s own band: charges nothing")
    if row.measures != "product":
        return say("a probe in the air: charges nothing")
    if not w.touches:
        return say("nothing with this line lay there")
    if not w.lowest:
        return say("charged by the lower line")
    if hasattr(row, "withdrawn"):
        return say("the log is withdrawn")
    if not may(shop, "charge_log"):
        return say("quality charges it")
    url = to("log-charge", row.pk, at=w.excursion.start_us, line=f"{w.line.mc / 1000:g} °C")
    return words.format_html('<a class="button" href="{}">Charge what lay in it</a>', url)


def delivery_url(row: TemperatureLog) -> str:
    return to("delivery", number=row.delivery.number, material=row.delivery.material.code) if row.delivery else ""


def use_url(row: TemperatureLog, view: reads.View) -> str:
    """The delivery's form with what this log says, above the material's lowest line."""
    if row.delivery is None or hasattr(row, "withdrawn"):
        return ""
    said = transport_of(row, view)
    return to("delivery", number=row.delivery.number, material=row.delivery.material.code, **said)


def transport_of(row: TemperatureLog, view: reads.View) -> dict[str, str]:
    line = next((line.mc for line in view.lines if line.charges), None)
    minutes = 0 if line is None else -(-view.above_us[line] // 60_000_000)  # a begun minute counts
    said = {"warmest": say("{most} °C", most=f"{row.most_mc / 1000:g}")}
    if row.delivery is not None and row.delivery.material.min_store_mc is not None:
        said["coldest"] = say("{least} °C", least=f"{row.least_mc / 1000:g}")
    return said | ({"transport": say("{minutes} h {minutes_2}", minutes=minutes // 60, minutes_2=f"{minutes % 60:02d}")} if minutes else {})


# --- charging -------------------------------------------------------------------------------------------------


class ChargeForm(forms.Form):
    word = forms.CharField(
        required=False,
        max_length=400,
        label=say("Why the probe is believed all the same"),
        help_text=say("Such as a check in ice water, or against another thermometer."),
        widget=forms.Textarea({"rows": 2}),
    )
    reason = forms.CharField(
        required=False, max_length=400, label=say("Why"), help_text=say("What happened: a power cut, a door left open.")
    )


@page
@require_http_methods(["GET", "HEAD", "POST"])
def charge(request: HttpRequest, number: int) -> HttpResponse:
    """GET at (an instant of the stretch) and line. Shows what it would touch; the password charges it."""
    shop: Shop = request.shop  # type: ignore[attr-defined]
    row = log_of(shop, number)
    said = request.POST if request.method == "POST" else request.GET
    at_us, line = said.get("at", ""), said.get("line", "")[:40]
    if row.location is None or not at_us.isdecimal() or len(at_us) > 17:
        raise Http404
    answer, form = Answer(), ChargeForm(request.POST if request.method == "POST" else None)
    if request.method == "POST" and form.is_valid():
        params = ChargeLog(row.pk, int(at_us), line, form.cleaned_data["word"], form.cleaned_data["reason"])
        answer = ask_confirmed(request, "charge_log", call_of(request), params)
        if answer.outcome is not None:
            told(request, answer.outcome)
            return redirect("log", row.pk)
    try:
        event = reads.event_at(row, int(at_us), line)
    except BadInput as bad:
        messages.warning(request, bad.reason.text)
        return redirect("log", row.pk)
    e = event.excursion
    stays = stays_in(row.location, e.start_us, e.end_us)
    items = {i.pk: i for i in Item.objects.filter(pk__in=[s.item for s in stays]).select_related("material", "lot__batch")}
    air = reads.air_beside(row, e)
    title = say("Charge {end} to what lay in {location}", end=duration(e.end_us - e.start_us), location=row.location.name)
    context = {
        "title": (say("No – ") if answer.reasons else "") + title,
        "heading": title,
        "log": row,
        "event": event,
        "line": display_celsius(event.line_mc),
        "peak": display_celsius(round(e.peak_mc, -1)),
        "air": say("{us} above the band, {most} at most", us=duration(air.us), most=display_celsius(round(air.most_mc, -1))) if air else "",
        "against": [r for r in reads.against_charging(row, shop.zone, "") if r.code != "log.not_evidence"],
        "not_evidence": why_no_evidence(row, shop.zone),
        "columns": TOUCHED,
        "rows": [touched_row(items[s.item], s, shop) for s in stays],
        "form": form,
        "answer": answer,
        "at": at_us,
        "line_said": line,
        "may": may(shop, "charge_log"),
    }
    return render(request, "inventory/log_charge.html", context, status=status_of(answer, form))


def touched_row(item: Item, stay: Any, shop: Shop) -> list[Any]:
    return [
        item_link(item),
        item.material.code if item.material else "",
        words.instant(stay.from_us, shop.zone, shop.now_us),
        words.instant(stay.to_us, shop.zone, shop.now_us),
        duration(stay.to_us - stay.from_us),
    ]


def log_rows(shop: Shop, **of: Any) -> list[list[Any]]:
    """The newest logs of a place or of a delivery."""
    rows = TemperatureLog.objects.filter(site=shop.site, **of).select_related("probe", "withdrawn").order_by("-last_us", "-pk")[:MOST]
    return [
        [
            words.code_link(say("Log {pk}", pk=row.pk), to("log", row.pk)),
            say("{probe} ({measures})", probe=row.probe, measures=row.measures),
            words.instant(row.first_us, shop.zone, shop.now_us),
            words.instant(row.last_us, shop.zone, shop.now_us),
            row.readings,
            display_celsius(round(row.most_mc, -1)),
            shapes.chip("withdrawn") if hasattr(row, "withdrawn") else "",
        ]
        for row in rows
    ]
