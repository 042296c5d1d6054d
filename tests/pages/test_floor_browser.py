"""The floor page in a real browser, against the service on a real port: the line is cut in the middle of a queue, answers are lost, the
page is loaded again, the browser is killed. Then everything goes out: nothing is lost, nothing counts twice. A builder's hour without a
network, with plies and verdicts, is part of `test_browser_day_builder`."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from inventory.core.units import display
from inventory.models import Act, ItemState, Person
from inventory.verbs.moving import Move, Open
from layups.verbs.laying import Lay

from .floor import PASSWORD, Floor
from .standing import monday
from .tablet import Hands, Line, Tablet

pytest.importorskip("playwright.sync_api", reason="needs playwright")
pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]


@pytest.fixture
def yard(transactional_db: None) -> Floor:
    """Bram's Monday as it stands at 08:30: U-3 is back in the freezer, T-2 is open, plies 1 to 6 are filled."""
    floor = Floor(monday())
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
    tablet.online()
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
    tablet.online()
    tablet.page.wait_for_function("() => /Not signed in|●/.test(document.querySelector('#net').textContent)")
    if "Not signed in" in tablet.page.inner_text("#net"):
        assert "Sign in to send what waits" in tablet.page.inner_text("#care")
        tablet.sign_in("bram")
    tablet.states("accepted", "accepted", "accepted", "accepted")
    assert moves.count() == 4
    assert [a.legs.get().location.code for a in moves.order_by("happened_us", "device_seq")] == ["BAY1", "RACK", "BAY1", "RACK"]


def test_two_people_share_a_tablet_without_a_network_and_each_has_their_own_records(tablet: Tablet, line: Line, yard: Floor) -> None:
    tablet.sign_in("bram")
    assert "Tove: the next records carry this name" in wait_for(tablet, yard.yard.badge["Tove"], "Tove")
    line.cut()
    tablet.scan(yard.label("C-12"))
    tablet.scan("BAY1")
    assert "not known on this tablet" in wait_for(tablet, yard.yard.badge["Odile"], "not known"), "she never showed it here"
    assert tablet.page.inner_text("#who") == "Tove"
    line.mend()
    wait_for(tablet, yard.yard.badge["Odile"], "Odile:")
    wait_for(tablet, yard.yard.badge["Tove"], "Tove:")
    tablet.states("accepted")
    line.cut()
    tablet.clock("08:50")
    wait_for(tablet, yard.yard.badge["Odile"], "Odile:")
    tablet.scan(yard.label("C-13"))
    tablet.scan("BAY1")
    wait_for(tablet, yard.yard.badge["Tove"], "Tove:")
    tablet.scan(yard.label("C-13"))
    tablet.scan("RACK")
    line.mend()
    tablet.clock("09:00")
    tablet.online()
    tablet.states("accepted", "accepted", "accepted")
    acts = Act.objects.filter(stance="observed", kind="move").order_by("pk")
    assert [(a.person.name, a.user.username) for a in acts if a.user] == [("Tove", "bram"), ("Odile", "bram"), ("Tove", "bram")]
    kept = tablet.page.evaluate(KEPT)
    assert not [badge for badge in yard.yard.badge.values() if badge in kept] and PASSWORD not in kept


