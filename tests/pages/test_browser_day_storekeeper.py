"""Ines's Monday on one tablet, from badge to sign-out: S1 to S14 in one go, in a real browser against the service on a real port. A
scanner types into whatever has the focus; the clocks of both stand where the script of the day puts them. In the stores there is no
network: three of the four cans of S9 and the roll of S14 are put away by the tablet's own list.

Nothing of this day waits for what is not there yet."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from inventory import jobs
from inventory.balance import balance
from inventory.models import Act, Item, LabelPrint
from inventory.reads.needs import needs
from layups.demo.anchor import HOUR_US
from tests.ledger.loggers import csv_of

from .desk import Desk, refused, state
from .floor import PASSWORD, Floor
from .standing import monday
from .tablet import Hands, Line, Tablet

pytest.importorskip("playwright.sync_api", reason="needs playwright")
pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
MINUTE_US = HOUR_US // 60


class Day:
    """The yard, the tablet in Ines's hands, and what she does with it."""

    def __init__(self, yard: Floor, tablet: Tablet, line: Line) -> None:
        self.yard, self.tablet, self.line = yard, tablet, line
        self.desk = Desk(tablet.page, f"http://localhost:{line.here}")

    def at(self, clock: str, second: int = 0) -> None:
        self.tablet.hands.set(clock, second)
        self.tablet.clock()

    def told(self, *roles: str) -> list[str]:
        return [n.text for n in needs(self.yard.site.pk, self.yard.zone, self.tablet.hands.us, roles)]

    def today(self, thing: str) -> str:
        """From wherever she is to a thing: one press and one scan."""
        self.desk.press("Today")
        return self.desk.scan(thing)


