"""Temperature logs and long work for machines: hand a log in, look how far its reading is, see what it says."""

from __future__ import annotations

import dataclasses
import json
from typing import Any

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, OpenApiResponse, extend_schema
from rest_framework.request import Request
from rest_framework.response import Response

from inventory import attachments, jobs
from inventory.core.reasons import BadInput
from inventory.core.tlog import MOST_TEXT
from inventory.models import Job, TemperatureLog
from inventory.reads import logs as reads
from inventory.verbs.loggers import TakeLog
from inventory.verbs.registry import VERBS, perform

from .auth import need_scope
from .documents import at
from .reads import CURSOR, LIMIT, Read, _answers, _free, text_param
from .shapes import StrictSerializer, StrictText, serializer_of
from .verbs import PROBLEMS, ReceiptSerializer, call_of, problems, receipt_doc

KEY = OpenApiParameter("Idempotency-Key", str, OpenApiParameter.HEADER, required=True, description="A UUID of the sender's.")


def _body() -> type[StrictSerializer]:
    """What `take_log` takes, with the file's text in the place of its hash."""
    fields: dict[str, Any] = dict(serializer_of(TakeLog)().get_fields())
    del fields["file"]
    about = f"The file as text, at most {MOST_TEXT // 1_000_000} MB."
    fields["text"] = StrictText(max_length=MOST_TEXT, trim_whitespace=False, help_text=about)
    fields["name"] = StrictText(required=False, default="log.csv", max_length=120, help_text="The file's name; it ends in .csv or .txt.")
    return type("LogText", (StrictSerializer,), {**fields, "__doc__": TakeLog.__doc__})


LogText = _body()


def job_doc(job: Job) -> dict[str, Any]:
    return {
        "id": job.pk,
        "kind": job.kind,
        "title": job.title,
        "state": job.state,
        "done": job.done,
        "total": job.total,
        "person": job.person.name,
        "asked_at": at(job.asked_us),
        "started_at": at(job.started_us),
        "ended_at": at(job.ended_us),
        "cancel_asked_at": at(job.cancel_us),
        "result": jobs.result_of(job),
        "error": job.error or None,
    }


class Jobs(Read):
    @extend_schema(operation_id="jobs", tags=["long work"], parameters=[CURSOR, LIMIT], responses=_answers(_free("JobPage")))
    def get(self, request: Request) -> Response:
        """Long work: the caller's own; all of it for quality, owner and auditor. Newest first."""
        return self.paged(request, jobs.seen_by(self.who.site, self.who.person), job_doc, newest_first=True)


def _number(text: str) -> int:
    if not text.isascii() or not text.isdecimal() or len(text) > 15:
        raise BadInput("code.unknown", "There is no such number here.", "path")
    return int(text)


class JobRead(Read):
    def job(self, number: str) -> Job:
        found = jobs.seen_by(self.who.site, self.who.person).filter(pk=_number(number)).first()
        if found is None:
            raise BadInput("code.unknown", "There is no such job that you may see.", "path")
        return found


class OneJob(JobRead):
    @extend_schema(operation_id="job", tags=["long work"], responses=_answers(OpenApiTypes.OBJECT, 404))
    def get(self, request: Request, job: str) -> Response:
        """How far it is, and what came of it: `state` is waiting, running, done, failed or cancelled."""
        return Response(job_doc(self.job(job)))


class CancelJob(JobRead):
    @extend_schema(
        operation_id="job_cancel", tags=["long work"], request=None,
        responses={200: OpenApiTypes.OBJECT, **problems(400, 401, 403, 404, 406, 409, 415)},
    )  # fmt: skip
    def post(self, request: Request, job: str) -> Response:
        """Stop it: at once while it waits, else at its next step. Nothing of it is kept. Once it is over nothing happens."""
        need_scope(request, "write")
        found = self.job(job)
        jobs.cancel(found, self.who.person, self.now)
        return Response(job_doc(self.job(job)))


