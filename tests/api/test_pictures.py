"""Pictures of labels, as a device's camera sends them: what is in them is read, whatever is broken or too large is told."""

from __future__ import annotations

import io
import struct
import zlib
from collections.abc import Callable, Iterator
from typing import Any

import numpy
import pytest
import zxingcpp
from django.core.cache import cache
from django.test import Client
from PIL import Image

from api.pictures import AFew
from inventory.camera import MOST_BYTES, MOST_SIDE, Busy, codes_in
from inventory.core.label_formats import FORMATS
from inventory.core.labels import label
from inventory.core.reading import read
from inventory.models import Act, Device
from inventory.printing.drawn import draw
from inventory.printing.pictures import picture
from tests.api.client import Machine, body, problem, token_for
from tests.core.label_things import ADDRESS, NOW, THINGS, ZONE
from tests.core.labels import GS, GTIN, bracketed
from tests.core.soiled import SOILED
from tests.ledger.bench import Bench, clock

pytestmark = pytest.mark.django_db
ROLL = (("01", GTIN), ("11", "260302"), ("10", "G7"), ("21", "R0007"), ("3112", "010000"))


@pytest.fixture(autouse=True)
def unhurried(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    monkeypatch.setattr(AFew, "rate", "1000/s")
    yield
    cache.clear()


@pytest.fixture
def bench(set_clock: Callable[[int], None]) -> Bench:
    set_clock(clock("08:00"))
    return Bench()


@pytest.fixture
def machine(bench: Bench) -> Machine:
    return Machine(token_for(bench, "Vera"))


def printed(name: str, how: str = "") -> tuple[bytes, str]:
    """A label of ours as a grey JPEG, and what is in its symbol."""
    one = label(THINGS[name], ZONE, NOW, ADDRESS)
    image = picture(draw(one, FORMATS["roll-100x50"]), 203)
    return jpeg(SOILED[how](image) if how else image), one.payload


def jpeg(image: Any, kind: str = "JPEG") -> bytes:
    out = io.BytesIO()
    image.save(out, kind)
    return out.getvalue()


def send(machine: Machine, data: bytes, kind: str = "image/jpeg") -> Any:
    return machine.post("scan/picture/", data, key=None, content_type=kind)


@pytest.mark.parametrize(("name", "symbology"), [("roll", "QRCode"), ("kit", "DataMatrix"), ("place", "DataMatrix")])
def test_our_labels_are_read_as_they_lie(machine: Machine, name: str, symbology: str) -> None:
    acts, devices = Act.objects.count(), Device.objects.count()
    for how in ("", "upside down", "a quarter", "askew", "noisy"):
        data, payload = printed(name, how)
        assert body(send(machine, data)) == {"codes": [{"text": payload, "symbology": symbology}]}, how
    assert (Act.objects.count(), Device.objects.count()) == (acts, devices), "a look records nothing"


def test_a_suppliers_symbol_comes_as_a_scanner_would_send_it_and_is_understood(machine: Machine) -> None:
    made = zxingcpp.create_barcode(bracketed(list(ROLL)), zxingcpp.BarcodeFormat.DataMatrix, gs1=True)
    symbol: Any = made.to_image(scale=4)
    got = body(send(machine, jpeg(Image.fromarray(numpy.array(symbol)), "PNG"), "image/png"))["codes"]
    assert got == [{"text": f"]d201{GTIN}1126030210G7{GS}21R0007{GS}3112010000", "symbology": "DataMatrix"}]
    assert read(got[0]["text"], 2026).facts.lot == "G7"


def test_two_labels_in_sight_are_both_told_and_an_empty_table_is_no_error(machine: Machine) -> None:
    table = Image.new("L", (900, 900), 200)
    assert body(send(machine, jpeg(table))) == {"codes": []}
    for n, name in enumerate(("roll", "pot")):
        table.paste(Image.open(io.BytesIO(printed(name)[0])), (40, 30 + 440 * n))
    texts = {one["text"] for one in body(send(machine, jpeg(table)))["codes"]}
    assert texts == {printed("roll")[1], printed("pot")[1]}


def png(width: int, height: int, rows: bytes = b"") -> bytes:
    """A PNG of one bit a dot whose head says so many dots."""
    parts = ((b"IHDR", struct.pack(">IIBBBBB", width, height, 1, 0, 0, 0, 0)), (b"IDAT", zlib.compress(rows, 9)), (b"IEND", b""))
    chunks = (struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data)) for name, data in parts)
    return b"\x89PNG\r\n\x1a\n" + b"".join(chunks)


