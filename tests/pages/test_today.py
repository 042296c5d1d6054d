"""The first page: what needs whom, worked out from records alone, in a number of queries that does not grow."""

from __future__ import annotations

import re

import pytest

from inventory.models import Act, Flag
from inventory.reads.looking import PROVIDERS, Look, Need
from inventory.reads.needs import needs
from inventory.verbs import counting, cutting, holding, mixing, moving, receiving
from inventory.verbs.papers import OpenStock, ReceivedLot, ReceivedPiece

from .browsing import Browser, Clock
from .store import Store

HOSTILE = "<script>alert(1)</script>"


def told(yard: Store, now: int, *roles: str) -> list[Need]:
    return needs(yard.site.pk, yard.zone, now, roles)


def codes(yard: Store, now: int, *roles: str) -> list[str]:
    return [need.code for need in told(yard, now, *roles)]


@pytest.mark.parametrize("who", ["Ines", "Bram", "Odile", "Marek", "Vera"])
def test_everybody_has_a_first_page_with_one_heading(yard: Store, clock: Clock, who: str) -> None:
    page = Browser(yard, who).get("/")
    assert page.status == 200 and page.headings == 1


def test_each_role_is_told_what_is_its_own(yard: Store, clock: Clock) -> None:
    assert codes(yard, clock.now, "storekeeper")[0] == "out.overdue"
    assert codes(yard, clock.now, "quality") == ["life.passed"]
    assert set(codes(yard, clock.now, "builder")) == {"thaw.ready", "thaw.running"}
    assert codes(yard, clock.now, "owner") == ["stock.ordered"]
    everything = codes(yard, clock.now, "auditor")
    assert len(everything) == len(set(told(yard, clock.now, "storekeeper", "quality", "builder", "owner")))


def test_no_flag_is_read_and_no_job_has_to_run(yard: Store, clock: Clock) -> None:
    before = told(yard, clock.now, "storekeeper")
    Flag.objects.create(site=yard.site, subject="x", code="x", role="storekeeper", text="a stale flag", at_us=1, raised_us=1)
    assert told(yard, clock.now, "storekeeper") == before


def test_what_comes_back_is_on_the_list_no_more(yard: Store, clock: Clock, ines: Browser) -> None:
    ines.put("U-3", "F1")
    assert "out.overdue" not in codes(yard, clock.now, "storekeeper")


def test_a_pot_past_its_stop_time_is_told_at_once_with_the_caution(yard: Store, clock: Clock) -> None:
    parts = (mixing.Component("LA-7", "400.0 g"), mixing.Component("LB-5", "100.2 g"))
    yard.do(yard.at(0, "07:00", 5), "Bram", "mix", mixing.Mix(parts, "BAY1", temperature="21.0", mark="M-1"))
    pot = [n for n in told(yard, clock.now, "builder") if n.code == "pot.over"]
    assert len(pot) == 1 and pot[0].urgency == "now" and "may be hot" in pot[0].text and "500.2 g left" in pot[0].text
    yard.do(clock.now, "Bram", "scrap", counting.Scrap("M-1", "left over in the pot"))
    assert "pot.over" not in codes(yard, clock.now, "builder")


def test_a_delivery_that_did_not_come_is_told_before_those_that_are_due(yard: Store, clock: Clock, ines: Browser) -> None:
    yard.expect("D-110", "CT-204", -3)
    late = [n for n in told(yard, clock.now, "storekeeper") if n.code == "delivery.late"]
    assert [n.urgency for n in late] == ["now"] and "D-110: CT-204 was due Fri 27 Mar and has not come" in late[0].text
    assert "delivery.late" in codes(yard, clock.now, "owner")
    assert re.search(r'href="/receive/delivery/\?number=D-110"[^>]*>Receive<', ines.get("/").source), "it may stand at the door just now"


def test_what_may_burn_comes_first_then_what_ages_outside_then_what_is_merely_late(yard: Store, clock: Clock) -> None:
    """A delivery that is a week late has waited longest, and a pot past its stop time for a quarter of an hour."""
    yard.expect("D-110", "CT-204", -7)
    parts = (mixing.Component("LA-7", "400.0 g"), mixing.Component("LB-5", "100.2 g"))
    yard.do(yard.at(0, "07:00", 5), "Bram", "mix", mixing.Mix(parts, "BAY1", temperature="21.0", mark="M-1"))
    order = list(dict.fromkeys(n.code for n in told(yard, clock.now, "storekeeper", "quality") if n.urgency == "now"))
    assert order[0] == "pot.over" and set(order[1:3]) == {"out.overdue", "life.passed"} and order[3:] == ["delivery.late"]


