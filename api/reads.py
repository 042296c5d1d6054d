"""GET: what the shop knows. Each list is paged by cursor and asks a number of queries that does not grow with its rows."""

from __future__ import annotations

import dataclasses
import json
from typing import Any

from django.db.models import Q, QuerySet
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, extend_schema, inline_serializer
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.views import APIView

from inventory.balance import balance
from inventory.clock import now_us
from inventory.core.reasons import BadInput
from inventory.models import Act, Block, Finding, Item, ItemState, Location, Material, Refusal
from inventory.reads import quality, stock
from inventory.reads.ageing import aged
from inventory.reads.expiring import COLUMNS, expiring
from inventory.reads.needs import needs
from inventory.recording import Who
from inventory.verbs.registry import Call
from inventory.verbs.resolve import item_of

from .auth import need_scope, who_of
from .documents import act_doc, at, item_row, piece_doc, plain, quantity
from .paging import csv_response, cursor_of, page, size_of, wants_csv
from .verbs import problems

CURSOR = OpenApiParameter("cursor", str, description="From the page before.")
LIMIT = OpenApiParameter("limit", int, description="Rows a page, 1 to 500.")
FORMAT = OpenApiParameter("format", str, enum=["json", "csv"])
DAY_US = 86_400_000_000


def _answers(shape: Any, *codes: int, sheet: bool = False) -> dict[Any, Any]:
    """For a description: the answer as JSON (and as CSV, with `sheet`), and the problems."""
    right = {(200, "application/json"): shape, **({(200, "text/csv"): OpenApiTypes.STR} if sheet else {})}
    return {**right, **problems(400, 401, 403, 406, *codes)}


def _free(name: str) -> Any:
    """A page of documents whose fields the text describes."""
    fields: dict[str, Any] = {
        "results": serializers.ListField(child=serializers.DictField()),
        "next": serializers.CharField(allow_null=True),
    }
    return inline_serializer(name, fields)


def text_param(request: Request, name: str, most: int = 80) -> str:
    text = request.query_params.get(name, "")
    if len(text) > most or "\x00" in text or any(0xD800 <= ord(ch) < 0xE000 for ch in text):
        raise BadInput("query.form", f"“{name}” cannot be read.", name)
    return text.strip()


def yes_param(request: Request, name: str) -> bool:
    """Whether a filter is asked for. BadInput query.yes: any other word than yes, which might mean that it is not."""
    text = text_param(request, name)
    if text not in ("", "yes"):
        raise BadInput("query.yes", f"“{name}” is yes, or it is left out.", name)
    return text == "yes"


class Read(APIView):
    """A read. `who` and `now` are set before the method runs."""

    who: Who
    now: int

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        super().initial(request, *args, **kwargs)
        need_scope(request, "read")
        self.who, self.now = who_of(request), now_us()

    def item(self, code: str) -> Item:
        if "\x00" in code or len(code) > 200:
            raise BadInput("code.unknown", "Nothing here has this code or mark.", "path")
        call = Call(self.who, self.now, None)  # type: ignore[arg-type]
        try:
            return item_of(call, code)
        except BadInput as bad:
            raise BadInput("code.unknown", bad.reason.text, "path") from None

    def paged(self, request: Request, rows: QuerySet[Any], shape: Any, newest_first: bool = False) -> Response:
        size, start = size_of(request), cursor_of(request)
        if start is not None:
            rows = rows.filter(pk__lt=start) if newest_first else rows.filter(pk__gt=start)
        found = list(rows.order_by("-pk" if newest_first else "pk")[: size + 1])
        return page(request, [shape(r) for r in found], [r.pk for r in found], size)


class Items(Read):
    @extend_schema(
        operation_id="items",
        tags=["reads"],
        parameters=[
            CURSOR,
            LIMIT,
            FORMAT,
            *(OpenApiParameter(n, str) for n in ("material", "kind", "place", "lot", "q")),
            OpenApiParameter("usable", str, enum=["yes"]),
        ],
        responses=_answers(_free("ItemPage"), sheet=True),
    )
    def get(self, request: Request) -> Any:
        """Things with their state, judged now."""
        rows = ItemState.objects.filter(item__site=self.who.site).select_related(
            "item__material", "item__owner", "item__lot__batch", "location"
        )
        for name, lookup in (("material", "item__material__code__iexact"), ("kind", "item__kind"), ("place", "location__code__iexact")):
            if value := text_param(request, name):
                rows = rows.filter(**{lookup: value})
        if lot := text_param(request, "lot"):
            rows = rows.filter(item__lot__batch__number__iexact=lot)
        if q := text_param(request, "q"):
            rows = rows.filter(Q(item__mark__icontains=q) | Q(item__code__iexact=q))
        if yes_param(request, "usable"):
            rows = rows.filter(gone="", qty__gt=0)
        size, start = size_of(request), cursor_of(request)
        if start is not None:
            rows = rows.filter(pk__gt=start)
        states = list(rows.order_by("pk")[: size + 1])
        docs = [piece_doc(p) for p in stock.pieces(states[:size], self.who.zone, self.now)]
        if yes_param(request, "usable"):
            docs = [d for d in docs if d["fit"]]
        if wants_csv(request):
            columns = ("code", "mark", "kind", "material", "lot", "owner", "place", "ends_at", "fit")
            rows_ = [[*(d[c] for c in columns), d["quantity"]["text"], "; ".join(r["text"] for r in d["against"])] for d in docs]
            return csv_response("items", [*columns, "quantity", "against"], rows_)
        more = len(states) > size
        from .paging import cursor

        return Response({"results": docs, "next": cursor(states[size - 1].pk) if more else None})


