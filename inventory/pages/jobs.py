"""/jobs/: work that takes a while. Whoever asked sees how far it is, what came of it, and can stop it."""

from __future__ import annotations

import json
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_POST, require_safe

from inventory import jobs as work
from inventory.core.reasons import Refused
from inventory.core.said import say
from inventory.core.spans import duration
from inventory.models import Delivery, Job, Location, Probe
from inventory.templatetags import shapes, words
from inventory.templatetags.tables import Column

from .door import Shop, page
from .ways import to

COLUMNS = (Column(say("What")), Column(say("State")), Column(say("Who asked")), Column(say("When")), Column(say("Took"), num=True))
MOST = 100
REFRESH_S = 2


def state_chip(job: Job) -> Any:
    return shapes.chip({"cancelled": "stopped"}.get(job.state, job.state))


@page
@require_safe
def jobs(request: HttpRequest) -> HttpResponse:
    """The newest jobs that the reader may see."""
    shop: Shop = request.shop  # type: ignore[attr-defined]
    rows = [
        [
            words.code_link(job.title, to("job", job.pk)),
            state_chip(job),
            job.person.name,
            words.instant(job.asked_us, shop.zone, shop.now_us, "near"),
            duration(job.ended_us - job.started_us) if job.ended_us and job.started_us else "",
        ]
        for job in work.seen_by(shop.site, shop.person.pk).order_by("-pk")[:MOST]
    ]
    return render(request, "inventory/jobs.html", {"title": say("Long work"), "columns": COLUMNS, "rows": rows})


@page
@require_safe
def job(request: HttpRequest, number: int) -> HttpResponse:
    """One job. While it is open the page comes anew by itself, unless it is asked to stand still (?still=1)."""
    shop: Shop = request.shop  # type: ignore[attr-defined]
    row = job_of(shop, number)
    result = work.result_of(row)
    context = {
        "title": row.title,
        "job": row,
        "errors": [row.error],
        "chip": state_chip(row),
        "open": row.state in work.OPEN,
        "still": "still" in request.GET,
        "percent": min(100, 100 * row.done // row.total) if row.total else None,
        "may_stop": work.may_stop(row, shop.person.pk),
        "stopping": row.cancel_us is not None and row.state == "running",
        "result_url": to("log", result["log"]) if "log" in result else "",
        "again": again_url(row) if row.state in ("failed", "cancelled") else "",
        "took": duration(row.ended_us - row.started_us) if row.ended_us and row.started_us else "",
    }
    response = render(request, "inventory/job.html", context)
    if row.state in work.OPEN and "still" not in request.GET:
        response.headers["Refresh"] = f"{REFRESH_S}; url={request.path}"
    return response


@page
@require_POST
def cancel(request: HttpRequest, number: int) -> HttpResponse:
    shop: Shop = request.shop  # type: ignore[attr-defined]
    row = job_of(shop, number)
    try:
        messages.info(request, work.cancel(row, shop.person.pk, shop.now_us))
    except Refused as refused:
        messages.warning(request, refused.reasons[0].text)
    return redirect("job", number)


def job_of(shop: Shop, number: int) -> Job:
    found = work.seen_by(shop.site, shop.person.pk).filter(pk=number).first() if number < 2**53 else None
    if found is None:
        raise Http404
    return found


def again_url(row: Job) -> str:
    """The form that asked for it, filled in as it was, with the file that was handed in."""
    said = json.loads(row.params)
    place = Location.objects.filter(pk=said.get("place")).first()
    delivery = Delivery.objects.filter(pk=said.get("delivery")).first()
    probe = Probe.objects.filter(pk=said.get("probe")).first()
    if place is None and delivery is None:
        return ""
    where = {"place": place.code} if place else {"delivery": delivery.number if delivery else ""}
    kept = {"sha": said["file"], "probe": probe.name if probe else "", "column": said["column"], "unit": said["unit"]}
    return to("log-new", **where, **kept)