def test_what_is_overdue_outside_and_ends_today_is_told_both(yard: Store, clock: Clock) -> None:
    def about(mark: str) -> list[str]:
        return [n.code for n in told(yard, clock.now, "storekeeper") if n.about == ("item", yard.code(mark))]

    assert about("FA-9-1") == ["life.ending"]
    yard.do(clock.now - 60_000_000, "Ines", "move", moving.Move("FA-9-1", "CLEAN", clock.now))
    clock.now += 60_000_000
    assert about("FA-9-1") == ["out.overdue", "life.ending"]
    assert about("U-3") == ["out.overdue"], "the clocks of its time out are told there, once"


def test_a_delivery_of_which_a_part_has_come_is_on_the_list_until_the_rest_is_here(yard: Store, clock: Clock, ines: Browser) -> None:
    def partly() -> list[str]:
        return [n.text for n in told(yard, clock.now, "storekeeper") if n.code == "delivery.partly"]

    for n in (1, 2, 3):
        lot = ReceivedLot("G7", (ReceivedPiece("100 m", f"G7-{n}"),))
        yard.do(clock.now + n, "Ines", "receive", receiving.Receive("D-118", (lot,), place="RACK"))
        clock.now += 10
        assert partly() == ([f"D-118: {n} of 3 rolls of GB-600 are here. Take in the rest, or ask Aldervane Weavers."] if n < 3 else [])
    assert "/receive/delivery/?number=D-119" in ines.get("/").links(), "one tap from the list to taking it in"


def test_below_the_reorder_point_with_too_little_on_order_is_to_buy(yard: Store, clock: Clock) -> None:
    yard.do(clock.now, "Ines", "use", counting.UseOtherwise("PEEL-1", "20 m", "panel"))
    assert "stock.ordered" in codes(yard, clock.now, "owner"), "100 m are on order"
    from inventory.models import Delivery

    Delivery.objects.filter(number="D-121").update(cancelled_us=clock.now)
    low = [n for n in told(yard, clock.now, "owner") if n.code == "stock.low"]
    assert len(low) == 1 and "PEEL-85: 18.00 m usable, reorder at 60.00 m. To buy." in low[0].text


def test_a_book_below_nothing_asks_for_a_count_and_a_count_settles_it(yard: Store, clock: Clock) -> None:
    late = {"stance": "observed", "happened_us": clock.now - 60_000_000}
    yard.do(clock.now, "Ines", "use", counting.UseOtherwise("PEEL-1", "40 m", "panel"), **late)
    assert "count.needed" in codes(yard, clock.now, "storekeeper")
    yard.do(clock.now + 1, "Ines", "count", counting.Count("PEEL-1", "0 m"))
    assert "count.needed" not in codes(yard, clock.now + 2, "storekeeper")


def test_opening_stock_of_unknown_history_waits_for_a_starting_value(yard: Store, clock: Clock) -> None:
    old = ReceivedLot("T24-001", (ReceivedPiece("12.00 m", "T-OLD"),), made="2025-11-03")
    yard.do(clock.now, "Ines", "open_stock", OpenStock("PP-T", (old,), place="F1"))
    unknown = [n for n in told(yard, clock.now, "quality") if n.code == "history.unknown"]
    assert len(unknown) == 1 and "T-OLD of PP-T" in unknown[0].text


def test_what_came_in_waits_once_for_each_delivery_and_its_papers_by_piece(yard: Store, clock: Clock) -> None:
    pieces = tuple(ReceivedPiece("50.00 m", f"T-{n}", transport="9 h 20", warmest="-3.1 °C") for n in (7, 8))
    lot = ReceivedLot("T26-031", pieces, made="2026-03-02")
    yard.do(clock.now, "Ines", "receive", receiving.Receive("D-119", (lot,), place="F1"))
    found = told(yard, clock.now, "quality")
    assert [n.code for n in found].count("release.transport") == 1
    assert {n.about[1] for n in found if n.code == "release.missing"} == {yard.code("T-7"), yard.code("T-8")}
    assert "delivery.due" in codes(yard, clock.now, "storekeeper") and not any(
        "D-119" in n.text for n in told(yard, clock.now, "storekeeper") if n.code == "delivery.due"
    )