class OneItem(Read):
    @extend_schema(operation_id="item", tags=["reads"], responses=_answers(OpenApiTypes.OBJECT, 404))
    def get(self, request: Request, code: str) -> Response:
        """One thing: state, every life limit, holds, and its history (newest first, at most 200 records)."""
        item = self.item(code)
        rows = list(ItemState.objects.filter(pk=item.pk).select_related("item__material", "item__owner", "item__lot__batch", "location"))
        doc = piece_doc(p := stock.pieces(rows, self.who.zone, self.now)[0]) if rows else item_row(item)
        from .documents import reading_doc

        doc["life"] = [reading_doc(r) for r in p.readings] if rows else []
        if rows and (by_warmth := aged(item, self.now)) is not None:
            doc["weighted_by_temperature"] = dataclasses.asdict(by_warmth) | {"text": by_warmth.text}
        doc["further_codes"] = list(item.further_codes.values_list("code", flat=True))
        doc["history"] = [
            {
                **act_doc(h["act"]),  # type: ignore[arg-type]
                "change": quantity(h["leg"].delta, item.unit),  # type: ignore[attr-defined]
                "counted": h["leg"].counted,  # type: ignore[attr-defined]
                "place": h["place"].code if h["place"] else None,  # type: ignore[attr-defined]
                "voided_by": h["void"].pk if h["void"] else None,  # type: ignore[attr-defined]
            }
            for h in stock.history(item.pk)
        ]
        return Response(doc)


class LotBalance(Read):
    @extend_schema(operation_id="lot_balance", tags=["reads"], responses=_answers(OpenApiTypes.OBJECT, 404))
    def get(self, request: Request, code: str) -> Response:
        """The mass balance of the lot that this thing is of: received = on hand + used + scrapped + returned + sold ± adjusted."""
        item = self.item(code)
        lot = item.pk if item.kind == "lot" else item.lot_id
        if lot is None:
            raise BadInput("balance.no_lot", f"{item} is of no single lot: ask for its trace.", "path")
        return Response(plain(balance(lot)))


class Materials(Read):
    @extend_schema(operation_id="materials", tags=["reads"], parameters=[CURSOR, LIMIT], responses=_answers(_free("MaterialPage")))
    def get(self, request: Request) -> Response:
        def shape(m: Material) -> dict[str, Any]:
            return {
                "code": m.code,
                "name": m.name,
                "kind": m.kind,
                "unit": m.unit,
                "hazard": m.hazard,
                "family": m.family,
                "grade": m.grade,
            }

        return self.paged(request, Material.objects.all(), shape)


class Places(Read):
    @extend_schema(operation_id="places", tags=["reads"], parameters=[CURSOR, LIMIT], responses=_answers(_free("PlacePage")))
    def get(self, request: Request) -> Response:
        def shape(p: Location) -> dict[str, Any]:
            band = {"low_mc": p.storage.low_mc, "high_mc": p.storage.high_mc}
            return {"code": p.code, "name": p.name, "kind": p.kind, "accepts": p.accepts.split(), "refuses": p.refuses.split(), **band}

        return self.paged(request, Location.objects.filter(site=self.who.site, retired_us__isnull=True).select_related("storage"), shape)


class Acts(Read):
    @extend_schema(
        operation_id="acts",
        tags=["reads"],
        parameters=[CURSOR, LIMIT, OpenApiParameter("kind", str), OpenApiParameter("person", str)],
        responses=_answers(_free("ActPage")),
    )
    def get(self, request: Request) -> Response:
        """The record, newest first."""
        rows = Act.objects.filter(site=self.who.site).select_related("person", "device")
        if kind := text_param(request, "kind"):
            rows = rows.filter(kind=kind)
        if person := text_param(request, "person"):
            rows = rows.filter(person__name__iexact=person)
        return self.paged(request, rows, lambda a: act_doc(a, json.loads(a.body)), newest_first=True)