WHOLE = printed("roll")[0]
BROKEN = {
    "nothing": (b"", "picture.empty"),
    "words": (b"U-3, please", "picture.form"),
    "another kind": (jpeg(Image.new("L", (90, 90)), "GIF"), "picture.form"),
    "drawn by commands": (b"<svg xmlns='http://www.w3.org/2000/svg'><script/></svg>", "picture.form"),
    "cut off": (WHOLE[: len(WHOLE) // 2], "picture.broken"),
    "the head alone": (WHOLE[:40], "picture"),
    "noise behind a head": (b"\xff\xd8\xff\xe0" + bytes(range(256)) * 20, "picture"),
    "wrong check sum": (png(64, 64, bytes(9 * 64)).replace(b"IDAT", b"IDAT\x07", 1), "picture.broken"),
    "rows missing": (png(1000, 1000, bytes(9)), "picture.broken"),
    "unpacks to fifty megabytes": (png(20_000, 20_000, bytes(2_501 * 20_000)), "picture.pixels"),
    "wide and flat": (png(MOST_SIDE + 1, 1, bytes(400)), "picture.pixels"),
    "no dots at all": (png(0, 0), "picture"),
    "too many bytes": (WHOLE + bytes(MOST_BYTES), "picture.large"),
}


def test_broken_hostile_and_too_large_pictures_are_each_told_and_never_unpacked(machine: Machine) -> None:
    for name, (data, code) in BROKEN.items():
        answer = send(machine, data)
        assert answer.status_code == 400 and body(answer)["code"].startswith(code), (name, answer.content)
        assert body(answer)["title"].endswith("."), name


def test_a_camera_that_sends_too_often_is_told_to_wait(machine: Machine, bench: Bench, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(AFew, "rate", "4/s")
    monkeypatch.setattr(AFew, "timer", lambda self: 1_000.0)
    small = jpeg(Image.new("L", (40, 40), 200))
    assert [send(machine, small).status_code for _ in range(5)] == [200, 200, 200, 200, 429]
    assert int(send(machine, small)["Retry-After"]) >= 1
    assert send(Machine(token_for(bench, "Ines", name="another")), small).status_code == 200


def test_while_others_are_being_read_a_picture_waits_and_is_then_sent_away(machine: Machine, monkeypatch: pytest.MonkeyPatch) -> None:
    from inventory import camera

    monkeypatch.setattr(camera, "WAIT_S", 0.01)
    for _ in range(camera.AT_ONCE):
        camera._turns.acquire()
    try:
        with pytest.raises(Busy):
            codes_in(WHOLE)
        assert problem(send(machine, WHOLE), 429, "slow_down")
    finally:
        camera._turns.release(camera.AT_ONCE)
    assert len(codes_in(WHOLE)) == 1, "what was refused has left no turn behind"


def test_only_who_is_signed_in_has_pictures_read(bench: Bench) -> None:
    problem(send(Machine(), WHOLE), 401, "sign_in.needed")
    problem(send(Machine(token_for(bench, "Ines", scopes="write", name="w")), WHOLE), 403, "scope.missing")
    browser = Client(enforce_csrf_checks=True)
    browser.force_login(bench.yard.user["ines"])
    assert browser.post("/api/scan/picture/", WHOLE, content_type="image/jpeg").status_code == 403, "a page elsewhere has no token"