def test_amounts_follow_the_units_of_whoever_holds_the_tablet_also_without_a_network(tablet: Tablet, line: Line, yard: Floor) -> None:
    """Bram reads US units, Tove metric. An international yard is 0.9144 m (NIST SP 811, appendix B)."""
    Person.objects.filter(name="Bram").update(units="us")
    before = qty("T-2")
    as_bram, as_tove = display(before, "um", "us"), display(before, "um")
    tablet.clock("08:32")
    tablet.sign_in("bram")
    wait_for(tablet, yard.yard.badge["Tove"], "Tove:")
    assert as_tove in tablet.scan(yard.label("T-2"))
    wait_for(tablet, yard.yard.badge["Bram"], "Bram:")
    line.cut()
    tablet.page.reload()
    tablet.ready()
    assert as_bram in tablet.scan(yard.label("T-2")), "the page that opens without a network knows who reads"
    wait_for(tablet, yard.yard.badge["Tove"], "Tove:")
    assert as_tove in tablet.scan(yard.label("T-2"))
    wait_for(tablet, yard.yard.badge["Bram"], "Bram:")
    tablet.page.select_option("#part", label="RUD-073 (RUD)")
    said = tablet.scan(yard.label("T-2"))
    assert as_bram in said and "How much, in yd" in said and " m " not in said
    tablet.page.fill("#much", "much")
    tablet.page.press("#much", "Tab")
    tablet.says("#answer", "Type it in yd, such as 0.85.")
    tablet.scan(yard.label("T-2"))
    tablet.page.fill("#much", "1")
    tablet.page.press("#much", "Tab")
    tablet.says("#answer", "1.00 yd of T-2")
    tablet.press("Note it")
    assert tablet.noted()[0][0].startswith("1.00 yd of T-2 into ply 7 of RUD-073")
    line.mend()
    tablet.clock("08:40")
    tablet.online()
    tablet.states("accepted")
    assert before - qty("T-2") == 914_400, "what was sent is a yard to the micrometre"
    Person.objects.filter(name="Bram").update(units="metric")
    tablet.clock("08:41")
    tablet.online()
    tablet.says("#as-of", "08:41")
    said = tablet.scan(yard.label("T-2"))
    assert " m · " in said and "How much, in m" in said and "yd" not in said, "a new choice comes with the next contact"


KEPT = """async () => {
  const asked = (request) => new Promise((done) => { request.onsuccess = () => done(request.result); });
  const db = await asked(indexedDB.open('selvedge-floor'));
  const all = (name) => asked(db.transaction([name]).objectStore(name).getAll());
  return JSON.stringify([await all('people'), await all('meta'), await all('queue'), {...localStorage}, {...sessionStorage}]);
}"""


def wait_for(tablet: Tablet, code: str, words: str) -> str:
    """A badge takes a moment."""
    tablet.scan(code)
    tablet.says("#answer", words)
    return tablet.answer()


def test_what_was_not_sent_is_struck_what_was_sent_is_voided_and_after_a_minute_quality_is_asked(
    tablet: Tablet, line: Line, yard: Floor
) -> None:
    tablet.sign_in("bram")
    tablet.scan(yard.label("C-12"))
    tablet.scan("BAY1")
    tablet.states("accepted")
    tablet.undo()
    tablet.states("undone")
    act = Act.objects.get(kind="move", stance="observed")
    assert Act.objects.get(voids=act).person.name == "Bram" and ItemState.objects.get(item__mark="C-12").location.code == "RACK"
    line.cut()
    assert "C-13" in tablet.scan(yard.label("C-13"))
    assert "Noted: C-13 to" in tablet.scan("BAY1")
    tablet.says("#net", "No network")
    tablet.undo()
    tablet.states("undone", "struck")
    tablet.scan(yard.label("C-13"))
    tablet.scan("BAY1")
    tablet.clock("08:33")
    tablet.says("#notes", "ask quality to void it")
    line.mend()
    tablet.online()
    tablet.states("undone", "struck", "accepted")
    assert Act.objects.filter(kind="move", stance="observed").count() == 2, "what was struck was never sent"


def test_what_may_have_arrived_is_not_struck_but_taken_back_once_its_answer_is_here(tablet: Tablet, line: Line, yard: Floor) -> None:
    tablet.sign_in("bram")
    line.swallow("POST /api/replay/")
    tablet.scan(yard.label("C-12"))
    tablet.scan("BAY1")
    assert line.swallowed.wait(20)
    tablet.says("#net", "No network")
    tablet.undo()
    tablet.says("#notes", "taken back as soon as the network is there")
    assert ItemState.objects.get(item__mark="C-12").location.code == "BAY1"
    line.mend()
    tablet.online()
    tablet.states("undone")
    assert Act.objects.filter(kind="move", stance="observed").count() == 1
    assert ItemState.objects.get(item__mark="C-12").location.code == "RACK"