@pytest.fixture
def day(
    transactional_db: None, live_server: Any, chromium: Any, chromium_path: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> Iterator[Day]:
    floor, line = Floor(monday()), Line(live_server.thread.port)
    tablet = Tablet(chromium, chromium_path, tmp_path / "tablet", line, Hands(monkeypatch, floor.at))
    tablet.hands.set("07:30")
    tablet.start()
    yield Day(floor, tablet, line)
    tablet.kill()
    line.end()
    assert tablet.faults == []


def test_ines_has_her_day_with_scanner_and_tablet(day: Day) -> None:
    s1_the_morning_list(day)
    s2_and_s3_the_forgotten_roll(day)
    s4_and_s5_three_rolls_come_in(day)
    s6_one_roll_is_opened_and_another_is_still_cold(day)
    s7_prepreg_comes_with_its_logger(day)
    s8_its_papers(day)
    s9_peroxide(day)
    s9_where_there_is_no_network(day)
    s10_a_count_by_weight(day)
    s11_a_kit(day)
    s12_a_length_in_one_piece(day)
    s13_a_customers_roll(day)
    s14_the_evening(day)
    after(day)


def s1_the_morning_list(day: Day) -> None:
    """The tablet was Bram's; her badge makes it hers."""
    day.desk.sign_in("bram")
    words = day.desk.scan(day.yard.yard.badge["Ines"])
    assert "Ines: the next records carry this name" in day.desk.told()
    order = [words.index(f"{word} {name}") for word, name in (("Now", "U-3:"), ("Today", "T-2 may"), ("Today", "D-118:"), ("Soon", "X4"))]
    assert order == sorted(order)
    assert "U-3: out since Fri 27 Mar 16:30 in Clean room, overdue" in words
    assert "114 h 00 of 120 h out life used" in words and "tack life 72 h passed Sat 28 Mar 12:30" in words
    for thing, since in (("T-2", "07:00"), ("T-4", "18:30"), ("T-6", "19:30"), ("K-31", "08:15")):
        assert f"{thing} may be opened from {since}" in words
    assert "FA-9): storage life, last day today" in words
    assert "X4 (MEKP lot X4): printed date, last day Tue 31 Mar" in words
    assert "PEEL-85: 38.00 m usable, reorder at 60.00 m; 100.00 m ordered (PO 2291), due Wed 1 Apr" in words
    assert [f"D-{n}" in words for n in (118, 119, 120)] == [True] * 3 and words.count("due today") == 3


def s2_and_s3_the_forgotten_roll(day: Day) -> None:
    desk = day.desk
    day.at("07:40")
    words = desk.scan("U-3", "F1")
    assert "U-3 is in Chest freezer" in words
    assert "114 h 10 of 120 h out life used; tack life 72 h passed Sat 28 Mar 12:30" in words and "5 h 50 of out life left" in words
    assert "115 h" not in words, "wall-clock arithmetic over the clock change"
    assert "U-3 may not be used now" in words
    day.at("07:40", 20)
    before = state()
    assert "U-3 is already in Chest freezer" in desk.scan("U-3", "F1")
    assert state() == before
    told = [text for text in day.told("quality") if "U-3" in text]
    assert len(told) == 1 and "tack life" in told[0]


def s4_and_s5_three_rolls_come_in(day: Day) -> None:
    """The delivery note is scanned, then roll after roll; the ticket of the second is entered before its name."""
    desk = day.desk
    day.at("08:00")
    words = desk.scan("D-118")
    assert "0 of 3 rolls" in words
    assert "It is put away in" in desk.scan("RACK", into="id_mark")
    words = desk.scan("G7-1", into="id_mark")
    assert "1 of 3 rolls" in words and "G7-1 received, 100.00 m of GB-600" in desk.told()
    desk.press("Flaws on the roll's ticket", goes=False)
    desk.fill(flaw_at0="31.0 m", flaw_end0="31.4 m", flaw_kind1="splice", flaw_at1="72.0 m")
    desk.page.focus("#id_mark")
    assert "G7-2: usable 99.60 m, longest clear piece 40.60 m" in desk.scan("G7-2", into="id_mark")
    words = desk.scan("G7-3", into="id_mark")
    assert "3 of 3 rolls, 300.00 m of 300.00 m" in words and desk.rows("not released") == 3
    with refused():
        desk.scan("G7-1", into="id_mark")
        assert desk.reasons() == ["receive.already_here"]
    assert Item.objects.filter(delivery__number="D-118").count() == 3
    labels(day)


def labels(day: Day) -> None:
    """All three at once, as they will look; each print is on record."""
    desk = day.desk
    words = desk.press("Print labels")
    assert "3 labels" in words and desk.page.locator(".labels-shown img").count() == 3
    with desk.page.expect_popup() as opened:
        desk.press("Print", goes=False)
    opened.value.wait_for_load_state()
    opened.value.close()
    assert sorted(LabelPrint.objects.values_list("item__mark", flat=True)) == ["G7-1", "G7-2", "G7-3"]
    roll = day.today("G7-2")
    assert "usable 99.60 m" in roll.lower() and "longest clear piece 40.60 m, between 31.40 m and 72.00 m" in roll


def s6_one_roll_is_opened_and_another_is_still_cold(day: Day) -> None:
    desk = day.desk
    day.at("08:20")
    desk.scan("T-2")
    desk.press("Open")
    words = desk.press("Yes, dry: open it")
    assert "T-2 is open" in words and "44 h 20 of 504 h" in words
    desk.scan("T-4")
    desk.press("Open")
    with refused():
        words = desk.press("Yes, dry: open it")
        assert desk.reasons() == ["thaw.short"]
    assert "1 h 50 of 12 h, from Mon 30 Mar 18:30" in words and "Instead: roll T-2" in words
    assert "1 h 50 of 504 h" in desk.scan("T-4"), "its out time runs meanwhile"


def s7_prepreg_comes_with_its_logger(day: Day) -> None:
    """The logger's file says how long and how warm; the label's own hours are typed once for both rolls."""
    desk, yard = day.desk, day.yard
    day.at("08:40")
    desk.scan("D-119")
    desk.press("The logger’s file")
    begin = yard.at(-2, "06:00")
    file = csv_of(begin, begin + 30 * HOUR_US, lambda at: on_the_way(at - begin))
    desk.page.set_input_files("input[name=file]", {"name": "box 4.csv", "mimeType": "text/csv", "buffer": file})
    desk.fill(probe="box 4", measures="product")
    desk.press("Take it in")
    jobs.run_due(lambda: day.tablet.hands.us)
    desk.page.reload()
    words = desk.press("See the log")
    assert "9 h 20" in words and "−3.1 °C" in words
    desk.press("Use it for the next piece")
    desk.fill(made="2026-03-02", place="QUARF", out_time="6 h 00")
    desk.page.focus("#id_mark")
    assert "1 of 2 rolls" in desk.scan("T-7", into="id_mark")
    assert desk.page.input_value("[name=out_time]") == "6 h 00" and desk.page.input_value("[name=transport]") == "9 h 20"
    assert "2 of 2 rolls, 100.00 m of 100.00 m" in desk.scan("T-8", into="id_mark")
    for mark in ("T-7", "T-8"):
        words = day.today(mark)
        assert "used 15 h 20 of 504 h" in words and "through Tue 2 Mar 2027" in words and "not released" in words
    assert any("D-119: T-7 and T-8 of PP-T wait for quality: transport (9 h 20 too warm)" in text for text in day.told("quality"))


def on_the_way(us: int) -> int:
    """Above −12 °C from the ninth hour for 9 h 20, −3.1 °C at most."""
    since, until = us - 8 * HOUR_US, 17 * HOUR_US + 20 * MINUTE_US - us
    return -12_000 + (min(8_900, since // 1000, until // 1000) if since >= 0 and until >= 0 else 0)


def s8_its_papers(day: Day) -> None:
    desk, yard = day.desk, day.yard
    day.at("09:00")
    desk.scan("D-119")
    desk.press("Papers of T26-031")
    names = {
        (mark, need.name): f"p-{yard[mark].pk}-{need.pk}"
        for mark in ("T-7", "T-8")
        for need in yard.yard.material["PP-T"].cert_limits.all()
    }
    values = {("T-7", "areal mass"): "203", ("T-7", "resin"): "42.3", ("T-8", "areal mass"): "205", ("T-8", "resin"): "45.1"}
    desk.fill(**{names[key]: value for key, value in values.items()})
    assert "resin 45.1, limits 40.0–44.0 %" in desk.press("Enter the papers")
    assert desk.page.locator("main .banner[role=alert]").count() == 1, "entered, and nothing to be glad of"
    words = day.today("T-8")
    assert "resin 45.1 % failed" in words
    words = day.today("T-7")
    assert "areal mass 203 g/m² passed" in words and "not released" in words
    assert desk.page.locator("main a[href*='/do/release/']").count() == 0
    desk.goto("/do/release/?items=T-7")
    desk.fill(password=PASSWORD)
    with refused():
        desk.press("Release")
        assert desk.reasons() == ["role.not_allowed"]


def s9_peroxide(day: Day) -> None:
    """Four cans come in; the first is put away where there is a network."""
    desk = day.desk
    day.at("09:15")
    desk.scan("D-120")
    desk.fill(printed="2026-09")
    desk.page.focus("#id_mark")
    for n in range(1, 5):
        words = desk.scan(f"X6-{n}", into="id_mark")
    assert "4 of 4 cans, 20.00 kg of 20.00 kg" in words
    day.today("X6-1")
    with refused(2):
        words = desk.scan("AC")
        assert "place.never_together" in desk.reasons() and "never with promoters, amines or acids" in words
        words = desk.scan("F1")
        assert "place.too_cold" in desk.reasons() and "below its minimum 5 °C" in words
    assert "X6-1 is in Peroxide cabinet" in desk.scan("PX")


def s9_where_there_is_no_network(day: Day) -> None:
    """The other cans, and T-8 into the chest freezer: judged by the tablet's own list and by what was noted on it, kept through a
    reload, and sent once each."""
    tablet, before = day.tablet, to_the_floor(day, "09:20")
    day.at("09:24")
    tablet.scan("X6-2")
    assert "Accelerators and amines" in tablet.scan("AC")
    assert tablet.reasons() == ["place.never_together", "place.peroxide_only_in_its_own"]
    assert "Noted: X6-2 to Peroxide cabinet" in tablet.scan("PX")
    day.at("09:25")
    tablet.scan("X6-3")
    assert "Noted: X6-3 to Peroxide cabinet" in tablet.scan("PX")
    day.at("09:26")
    tablet.scan("X6-4")
    said = tablet.scan("PX")
    assert said.startswith("■ No") and tablet.reasons() == ["place.full"] and "would hold 26.50 kg of 25.00 kg" in said
    assert "It may go to: BK Outdoor bunker." in said
    assert "Noted: X6-4 to Outdoor bunker" in tablet.scan("BK")
    day.at("09:31")
    said = tablet.scan(day.yard.label("T-8"))
    assert "50.00 m · Quarantine freezer bin" in said and "T-8 waits for release" in said
    assert "Noted: T-8 to Chest freezer" in tablet.scan("F1")
    tablet.scan(day.yard.label("T-8"))
    assert "is in Chest freezer already" in tablet.scan("F1"), "the scanner repeats both"
    tablet.says("#net", "No network")
    tablet.page.reload()
    tablet.ready()
    assert [kept for _, kept in tablet.noted()] == ["waiting"] * 4 and state() == before
    back_on_the_line(day, "09:40", 4)
    wanted = [("X6-2", "PX", "09:24"), ("X6-3", "PX", "09:25"), ("X6-4", "BK", "09:26"), ("T-8", "F1", "09:31")]
    assert told_afterwards() == [(mark, place, day.yard.at(0, clock), day.yard.at(0, "09:40"), "Ines") for mark, place, clock in wanted]
    assert "scanned 09:31, arrived 09:40" in tablet.page.inner_text("#notes")
    day.desk.press("Today")
    words = day.desk.goto("/stock/PP-T/")
    assert words.index("Fetch first: T-2") < words.index("T-8 waits for release"), "it may stand there, and is never picked"
    assert "Taken out now, T-8 may be opened from Mon 30 Mar 21:40, not before." in words


def to_the_floor(day: Day, clock: str) -> tuple[Any, ...]:
    """The page for the cold store, with its list; then the network ends."""
    day.at(clock)
    day.desk.press("Floor")
    day.tablet.ready()
    day.tablet.says("#as-of", f"List as of {clock}")
    day.tablet.page.wait_for_selector("html[data-kept=yes]")
    assert day.tablet.page.inner_text("#who") == "Ines"
    day.line.cut()
    return state()


def back_on_the_line(day: Day, clock: str, n: int) -> None:
    day.line.mend()
    day.at(clock)
    day.tablet.online()
    day.tablet.states(*["accepted"] * n)


def told_afterwards() -> list[tuple[str, str, int, int, str]]:
    acts = Act.objects.filter(stance="observed", kind="move").order_by("happened_us", "device_seq")
    return [(a.legs.get().item.mark, a.legs.get().location.code, a.happened_us, a.recorded_us, a.person.name) for a in acts]


def s10_a_count_by_weight(day: Day) -> None:
    """4.68 kg ÷ (0.204 × 1.270) = 18.06 m."""
    desk = day.desk
    day.at("10:00")
    desk.scan("C-12")
    desk.press("Count")
    words = desk.type_in(gross="6.28", core="1.60")
    assert "18.06 m" in desk.told() and "−0.34 m" in desk.told() and "by weight" in words
    assert balance(day.yard["C-12"].lot_id or 0).closes


def s11_a_kit(day: Day) -> None:
    desk = day.desk
    day.at("10:20")
    desk.press("Cut a kit")
    desk.fill(taken="6.20", net="5.94", mark="K-40", job="DAG-041", length0="0.90 m", width0="0.60 m", name0="R-51")
    words = desk.press("Cut the kit")
    assert "Kit K-40" in words and "waste 1.27 m² (16.4 %)" in words
    assert "Print the 2 labels" in words and desk.press("Size and copies").startswith("Labels")
    words = day.today("C-12")
    assert "11.86 m" in words
    desk.press("Cut a kit")
    with refused():
        words = desk.type_in(taken="12.00")
        assert desk.reasons() == ["stock.not_enough"]
    assert "11.86 m left" in words and "Instead: roll C-13, 48.00 m" in words
    words = day.today("R-51")
    assert "0.54 m²" in words and "CT26-3" in words


def s12_a_length_in_one_piece(day: Day) -> None:
    desk = day.desk
    day.at("10:40")
    desk.scan("G6-4")
    desk.press("Cut a length off")
    with refused():
        words = desk.type_in(taken="42.00 m")
        assert desk.reasons() == ["roll.no_clear_piece"] and "40.60 m" in words and "between 31.40 m and 72.00 m" in words
    words = desk.type_in(taken="30.00 m")
    words = desk.scan("G6-4")
    assert "70.00 m" in words and "bad from 1.00 m to 1.40 m" in words and "splice at 42.00 m" in words and "Usable 69.60 m" in words


def s13_a_customers_roll(day: Day) -> None:
    desk = day.desk
    day.at("11:00")
    desk.scan("CO-1")
    desk.press("More", goes=False)
    desk.press("Reserve for a job")
    with refused():
        words = desk.type_in(job="CAN-066")
        assert desk.reasons() == ["owner.other"]
    assert "CO-1 belongs to Ferrel Rowing Club: only for its jobs" in words


def s14_the_evening(day: Day) -> None:
    """T-4 goes back where there is no network; its hours end when she scanned it, not when that arrived."""
    tablet, desk = day.tablet, day.desk
    to_the_floor(day, "16:20")
    day.at("16:25")
    tablet.scan(day.yard.label("T-4"))
    assert "Noted: T-4 to Chest freezer" in tablet.scan("F1")
    back_on_the_line(day, "16:32", 5)
    assert told_afterwards()[-1] == ("T-4", "F1", day.yard.at(0, "16:25"), day.yard.at(0, "16:32"), "Ines")
    desk.press("Today")
    words = desk.scan("T-4")
    assert "9 h 55 of 504 h" in words and "Frozen: 12 h thaw" in words, "next time the whole 12 h again"
    out = desk.press("Today")
    listed = out[out.index("What is out") :]
    assert [thing for thing in ("T-2", "T-6", "K-31", "FK-12") if thing not in listed] == [] and "T-4" not in listed
    assert "17:00" in listed and "18:00" in listed and "20:00" in listed
    desk.press("Sign out")
    desk.page.go_back()
    assert "T-2" not in desk.page.content() and "/sign-in/" in desk.page.url, "the back button shows nothing"


def after(day: Day) -> None:
    """Nothing came from nowhere, and nothing went there."""
    for mark in ("G7-1", "C-12", "X6-1"):
        assert balance(day.yard[mark].lot_id or 0).closes
    glass = balance(day.yard["G7-1"].lot_id or 0)
    assert glass.received == glass.on_hand == 300_000_000
    day.desk.sign_in("vera", "/peroxides/")
    words = day.desk.words()
    assert "PX Peroxide cabinet 21.50 kg 25.00 kg" in words and "BK Outdoor bunker 5.00 kg 60.00 kg" in words
    assert "in all: 26.50 kg" in words
    log = day.desk.goto("/refused/")
    assert [mark for mark in ("G7-1", "T-4", "T-7", "X6-1", "C-12", "G6-4", "CO-1") if mark not in log] == []