class Logs(Read):
    most_body = 2 * MOST_TEXT + 100_000  # in JSON a sign may take several bytes

    @extend_schema(
        operation_id="logs", tags=["temperature logs"],
        parameters=[CURSOR, LIMIT, *(OpenApiParameter(n, str) for n in ("place", "delivery", "probe"))],
        responses=_answers(_free("LogPage")),
    )  # fmt: skip
    def get(self, request: Request) -> Response:
        """Temperature logs of places and deliveries, newest first."""
        rows = TemperatureLog.objects.filter(site=self.who.site)
        for name, lookup in (("place", "location__code"), ("delivery", "delivery__number"), ("probe", "probe__name")):
            if value := text_param(request, name):
                rows = rows.filter(**{f"{lookup}__iexact": value})
        rows = rows.select_related("probe", "location", "delivery", "person", "withdrawn")
        return self.paged(request, rows, log_doc, newest_first=True)

    @extend_schema(
        operation_id="log_new", tags=["temperature logs"], parameters=[KEY], request=LogText,
        description=f"Hand in a log as text. A job reads it: its number is in `data`. For: {', '.join(VERBS['take_log'].roles)}.",
        responses={200: OpenApiResponse(ReceiptSerializer, "Taken; a job reads it."), **problems(*PROBLEMS)},
    )  # fmt: skip
    def post(self, request: Request) -> Response:
        need_scope(request, "write")
        serializer = LogText(data=request.data)
        serializer.is_valid(raise_exception=True)
        values = dict(serializer.validated_data)
        text, name = values.pop("text"), values.pop("name")
        call = call_of(request, values)
        unread = TakeLog("", **values)
        if not set(VERBS["take_log"].roles) & jobs.roles_of(call.who.person):
            perform("take_log", call, unread)  # says why not, and leaves the trace
        file = attachments.keep([text.encode()], name, call.who, call.now_us)
        return Response(receipt_doc(perform("take_log", call, dataclasses.replace(unread, file=file.sha256))))


class OneLog(Read):
    @extend_schema(operation_id="log", tags=["temperature logs"], responses=_answers(OpenApiTypes.OBJECT, 404))
    def get(self, request: Request, log: str) -> Response:
        """What it says, above which lines it was and for how long, and what stands against using it."""
        rows = TemperatureLog.objects.select_related("probe", "location__storage", "delivery__material", "person", "withdrawn")
        found = rows.filter(site=self.who.site, pk=_number(log)).first()
        if found is None:
            raise BadInput("code.unknown", "There is no such log.", "path")
        view = reads.view(found, self.who.zone)
        more = {
            "found": json.loads(found.doc),
            "not_evidence": view.no_evidence or None,
            "lines": [
                {"mc": line.mc, "whose": line.whose, "charges": line.charges, "above_us": view.above_us[line.mc]} for line in view.lines
            ],
            "too_warm": [warm_doc(w) for w in view.warm],
            "too_warm_not_listed": view.further,
        }
        return Response(log_doc(found) | more)


def warm_doc(w: reads.Warm) -> dict[str, Any]:
    e = w.excursion
    span = {"from": at(e.start_us), "to": at(e.end_us), "from_us": e.start_us, "to_us": e.end_us, "warmest_mc": e.peak_mc}
    return {**span, "line_mc": w.line.mc, "touches": w.touches, "charge_by_this_line": w.lowest, "record": w.record}


def log_doc(log: TemperatureLog) -> dict[str, Any]:
    return {
        "id": log.pk,
        "probe": log.probe.name,
        "measures": log.measures,
        "place": log.location.code if log.location else None,
        "delivery": log.delivery.number if log.delivery else None,
        "name": log.name,
        "sha256": log.sha256,
        "first_at": at(log.first_us),
        "last_at": at(log.last_us),
        "readings": log.readings,
        "known_us": log.known_us,
        "least_mc": log.least_mc,
        "most_mc": log.most_mc,
        "mean_mc": log.mean_mc,
        "kinetic_mc": log.kinetic_mc,
        "taken_by": log.person.name,
        "taken_at": at(log.recorded_us),
        "withdrawn": log.withdrawn.reason if hasattr(log, "withdrawn") else None,
    }
