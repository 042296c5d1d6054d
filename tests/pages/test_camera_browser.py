"""The camera where the browser reads no codes itself: the service's own reader, in the browser, with and without a network.

It is brought by the set-up, from where packages for browsers come; without it these tests cannot run, and `deploy/test` says so."""

from __future__ import annotations

import base64
import io
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import numpy
import pytest
import zxingcpp
from PIL import Image

from inventory.camera import codes_in
from inventory.core.label_formats import FORMATS
from inventory.core.labels import label
from inventory.models import Act
from inventory.printing.drawn import draw
from inventory.printing.pictures import picture
from tests.core.label_things import ADDRESS, NOW, THINGS, ZONE
from tests.core.labels import GS, GTIN, bracketed
from tests.core.soiled import SOILED

from .film import false_camera, on_a_table
from .floor import Floor
from .standing import monday
from .tablet import Hands, Line, Tablet

pytest.importorskip("playwright.sync_api", reason="needs playwright")
pytestmark = [pytest.mark.browser, pytest.mark.camera, pytest.mark.django_db(transaction=True)]
NO_DETECTOR = "delete globalThis.BarcodeDetector"
ROLL = bracketed([("01", GTIN), ("11", "260302"), ("10", "G7"), ("21", "R0007"), ("3112", "010000")])
SAID = f"01{GTIN}1126030210G7{GS}21R0007{GS}3112010000"
KEPT = """async (wanted) => {
  const names = (await caches.keys()).filter((name) => name.startsWith('selvedge-floor-'));
  const requests = await Promise.all(names.map(async (name) => (await caches.open(name)).keys()));
  const kept = requests.flat().map((one) => new URL(one.url).pathname);
  return wanted.every((path) => kept.includes(path));
}"""
WANTED = ["/floor/reader.js", "/static/codes/zxing_reader.js", "/static/codes/zxing_reader.wasm"]


@pytest.fixture
def yard(transactional_db: None) -> Floor:
    return Floor(monday())


@pytest.fixture
def line(live_server: Any) -> Iterator[Line]:
    line = Line(live_server.thread.port)
    yield line
    line.end()


@pytest.fixture
def tablet(yard: Floor, line: Line, chromium: Any, chromium_path: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Tablet]:
    tablet = Tablet(chromium, chromium_path, tmp_path / "tablet", line, Hands(monkeypatch, yard.at))
    tablet.flags = false_camera(on_a_table(yard.site.pk, tablet.hands.us, "C-12", "http://localhost"), tmp_path)
    tablet.start()
    tablet.context.add_init_script(NO_DETECTOR)
    yield tablet
    tablet.kill()
    assert tablet.faults == []


def test_in_the_cold_store_the_camera_of_any_browser_reads_after_a_reload_without_a_network(
    tablet: Tablet, line: Line, yard: Floor
) -> None:
    tablet.clock("08:32")
    tablet.sign_in("bram")
    tablet.page.wait_for_function(KEPT, arg=WANTED, timeout=30_000)
    line.cut()
    tablet.page.reload()
    tablet.ready()
    before = Act.objects.count()
    tablet.page.click("main form[data-scan] >> text=Camera")
    tablet.says("#answer", "C-12")
    tablet.scan("BAY1")
    assert [state for _, state in tablet.noted()] == ["waiting"] and "C-12" in tablet.noted()[0][0]
    assert Act.objects.count() == before
    line.mend()
    tablet.online()
    tablet.states("accepted")
    assert Act.objects.get(kind="move", stance="observed").legs.get().location.code == "BAY1"


def test_on_any_other_page_it_reads_too_and_offers_no_photo_beside(tablet: Tablet, yard: Floor) -> None:
    tablet.sign_in("bram")
    tablet.goto("/")
    tablet.page.evaluate(
        "new MutationObserver(() => { const photo = document.querySelector('dialog.camera .label');"
        " if (photo) sessionStorage.setItem('photo', photo.checkVisibility()); }).observe(document.body, {childList: true, subtree: true})"
    )
    tablet.page.click("main form[data-scan] >> text=Camera")
    tablet.page.wait_for_url("**/i/**")
    assert "C-12" in tablet.page.inner_text("h1")
    assert tablet.page.evaluate("sessionStorage.getItem('photo')") == "false"


def png(image: Any) -> bytes:
    out = io.BytesIO()
    image.save(out, "PNG")
    return out.getvalue()


def symbol(kind: str, text: str, **how: Any) -> Any:
    made: Any = zxingcpp.create_barcode(text, getattr(zxingcpp.BarcodeFormat, kind), **how).to_image(scale=4)
    array = numpy.array(made)
    wide = Image.new("L", (array.shape[1] + 80, max(array.shape[0], 160) + 80), 255)
    wide.paste(Image.fromarray(array), (40, 40))
    return wide


def pictures() -> dict[str, tuple[Any, str]]:
    """name -> (picture, what its symbol says, as GS1's General Specifications and ISO/IEC 15424 have a scanner send it)."""
    found: dict[str, tuple[Any, str]] = {
        "GS1 DataMatrix": (symbol("DataMatrix", ROLL, gs1=True), f"]d2{SAID}"),
        "GS1-128": (symbol("Code128", ROLL, gs1=True), f"]C1{SAID}"),
        "GS1 QR": (symbol("QRCode", ROLL, gs1=True), f"]Q3{SAID}"),
        "Code 128": (symbol("Code128", "LOT 26-031"), "LOT 26-031"),
        "a link in a QR": (symbol("QRCode", f"https://shop.example/01/{GTIN}/10/G7"), f"https://shop.example/01/{GTIN}/10/G7"),
        "umlauts": (symbol("QRCode", "Größe Ø 12 µm"), "Größe Ø 12 µm"),
        "an envelope": (symbol("DataMatrix", f"[)>\x1e06{GS}1TG7{GS}SR0007\x1e\x04"), f"[)>\x1e06{GS}1TG7{GS}SR0007\x1e\x04"),
    }
    for name in ("roll", "kit", "place"):
        one = label(THINGS[name], ZONE, NOW, ADDRESS)
        plain = picture(draw(one, FORMATS["roll-100x50"]), 203)
        found[name] = (plain, one.payload)
        found |= {f"{name}, {how}": (SOILED[how](plain), one.payload) for how in ("upside down", "a quarter", "askew", "noisy")}
    return found


def test_the_reader_in_the_browser_says_what_the_servers_says_of_the_same_pictures(tablet: Tablet) -> None:
    tablet.goto("/floor/")
    tablet.ready()
    read = """async (data) => {
      const { brought } = await import('/static/inventory/js/reader.js');
      const reader = await brought(document, window);
      const file = new Blob([Uint8Array.from(atob(data), (one) => one.charCodeAt(0))], { type: 'image/png' });
      return (await reader.photo(file)).found.map((one) => one.rawValue);
    }"""
    shown = pictures()
    assert len(shown) == 22
    for name, (image, said) in shown.items():
        data = png(image)
        assert [one.text for one in codes_in(data)] == [said], name
        assert tablet.page.evaluate(read, base64.b64encode(data).decode()) == [said], name
    assert tablet.page.evaluate(read, base64.b64encode(png(Image.new("L", (900, 900), 200))).decode()) == []
