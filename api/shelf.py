"""GET /api/shelf/: what a tablet takes along, whole the first time and then by difference.

`since` is the cursor of the answer before. It names the point in the records up to which the tablet knows everything (see
`inventory.reads.frontier`), and a stamp of what all rows share: where a place, a material, a limit or a schedule was edited, the
list begins anew. An answer holds a page; `more` says that the next is to be fetched at once with its cursor. An answer with
`begin` opens a new list, and what was held before goes when its last page is there.
"""

from __future__ import annotations

import base64
import hashlib
import json
from dataclasses import dataclass, replace
from typing import Any

from django.http import HttpResponse
from drf_spectacular.utils import OpenApiParameter, OpenApiResponse, extend_schema
from rest_framework import serializers
from rest_framework.request import Request

from inventory.core.reasons import BadInput, Reason, Refused
from inventory.models import Site
from inventory.reads import shelf
from inventory.reads.frontier import frontier, mark_of, touched_since
from layups.reads import inwork

from .reads import Read, text_param
from .verbs import problems

SIZE = 1000
KINDS = (*shelf.KINDS, inwork.PART)
NOW = "Selvedge-Now"
"""The server's clock in ms, also where nothing has changed: a tablet's own clock is held against it."""


@dataclass(frozen=True, slots=True)
class Cursor:
    """`since` is the point that the tablet knew (−1: nothing), `upto` the one that it will know after the last page, `mark` what
    stands there, `shared` the stamp of what all rows share; `after` is the last id that was told, −1 when all were."""

    since: int
    upto: int
    mark: str
    shared: str
    after: int
    settled: bool = True

    def text(self) -> str:
        plain = f"1.{self.since}.{self.upto}.{self.mark}.{self.shared}.{self.after}"
        return base64.urlsafe_b64encode(plain.encode()).decode().rstrip("=")


def read_cursor(text: str) -> Cursor | None:
    """None for an empty one. BadInput shelf.cursor."""
    if not text:
        return None
    try:
        plain = base64.urlsafe_b64decode(text.encode("ascii") + b"=" * (-len(text) % 4)).decode("ascii")
        version, since, upto, mark, shared, after = plain.split(".")
        found = Cursor(int(since), int(upto), mark, shared, int(after))
    except (ValueError, UnicodeError):
        version, found = "", None
    if found is None or version != "1" or not all(-1 <= n < 2**62 for n in (found.since, found.upto, found.after)):
        raise BadInput("shelf.cursor", "This cursor is not one of ours: leave it out to begin again.", "since")
    return found


def shared(site: int) -> tuple[dict[str, Any], str]:
    """What all rows share, and its stamp."""
    found = {
        "limits": shelf.limits(),
        "materials": shelf.materials(),
        "places": shelf.places(site),
        "designs": inwork.designs(),
        "whole": shelf.whole(),
    }
    text = json.dumps([found, shelf.customers()], sort_keys=True)
    return found, hashlib.sha256(text.encode()).hexdigest()[:8]


def following(site: int, given: Cursor | None, stamp: str) -> Cursor:
    """The cursor of the page that comes next. Raises Refused shelf.busy when the first page finds no point to begin from."""
    if given is not None and (given.shared != stamp or given.mark != mark_of(given.upto)):
        given = None
    if given is not None and given.after >= 0:
        return given
    upto = frontier(site)
    if given is not None and upto is None:  # what is there is told, and told again once the point can move on
        return replace(given, since=given.upto, after=0, settled=False)
    if given is not None and upto is not None and upto >= given.upto:
        return Cursor(given.upto, upto, mark_of(upto), stamp, 0)
    if upto is None:
        raise Refused(Reason("shelf.busy", "A long record is being written just now: ask again in a few seconds.", {}))
    return Cursor(-1, upto, mark_of(upto), stamp, 0)


class ShelfAnswer(serializers.Serializer[Any]):
    cursor = serializers.CharField(help_text="For `since`.")
    more = serializers.BooleanField(help_text="Fetch on with the cursor.")
    begin = serializers.BooleanField(help_text="The first page of a new list.")
    things = serializers.ListField(child=serializers.DictField(), help_text="Things on hand, each whole.")
    parts = serializers.ListField(child=serializers.DictField(), help_text="Parts being made.")
    gone = serializers.ListField(help_text="[code, mark, what became of it] of what is not there any more.")
    shared = serializers.DictField(required=False, help_text="With `begin`: limits, materials, places, schedules.")
    site = serializers.DictField(required=False, help_text="With `begin`: id, name and zone.")


class Shelf(Read):
    @extend_schema(
        operation_id="shelf",
        tags=["reads"],
        parameters=[
            OpenApiParameter("since", str, description="The cursor of the answer before; empty: the whole list."),
            OpenApiParameter("If-None-Match", str, OpenApiParameter.HEADER, description="The ETag of the answer before."),
        ],
        responses={
            200: ShelfAnswer,
            304: OpenApiResponse(description="Nothing was recorded since."),
            **problems(400, 401, 403, 406, 409),
        },
    )
    def get(self, request: Request) -> HttpResponse:
        """What a tablet without a network knows: things on hand and parts being made, by difference. Instants in ms."""
        given = read_cursor(text_param(request, "since", 200))
        tables, stamp = shared(self.who.site)
        cursor = following(self.who.site, given, stamp)
        tag = f'W/"{hashlib.sha256(f"{self.who.site} {given and given.text()} {cursor.text()}".encode()).hexdigest()[:16]}"'
        if cursor.settled and cursor.since == cursor.upto and request.headers.get("If-None-Match") == tag:
            response = HttpResponse(status=304)
        else:
            body = json.dumps(self._page(cursor, tables), ensure_ascii=False, separators=(",", ":"))
            response = HttpResponse(body, content_type="application/json")
        response["ETag"], response["Cache-Control"] = tag, "no-store"
        response[NOW] = str(self.now // 1000)
        return response

    def _page(self, cursor: Cursor, tables: dict[str, Any]) -> dict[str, Any]:
        dirty = None if cursor.since < 0 else touched_since(self.who.site, cursor.since)
        rows = shelf.on_shelf(self.who.site, KINDS, cursor.after, dirty, SIZE + 1) if dirty != set() else []
        more, rows = len(rows) > SIZE, rows[:SIZE]
        working = inwork.parts(rows)
        things = shelf.things([r for r in rows if r.item.kind != inwork.PART], self.who.zone, self.now)
        end = replace(cursor, after=rows[-1].pk if more else -1)
        begin = cursor.since < 0 and cursor.after == 0
        gone = [] if dirty is None or cursor.after else self._gone(dirty)
        page = {"cursor": end.text(), "more": more, "begin": begin, "things": things, "parts": list(working.values()), "gone": gone}
        return page | ({"shared": tables, "site": self._site()} if begin else {})

    def _gone(self, dirty: set[int]) -> list[list[str]]:
        """All of them on the first page of a difference."""
        parts = inwork.parts(shelf.on_shelf(self.who.site, (inwork.PART,), 0, dirty, len(dirty)))
        return shelf.not_there(self.who.site, KINDS, dirty, {*shelf.ids_on_shelf(self.who.site, shelf.KINDS, dirty), *parts})

    def _site(self) -> dict[str, Any]:
        site = Site.objects.get(pk=self.who.site)
        return {"id": site.pk, "name": site.name, "zone": site.zone}