def test_a_gel_far_from_its_prediction_is_told_to_quality(yard: Store, clock: Clock) -> None:
    parts = (mixing.Component("LA-7", "400.0 g"), mixing.Component("LB-5", "100.2 g"))
    yard.do(yard.at(0, "06:00"), "Bram", "mix", mixing.Mix(parts, "BAY1", temperature="21.0", mark="M-1"))
    yard.do(yard.at(0, "07:20"), "Bram", "gel", mixing.GelSeen("M-1"))
    gels = [n for n in told(yard, clock.now, "quality") if n.code == "gel.far"]
    assert len(gels) == 1 and "M-1 gelled late, after 1 h 20 (LAM)" in gels[0].text


def test_a_roll_in_use_since_its_thaw_needs_no_word_about_opening(yard: Store, clock: Clock) -> None:
    def may_open() -> list[str]:
        return [n.about[1] for n in told(yard, clock.now, "builder") if n.code.startswith("thaw.")]

    assert yard.code("T-2") in may_open()
    yard.do(clock.now, "Ines", "cut_kit", cutting.CutKit("T-2", "1.00 m"))
    assert yard.code("T-2") not in may_open()
    yard.do(clock.now + 1, "Ines", "move", moving.Move("T-2", "F1"))
    clock(0, "12:00")
    yard.do(clock.now, "Ines", "move", moving.Move("T-2", "CLEAN"))
    assert yard.code("T-2") in may_open(), "after each thaw the bag is looked at again"


def test_what_waits_for_a_second_person_is_told_to_quality_and_owner_until_it_is_signed(yard: Store, clock: Clock) -> None:
    yard.do(clock.now, "Odile", "hold", holding.Hold("C-12", "odd smell", second_person=True))
    yard.do(clock.now + 1, "Odile", "unhold", holding.Unhold("C-12", "burn test in order"))
    asked = [n for n in told(yard, clock.now + 2, "owner") if n.code == "approval"]
    assert len(asked) == 1 and "Odile asks for a second person: C-12" in asked[0].text
    yard.do(clock.now + 3, "Marek", "countersign", holding.Countersign(int(asked[0].about[1])))
    assert "approval" not in codes(yard, clock.now + 4, "owner", "quality")


def test_the_list_asks_as_many_questions_for_thirty_rolls_as_for_three(yard: Store, clock: Clock, ines: Browser, odile: Browser) -> None:
    fetched = yard.at(-60, "10:00")
    ines.get("/")  # the process has read the lots: it keeps them
    few = [browser.queries("/") for browser in (ines, odile)]
    for n in range(30):
        yard.stock(f"N-{n}", "PP-U", 30_000_000, "F1", fetched + n, lot="U25-118")
        yard.do(yard.at(-3, "16:40", n), "Ines", "move", moving.Move(f"N-{n}", "CLEAN", yard.at(-3, "17:00")))
        yard.expect(f"E-{n}", "CT-204", -1)
    assert [browser.queries("/") for browser in (ines, odile)] == few
    assert len([n for n in told(yard, clock.now, "storekeeper") if n.urgency == "now"]) == 61


def test_what_people_typed_is_shown_as_text(yard: Store, clock: Clock, ines: Browser) -> None:
    yard.expect(HOSTILE[:40], "CT-204", 0, order_number="=cmd()")
    page = ines.get("/")
    assert "<script>alert" not in page.source
    assert "&lt;script&gt;alert(" in page.source


def test_the_app_above_adds_needs_of_its_own(yard: Store, clock: Clock, monkeypatch: pytest.MonkeyPatch) -> None:
    def one(look: Look) -> list[Need]:
        return [Need("now", "part.inspect", "CAN-063 to inspect.", frozenset({"quality"}), ("item", "X"), 0)]

    monkeypatch.setattr("inventory.reads.needs.PROVIDERS", [*PROVIDERS, one])
    assert "part.inspect" in codes(yard, clock.now, "quality")
    assert "part.inspect" not in codes(yard, clock.now, "storekeeper")


def test_an_empty_shop_is_told_what_to_do_next(ines: Browser, yard: Store, clock: Clock, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("inventory.reads.needs.PROVIDERS", [])
    page = ines.get("/")
    assert "Nothing needs you now." in page.text and re.search(r'href="/stock/"', page.source)


def test_an_auditor_reads_the_list_and_nothing_is_recorded_by_reading(vera: Browser) -> None:
    before = Act.objects.count()
    assert "U-3: out since" in vera.get("/").text
    assert Act.objects.count() == before