class Refusals(Read):
    @extend_schema(operation_id="refusals", tags=["reads"], parameters=[CURSOR, LIMIT], responses=_answers(_free("RefusalPage")))
    def get(self, request: Request) -> Response:
        """What was refused, newest first, with every reason."""

        def shape(r: Refusal) -> dict[str, Any]:
            reasons = [{"code": c, "text": t, "numbers": n} for c, t, n in json.loads(r.reasons)]
            who = r.person.name if r.person else None
            return {"id": r.pk, "at": at(r.at_us), "person": who, "verb": r.verb, "said": json.loads(r.body), "reasons": reasons}

        return self.paged(request, Refusal.objects.filter(site=self.who.site).select_related("person"), shape, newest_first=True)


class Findings(Read):
    @extend_schema(operation_id="findings", tags=["reads"], responses=_answers(OpenApiTypes.OBJECT))
    def get(self, request: Request) -> Response:
        """Quality's inbox: what waits, open nonconformances by cause, holds, approvals."""
        return Response(plain(quality.inbox(self.who.site)))


class OpenFindings(Read):
    @extend_schema(operation_id="open_findings", tags=["reads"], parameters=[CURSOR, LIMIT], responses=_answers(_free("FindingPage")))
    def get(self, request: Request) -> Response:
        """Records that broke a rule and wait for a disposition."""

        def shape(f: Finding) -> dict[str, Any]:
            cause = f.nonconformance.cause
            return {"id": f.pk, "item": item_row(f.item), "cause": item_row(cause), "code": f.code, "text": f.text, "at": at(f.at_us)}

        rows = Finding.objects.filter(item__site=self.who.site, closed_us__isnull=True).select_related(
            "item__material", "item__owner", "item__lot__batch", "nonconformance__cause__material", "nonconformance__cause__owner",
            "nonconformance__cause__lot__batch",
        )  # fmt: skip
        return self.paged(request, rows, shape)


class Holds(Read):
    @extend_schema(operation_id="holds", tags=["reads"], parameters=[CURSOR, LIMIT], responses=_answers(_free("HoldPage")))
    def get(self, request: Request) -> Response:
        """Open blocks: arrivals that wait for release, holds, recalls."""

        def shape(b: Block) -> dict[str, Any]:
            return {"id": b.pk, "item": item_row(b.item), "why": b.why, "text": b.text, "from": at(b.from_us), "by": b.opened.person.name}

        rows = Block.objects.filter(site=self.who.site, to_us__isnull=True)
        return self.paged(request, rows.select_related("item__material", "item__owner", "item__lot__batch", "opened__person"), shape)


class Expiring(Read):
    @extend_schema(
        operation_id="expiring",
        tags=["reads"],
        parameters=[OpenApiParameter("days", int, description="0 to 3650"), LIMIT, FORMAT],
        responses=_answers(_free("ExpiringPage"), sheet=True),
    )
    def get(self, request: Request) -> Any:
        """What is over or ends within so many days, soonest first."""
        text = request.query_params.get("days", "7")
        if not text.isascii() or not text.isdecimal() or int(text[:6]) > 3650:
            raise BadInput("query.days", "days is a whole number from 0 to 3650.", "days")
        rows = expiring(self.who.site, self.now + int(text) * DAY_US, size_of(request))
        if wants_csv(request):
            return csv_response("expiring", COLUMNS, rows)
        return Response({"results": [{**dict(zip(COLUMNS, r, strict=True)), "ends_at": at(r[8])} for r in rows], "next": None})


class Usable(Read):
    @extend_schema(operation_id="usable", tags=["reads"], parameters=[FORMAT], responses=_answers(_free("UsablePage"), sheet=True))
    def get(self, request: Request) -> Any:
        """How much usable stock of each material there is, on order, and whether to buy."""
        sums = stock.usable_now(self.who.site, self.who.zone, self.now)
        names = ("usable", "thawing", "blocked", "over", "owned_by_others", "on_order")
        if wants_csv(request):
            return csv_response(
                "usable", ["material", "unit", *names], [[s.material.code, s.material.unit, *(getattr(s, n) for n in names)] for s in sums]
            )
        docs = [
            {
                "material": s.material.code,
                **{n: quantity(getattr(s, n), s.material.unit) for n in names},
                "due_on": str(s.due_on) if s.due_on else None,
                "to_buy": s.to_buy,
            }
            for s in sums
        ]
        return Response({"results": docs, "next": None})


class Needs(Read):
    @extend_schema(operation_id="needs", tags=["reads"], responses=_answers(_free("NeedPage")))
    def get(self, request: Request) -> Response:
        """What needs the caller's roles, most urgent first: computed from the records now, whatever jobs have run."""
        from inventory.models import Role

        roles = Role.objects.filter(person=self.who.person).values_list("role", flat=True)
        return Response({"results": plain(needs(self.who.site, self.who.zone, self.now, list(roles))), "next": None})
