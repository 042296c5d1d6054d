"""The floor page in a real browser, against the service on a real port: the line is cut in the middle of a queue, answers are lost, the
page is loaded again, the browser is killed. Then everything goes out: nothing is lost, nothing counts twice."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from inventory.models import Act, ItemState
from inventory.verbs.moving import Move, Open
from layups.demo import fixture
from layups.demo.master import build_master
from layups.verbs.laying import Lay

from .floor import NOW, PASSWORD, Floor
from .tablet import Hands, Line, Tablet

pytest.importorskip("playwright.sync_api", reason="needs playwright")
pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def yard(transactional_db: None) -> Floor:
    """Bram's Monday as it stands at 08:30: U-3 is back in the freezer, T-2 is open, plies 1 to 6 are filled."""
    yard = build_master(NOW, PASSWORD, tack_from_start=False)
    fixture.build(yard, NOW)
    floor = Floor(yard)
    floor.do(floor.at(0, "07:40"), "Ines", "move", Move("U-3", "F1"))
    floor.do(floor.at(0, "08:16"), "Bram", "lay", Lay("K-31", "RUD-073", dry=True))
    floor.do(floor.at(0, "08:20"), "Ines", "open", Open("T-2", True))
    return floor


@pytest.fixture
def line(live_server: Any) -> Iterator[Line]:
    line = Line(live_server.thread.port)
    yield line
    line.end()


@pytest.fixture
def tablet(yard: Floor, line: Line, chromium: Any, chromium_path: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Tablet]:
    tablet = Tablet(chromium, chromium_path, tmp_path / "tablet", line, Hands(monkeypatch, yard.at))
    tablet.start()
    yield tablet
    tablet.kill()
    assert tablet.faults == []


def qty(mark: str) -> int:
    return ItemState.objects.get(item__mark=mark).qty


def test_b6_and_b7_a_ply_and_the_film_are_noted_without_a_network_and_each_counts_once(tablet: Tablet, line: Line, yard: Floor) -> None:
    tablet.clock("08:32")
    tablet.sign_in("bram")
    tablet.scan("RUD-073")
    assert "0.85 m of T-2 into ply 7 of RUD-073" in tablet.scan(yard.label("T-2"))
    tablet.press("Note it")
    tablet.states("accepted")
    assert qty("T-2") == 23_750_000
    line.cut()
    tablet.clock("08:34")
    said = tablet.scan(yard.label("T-2"))
    assert "Yes 0.85 m of T-2 into ply 8 of RUD-073" in said and "22.90 m left (stock as of 08:32)" in said
    tablet.press("Note it")
    tablet.says("#net", "No network")
    said = tablet.scan(yard.label("U-3"))
    assert said.startswith("■ No") and "Frozen: 8 h thaw, 16:34 if taken out now" in said
    assert {"block.quality", "life.over", "life.too_short", "thaw.frozen"} <= set(tablet.reasons())
    tablet.clock("08:40")
    said = tablet.scan(yard.label("FK-12"))
    assert "Yes" in said and "last day today" in said
    tablet.press("Bag dry: note it")
    tablet.page.reload()
    tablet.ready()
    tablet.says("#as-of", "List as of 08:32, 8 min ago")
    assert [state for _, state in tablet.noted()] == ["accepted", "waiting", "waiting"] and qty("T-2") == 23_750_000
    line.mend()
    tablet.clock("08:45")
    tablet.page.evaluate("window.dispatchEvent(new Event('online'))")
    tablet.states("accepted", "accepted", "accepted")
    assert qty("T-2") == 22_900_000 and qty("FK-12") == 0
    acts = list(Act.objects.filter(kind="lay", recorded_us=yard.at(0, "08:45")).order_by("happened_us"))
    assert [a.happened_us for a in acts] == [yard.at(0, "08:34"), yard.at(0, "08:40")]
    assert {a.person.name for a in acts} == {"Bram"} and {a.stance for a in acts} == {"observed"}
    said = tablet.page.inner_text("#notes")
    assert "scanned 08:34, arrived 08:45" in said and "scanned 08:40, arrived 08:45" in said


def test_an_answer_that_is_lost_a_reload_and_a_killed_browser_lose_nothing_and_count_nothing_twice(
    tablet: Tablet, line: Line, yard: Floor
) -> None:
    tablet.clock("08:32")
    tablet.sign_in("bram")
    line.cut()
    for place in ("BAY1", "RACK"):
        tablet.scan(yard.label("C-12"))
        tablet.scan(place)
    line.mend()
    line.swallow("POST /api/replay/")
    tablet.page.evaluate("window.dispatchEvent(new Event('online'))")
    assert line.swallowed.wait(20), "the service has it, and the tablet does not know"
    moves = Act.objects.filter(kind="move", stance="observed")
    assert moves.count() == 2
    tablet.says("#net", "No network")
    assert [s for _, s in tablet.noted()] == ["waiting", "waiting"]
    tablet.scan(yard.label("C-13"))
    tablet.scan("BAY1")
    tablet.page.reload()
    tablet.ready()
    assert len(tablet.noted()) == 3
    tablet.scan(yard.label("C-13"))
    tablet.scan("RACK")
    tablet.kill()
    tablet.start()
    tablet.goto("/floor/")
    tablet.ready()
    assert [s for _, s in tablet.noted()] == ["waiting"] * 4, "the page opens without a network, with all that was noted"
    line.mend()
    tablet.clock("09:00")
    tablet.page.evaluate("window.dispatchEvent(new Event('online'))")
    tablet.page.wait_for_function("() => /Not signed in|●/.test(document.querySelector('#net').textContent)")
    if "Not signed in" in tablet.page.inner_text("#net"):
        assert "Sign in to send what waits" in tablet.page.inner_text("#care")
        tablet.sign_in("bram")
    tablet.states("accepted", "accepted", "accepted", "accepted")
    assert moves.count() == 4
    assert [a.legs.get().location.code for a in moves.order_by("happened_us", "device_seq")] == ["BAY1", "RACK", "BAY1", "RACK"]
