"""The file that a decision rests on: kept with its record, known by its bytes, and never the cause of lost words."""

from __future__ import annotations

import hashlib
import json
import re
from pathlib import Path
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile

from inventory.models import Act, Attachment

from .floor import Browser, Clock, Floor, Page, arrive, clock, floor, made_floor, signed
from .test_quality_decisions import accept

pytestmark = pytest.mark.django_db
__all__ = ["clock", "floor", "made_floor"]
PDF = b"%PDF-1.7\n1 0 obj\n<<>>\nendobj\ntrailer\n%%EOF\n"
SHA = hashlib.sha256(PDF).hexdigest()


@pytest.fixture
def odile(floor: Floor, clock: Clock, settings: Any, tmp_path: Path) -> Browser:
    settings.MEDIA_ROOT = tmp_path / "uploads"
    settings.SELVEDGE_MAX_UPLOAD = 10_000
    arrive(floor)
    clock(0, "09:01")
    return Browser(floor, "Odile")


def pdf(name: str = "panel 7.pdf", data: bytes = PDF) -> SimpleUploadedFile:
    return SimpleUploadedFile(name, data, "application/octet-stream")


def body(kind: str) -> dict[str, Any]:
    found = Act.objects.filter(kind=kind).order_by("pk").last()
    assert found is not None
    return json.loads(found.body) | {"pk": found.pk}


def value(page: Page, name: str) -> str:
    found = re.search(rf'<input[^>]*name="{name}"[^>]*value="([^"]*)"', page.source)
    return found[1] if found else ""


DECISIONS = [
    ("release", "release", {"items": "T-7", "evidence": "panel test"}, "T-7"),
    ("decide", "dispose", {"item": "T-8", "meaning": "use_as_is", "reference": "DA-7"}, "T-8"),
    ("extend", "extend_ask", {"item": "FA-9-2", "months": "3", "value": "24.1 MPa", "sample": "FA-9-2"}, "FA-9-2"),
]


@pytest.mark.parametrize(("slug", "kind", "said", "thing"), DECISIONS, ids=[d[0] for d in DECISIONS])
def test_the_file_is_kept_with_the_record_and_with_the_thing(
    floor: Floor, clock: Clock, odile: Browser, slug: str, kind: str, said: dict[str, str], thing: str
) -> None:
    accept(floor, clock, odile)
    assert 'enctype="multipart/form-data"' in odile.get(f"/quality/{slug}/").source
    done = signed(odile, f"/quality/{slug}/", said | {"file": pdf()})
    assert done.status == 200, done.text
    record = body(kind)
    assert record["file"] == [SHA, "panel 7.pdf"]
    file = Attachment.objects.get(sha256=SHA)
    assert (file.media_type, file.size, file.item.mark if file.item else "") == ("application/pdf", len(PDF), thing)
    page = odile.get(f"/records/{record['pk']}/")
    assert "panel 7.pdf" in page.text and SHA in page.text and f"/files/{file.pk}/" in page.links()
    assert b"".join(odile.client.get(f"/files/{file.pk}/").streaming_content) == PDF  # type: ignore[attr-defined]


@pytest.mark.parametrize(
    ("file", "words"),
    [
        (pdf(data=PDF * 400), "larger than"),
        (pdf("panel.exe", b"MZ\x90\x00\x03" + b"\0" * 60), "This kind of file is not taken"),
        (pdf("panel.png"), "it is PDF"),
        (pdf("empty.pdf", b""), "empty"),
    ],
    ids=["too large", "a program", "not what it is called", "empty"],
)
@pytest.mark.parametrize("slug", ["release", "decide", "extend"])
def test_a_file_that_is_not_taken_is_told_beside_its_field_and_nothing_typed_is_lost(
    floor: Floor, clock: Clock, odile: Browser, slug: str, file: SimpleUploadedFile, words: str
) -> None:
    accept(floor, clock, odile)
    before = Act.objects.count()
    said = next(d[2] for d in DECISIONS if d[0] == slug) | {"reason": "as the customer wishes"}
    file.seek(0)
    page = signed(odile, f"/quality/{slug}/", said | {"file": file})
    assert page.status == 422 and words in page.text
    assert "as the customer wishes" in page.source and all(text in page.source for text in said.values())
    assert Act.objects.count() == before and not Attachment.objects.exists()


def test_after_a_wrong_password_the_file_need_not_be_chosen_again(floor: Floor, clock: Clock, odile: Browser) -> None:
    accept(floor, clock, odile)
    page = signed(odile, "/quality/release/", {"items": "T-7", "file": pdf()}, password="copper-kettle-14")
    assert page.status == 403 and "panel 7.pdf is kept already" in page.text and value(page, "attachment") == SHA
    signed(odile, "/quality/release/", {"items": "T-7", "attachment": SHA})
    assert body("release")["file"] == [SHA, "panel 7.pdf"]


def test_a_hash_that_nobody_handed_in_is_told(floor: Floor, clock: Clock, odile: Browser) -> None:
    accept(floor, clock, odile)
    page = signed(odile, "/quality/release/", {"items": "T-7", "attachment": "0" * 64})
    assert page.status == 422 and "hand it in first" in page.text
    assert not Act.objects.filter(kind="release", legs__item__mark="T-7").exists()


def test_who_may_not_decide_hands_in_nothing(floor: Floor, clock: Clock, odile: Browser) -> None:
    page = signed(Browser(floor, "Bram"), "/quality/release/", {"items": "T-7", "file": pdf()})
    assert page.status in (403, 409) and "role.not_allowed" in page.reasons and not Attachment.objects.exists()
