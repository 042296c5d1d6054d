"""Files that records rest on: handed in as they are, kept by the hash of their bytes, which a verb then names."""

from __future__ import annotations

from collections.abc import Iterator
from typing import IO, Any

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, OpenApiResponse, extend_schema, inline_serializer
from rest_framework import serializers
from rest_framework.parsers import BaseParser
from rest_framework.request import Request
from rest_framework.response import Response

from inventory import attachments
from inventory.clock import now_us
from inventory.core.reasons import BadInput, Reason, Refused
from inventory.models import Attachment, Role
from inventory.verbs.registry import SHOP

from .auth import need_scope, who_of
from .documents import at
from .reads import CURSOR, LIMIT, Read, _answers, _free, text_param
from .verbs import problems

NAME = OpenApiParameter("name", str, required=True, description="The file's name with its ending, such as run-311.csv.")
_FILE = inline_serializer(
    "KeptFile",
    {
        "sha256": serializers.CharField(help_text="What a verb names as its attachment."),
        "name": serializers.CharField(),
        "media_type": serializers.CharField(help_text="What its bytes say."),
        "size": serializers.IntegerField(),
        "stored_at": serializers.CharField(),
    },
)
CHUNK = 65_536


class Bytes(BaseParser):
    """The body as it comes, whatever it is called; what is taken is decided by the bytes."""

    media_type = "*/*"

    def parse(self, stream: IO[bytes], media_type: str | None = None, parser_context: Any = None) -> Any:
        return stream


class Files(Read):
    parser_classes = (Bytes,)

    def initial(self, request: Request, *args: Any, **kwargs: Any) -> None:
        if request.method != "POST":
            super().initial(request, *args, **kwargs)
            return
        super(Read, self).initial(request, *args, **kwargs)
        need_scope(request, "write")
        self.who = who_of(request)
        if not Role.objects.filter(person=self.who.person, role__in=SHOP).exists():
            needs = " or ".join(SHOP)
            raise Refused(Reason("role.not_allowed", f"Handing in files is for {needs}. Ask somebody who has that role.", {"needs": needs}))
        self.now = now_us()

    @extend_schema(operation_id="files", tags=["reads"], parameters=[CURSOR, LIMIT], responses=_answers(_free("FilePage")))
    def get(self, request: Request) -> Response:
        """Files that were handed in, newest first."""
        return self.paged(request, Attachment.objects.filter(person__site=self.who.site), file_doc, newest_first=True)

    @extend_schema(
        operation_id="hand_in_file",
        tags=["verbs"],
        parameters=[NAME],
        request={"application/octet-stream": OpenApiTypes.BINARY},
        responses={(201, "application/json"): OpenApiResponse(_FILE, "Kept."), **problems(400, 401, 403, 406)},
    )
    def post(self, request: Request) -> Response:
        """Hand in a file as the body of the call: PDF, PNG, JPEG, XLSX, CSV or plain text. The same bytes again are the same file, so no
        key is asked for."""
        name = text_param(request, "name", 200)
        if not name:
            raise BadInput("attachment.name", "Say what the file is called, with its ending: ?name=run-311.csv.", "name")
        kept = attachments.keep(_chunks(request.data), name, self.who, self.now)
        return Response(file_doc(kept), status=201)


def _chunks(stream: Any) -> Iterator[bytes]:
    read = getattr(stream, "read", None)  # nothing to read where the body is empty
    while read is not None and (chunk := read(CHUNK)):
        yield chunk


def file_doc(row: Attachment) -> dict[str, Any]:
    return {"sha256": row.sha256, "name": row.name, "media_type": row.media_type, "size": row.size, "stored_at": at(row.stored_us)}