def test_what_the_service_does_not_take_stays_until_somebody_clears_it(tablet: Tablet, line: Line, yard: Floor) -> None:
    tablet.sign_in("bram")
    line.cut()
    tablet.scan(yard.label("C-12"))
    tablet.scan("BAY1")
    yard.yard.place["BAY1"].__class__.objects.filter(code="BAY1").update(retired_us=1)
    tablet.scan(yard.label("C-13"))
    tablet.scan("CLEAN")
    line.mend()
    tablet.online()
    tablet.states("refused", "accepted")
    assert "place.retired" in str(tablet.page.eval_on_selector_all("#notes [data-code]", "all => all.map((one) => one.dataset.code)"))
    tablet.page.reload()
    tablet.ready()
    tablet.states("refused", "accepted")
    tablet.page.get_by_role("button", name="Clear it").click()
    tablet.states("accepted")


def test_two_tabs_at_once_send_each_scan_once_and_both_know_it(tablet: Tablet, line: Line, yard: Floor) -> None:
    tablet.sign_in("bram")
    first, second = tablet.page, tablet.context.new_page()
    tablet.watch(second)
    tablet.page = second
    tablet.goto("/floor/")
    tablet.ready()
    line.cut()
    for page, mark in ((first, "C-12"), (second, "C-13")):
        tablet.page = page
        page.bring_to_front()
        tablet.scan(yard.label(mark))
        tablet.scan("BAY1")
    line.mend()
    for page in (first, second):
        page.evaluate("window.dispatchEvent(new Event('online'))")
    for page in (first, second):
        page.bring_to_front()
        tablet.page = page
        tablet.states("accepted", "accepted")
    assert Act.objects.filter(kind="move", stance="observed").count() == 2
    tablet.page = first
    assert "48.00 m · Wet layup bay" in tablet.scan(yard.label("C-13")), "the first tab knows what the second one moved"


def test_signing_out_takes_the_list_and_the_people_and_leaves_what_was_not_sent(tablet: Tablet, line: Line, yard: Floor) -> None:
    tablet.sign_in("bram")
    line.cut()
    tablet.scan(yard.label("C-12"))
    tablet.scan("BAY1")
    tablet.page.get_by_role("button", name="Sign out of this tablet").click()
    tablet.says("#who", "Nobody")
    assert "no list" in tablet.scan(yard.label("C-12"))
    line.mend()
    tablet.online()
    tablet.page.wait_for_timeout(500)
    assert [s for _, s in tablet.noted()] == ["waiting"] and Act.objects.filter(stance="observed", kind="move").count() == 0
    kept = tablet.page.evaluate(KEPT)
    assert "seal" not in kept and "T25" not in kept
    tablet.sign_in("tove")
    tablet.states("refused")
    assert "show the badge at this tablet" in tablet.page.inner_text("#notes"), "it was Bram's, and Bram is not here"
    wait_for(tablet, yard.yard.badge["Bram"], "Bram:")
    tablet.states("accepted")
    assert Act.objects.get(stance="observed", kind="move").person.name == "Bram"


def test_a_tablet_whose_clock_is_wrong_says_so_and_its_times_are_corrected(tablet: Tablet, line: Line, yard: Floor) -> None:
    """Twenty minutes fast: its 08:52 is 08:32."""
    tablet.fast_s = 1200
    tablet.clock("08:31")
    tablet.sign_in("bram")
    tablet.says("#care", "20 min fast")
    line.cut()
    tablet.clock("08:32")
    tablet.scan(yard.label("C-12"))
    tablet.scan("BAY1")
    line.mend()
    tablet.clock("08:40")
    tablet.online()
    tablet.states("accepted")
    act = Act.objects.get(kind="move", stance="observed")
    assert (act.happened_us, act.claimed_us) == (yard.at(0, "08:32"), yard.at(0, "08:52"))
    assert "scanned 08:52, arrived 08:40, counted from 08:32 by the service's clock" in tablet.page.inner_text("#notes")
