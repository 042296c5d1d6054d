"""Bram's Monday at a tablet in a real browser, in the order in which it happens: one shop, one sign-in, a scanner that types into whatever
has the focus, the clocks of both standing where the day says. What is checked is what stands on the screen, and that a refusal changed
nothing. For the middle third, from 08:34 to 08:45, the network is cut; the browser is killed in it.

Waits for what is not there yet: a shelf within a place (“CLEAN shelf 2” is the clean room here), scales by name (a fine enough one is
named by its step, not as SC-3). Quality's own part in it, the inbox and the void, is quality's day."""

from __future__ import annotations

import pytest

from inventory.models import Act, Finding, Flag, Item, ItemState
from inventory.verbs.mixing import Measure
from inventory.verbs.moving import Move, Open

from .browsing import Browser
from .desk import refused
from .floor import PASSWORD, Floor
from .measuring import pale, unfit
from .standing import monday
from .tablet import Tablet
from .test_floor_browser import line, tablet
from .walking import Walk

__all__ = ["line", "tablet"]
pytest.importorskip("playwright.sync_api", reason="needs playwright")
pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
RUD = "/parts/RUD-073/"


@pytest.fixture
def yard(transactional_db: None) -> Floor:
    """07:30, and U-3 is back in the freezer."""
    floor = Floor(monday())
    floor.do(floor.at(0, "07:40"), "Ines", "move", Move("U-3", "F1"))
    return floor


def qty(mark: str) -> int:
    return ItemState.objects.get(item__mark=mark).qty


def test_the_builders_day(tablet: Tablet, yard: Floor) -> None:
    walk = Walk(tablet, yard.label)
    b1_a_badge_and_a_part(walk, yard)
    b2_to_b5_refused_and_laid(walk, yard)
    b6_and_b7_without_a_network(walk, yard)
    b8_a_mistake(walk, yard)
    b9_and_b10_a_pot(walk, yard)
    b11_peroxide(walk, yard)
    b12_the_bag(walk, yard)
    b13_the_oven(walk, yard)
    b14_already_in_the_part(walk, yard)
    after(walk, yard)


def b1_a_badge_and_a_part(walk: Walk, yard: Floor) -> None:
    tablet = walk.tablet
    tablet.clock("08:10")
    tablet.goto("/sign-in/")
    walk.page.fill("input[name=username]", "tove")
    walk.page.fill("input[name=password]", PASSWORD)
    walk.enter()
    assert "Bram: the next records carry this name" in walk.scan(yard.yard.badge["Bram"])
    assert "Bram (on Tove’s sign-in)" in walk.page.inner_text("header.top")
    said = walk.scan(yard.label("RUD-073"))
    assert "Skerrow Sailing School" in said and "cure planned 17:00" in said
    assert "Next: plies 1–6 PP-U Fetch kit K-31, Clean room" in said and "thawing from 08:15" in said
    assert walk.focus() == "scan-in"


def b2_to_b5_refused_and_laid(walk: Walk, yard: Floor) -> None:
    tablet = walk.tablet
    with refused():
        said = walk.take("U-3")
    assert walk.refused() == ["block.quality", "life.over", "life.too_short", "thaw.frozen"]
    assert "Tack life is over since Sat 28 Mar 12:30: 114 h 10 of 72 h used" in said
    assert "Frozen: 8 h thaw, Mon 30 Mar 16:10 if taken out now" in said
    assert "Out life would end Mon 30 Mar 14:00, before the start of cure planned for Mon 30 Mar 17:00" in said
    assert "U-3 was put on hold by Ines" in said and "Instead: kit K-31, Clean room, for plies 1–6 (still thawing)" in said
    assert "Next: plies 1–6" in said and walk.focus() == "scan-in"
    with refused():
        said = walk.take("K-31")
    assert walk.refused() == ["thaw.short"] and "55 of 60 min, from Mon 30 Mar 08:15" in said
    tablet.clock("08:16")
    said = walk.take("K-31")
    assert "Is the bag of K-31 dry all over?" in said
    said = walk.tap("Yes, dry")
    assert "Yes 1.98 m² of K-31 is in plies 1–6 of RUD-073" in said and said.count("filled K-31") == 6
    assert "Tack life governs: 58 h 49 left (13 h 11 used)" in said and "Out life 106 h 49 left" in said
    lay = Act.objects.get(kind="lay", recorded_us=yard.at(0, "08:16"))
    assert (lay.person.name, lay.user.username) == ("Bram", "tove") and "(Bram, 08:16)" in said
    yard.do(yard.at(0, "08:20"), "Ines", "open", Open("T-2", True))
    tablet.clock("08:30")
    assert walk.focus() == "scan-in"
    with refused():
        said = walk.take("C-12")
    assert walk.refused() == ["ply.wrong_material"]
    assert "(CT-204); ply 7 of RUD-073 needs PP-T, the design allows no alternate" in said


def b6_and_b7_without_a_network(walk: Walk, yard: Floor) -> None:
    tablet, line = walk.tablet, walk.tablet.line
    tablet.clock("08:32")
    said = walk.take("T-2")
    assert "Yes 0.85 m of T-2 is in ply 7 of RUD-073" in said and "23.75 m left on T-2" in said and "(44 h 32 used)" in said
    assert "Ply 8 from T-2 too, 0.85 m" in said and "Next: ply 8" in said
    walk.page.get_by_role("link", name="Floor page").click()
    tablet.ready()
    tablet.says("#as-of", "List as of 08:32")
    tablet.says("#answer", "RUD-073: scan what goes in")
    walk.page.wait_for_selector("html[data-kept=yes]")
    line.cut()
    tablet.clock("08:34")
    said = tablet.scan(yard.label("T-2"))
    assert "Yes 0.85 m of T-2 into ply 8 of RUD-073" in said and "22.90 m left (stock as of 08:32)" in said
    tablet.press("Note it")
    tablet.says("#net", "No network")
    said = tablet.scan(yard.label("U-3"))
    assert said.startswith("■ No") and "Frozen: 8 h thaw, 16:34 if taken out now" in said and "Out life would end 14:24" in said
    assert {"block.quality", "life.over", "life.too_short", "thaw.frozen"} <= set(tablet.reasons())
    assert unfit(walk.page) == pale(walk.page) == []
    tablet.clock("08:40")
    said = tablet.scan(yard.label("FK-12"))
    assert said.startswith("● Yes") and "Storage life: last day today" in said
    assert unfit(walk.page) == []
    tablet.press("Bag dry: note it")
    walk.page.reload()
    tablet.ready()
    tablet.says("#as-of", "List as of 08:32, 8 min ago")
    assert [state for _, state in tablet.noted()] == ["waiting", "waiting"]
    signed_in = tablet.context.cookies()  # of the morning: a browser writes them to the disk within half a minute
    tablet.kill()
    tablet.start()
    tablet.context.add_cookies(signed_in)
    tablet.goto("/floor/")
    tablet.ready()
    assert [state for _, state in tablet.noted()] == ["waiting", "waiting"] and qty("T-2") == 23_750_000
    line.mend()
    tablet.clock("08:45")
    tablet.online()
    tablet.states("accepted", "accepted")
    assert qty("T-2") == 22_900_000 and qty("FK-12") == 0
    acts = list(Act.objects.filter(kind="lay", stance="observed").order_by("happened_us"))
    assert [(a.person.name, a.happened_us, a.recorded_us) for a in acts] == [
        ("Bram", yard.at(0, clock), yard.at(0, "08:45")) for clock in ("08:34", "08:40")
    ]
    said = walk.page.inner_text("#notes")
    assert "scanned 08:34, arrived 08:45" in said and "scanned 08:40, arrived 08:45" in said


def b8_a_mistake(walk: Walk, yard: Floor) -> None:
    tablet = walk.tablet
    tablet.clock("09:10")
    tablet.goto(RUD)
    said = walk.words()
    assert "filled T-2 0.85 m Bram, 08:34" in said and "filled FK-12 Bram, 08:40" in said
    with refused():
        said = walk.take("T-2")
    assert walk.refused() == ["ply.filled"] and "Ply 8 of RUD-073 is filled already" in said
    said = walk.tap("It is extra: lay it in all the same")
    assert "0.85 m of T-2 is in ply 8 of RUD-073" in said and "22.05 m left on T-2" in said and qty("T-2") == 22_050_000
    first = Act.objects.filter(kind="lay").latest("pk")
    tablet.clock("09:10", 20)
    said = walk.tap("Undo the last")
    assert f"Record {first.pk} (lay) is void" in said and qty("T-2") == 22_900_000
    assert Act.objects.filter(pk=first.pk).exists() and Act.objects.get(voids=first).person.name == "Bram", "both are kept"
    tablet.clock("09:11")
    walk.take("T-2")
    walk.tap("It is extra: lay it in all the same")
    tablet.clock("09:12", 10)
    with refused():
        said = walk.tap("Undo the last")
    assert walk.refused() == ["undo.too_late"] and "Ask quality to void it" in said
    tablet.goto(RUD)
    said = walk.words()
    assert "Undo the last" not in said and "To take it back, ask quality to void it" in said and qty("T-2") == 22_050_000


def b9_and_b10_a_pot(walk: Walk, yard: Floor) -> None:
    tablet = walk.tablet
    tablet.clock("10:00")
    walk.follow("Mix")
    walk.page.get_by_label("At the bench").fill("21.0")
    walk.page.locator("#code0").focus()
    walk.take("LA-7")
    assert walk.focus() == "mass0"
    walk.type("400.0")
    assert walk.focus() == "code1"
    said = walk.take("LB-5")
    assert "Mix LAM" in said and walk.focus() == "mass3", "the recipe is known by now"
    with refused():
        said = walk.type("92.0")
    assert walk.refused() == ["mix.ratio_low"] and "23.0 per 100, limits 24.0–26.0: add 8.0 g hardener for 25.0" in said
    assert walk.focus() == "mass3"
    walk.page.locator("#mass3").fill("")
    said = walk.type("100.2")
    assert "M-1: 500.2 g, 25.05 per 100" in said and "Estimate 33 min to 34 min" in said and "stop by 10:33" in said
    assert "33:48" in said and "counted from 10:00" in said and "55–60 kJ/mol" in said and "An estimate" in said
    tablet.clock("10:20")
    said = walk.scan(yard.label("REP-019"))
    assert "Pot M-1, 500.2 g" in said and "13:48" in said
    walk.unfold("Another line or amount")
    walk.page.get_by_label("Quantity").fill("320.2 g")
    said = walk.take("M-1")  # the focus is in the amount still
    assert "320.2 g of M-1 is in ply 2 of REP-019" in said and "13 min left, stop by 10:33 (an estimate)" in said
    tablet.clock("10:40")
    with refused():
        said = walk.take("M-1")
    assert walk.refused() == ["pot.over"] and "Stop time 10:33 passed" in said
    said = walk.follow("scrap what is left of M-1")
    assert "It may be hot: leave it in an open container, outside" in said and "Left 180.0 g" in said
    walk.page.get_by_role("button", name="Scrap it").click()
    assert "Scrap what is left of M-1?" in walk.page.inner_text("dialog")
    walk.tap("Scrap it", within="dialog")
    assert "180.0 g of M-1 scrapped" in walk.words() and qty("M-1") == 0, "500.2 = 320.2 + 180.0"


def b11_peroxide(walk: Walk, yard: Floor) -> None:
    tablet = walk.tablet
    yard.do(yard.at(0, "11:00"), "Bram", "measure", Measure("BAY1", "17.2"))
    tablet.clock("11:00")
    walk.follow("Mix")
    walk.take("PE-8")
    walk.type("2000")
    walk.take("X4")
    with refused():
        said = walk.type("14")
    assert walk.refused() == ["mix.ratio_low", "mix.too_cold"]
    assert "0.70 %, minimum 1.0 %" in said and "Wet layup bay 17.2 °C, minimum 18.0 °C" in said
    yard.do(yard.at(0, "11:40"), "Bram", "measure", Measure("BAY1", "18.6"))
    tablet.clock("11:40")
    walk.page.locator("#step3").select_option("1 g")
    for mass, code, words in (
        ("300", "mix.over_cap", "15.0 % peroxide is a gross overdose (over 6.0 %); nobody may override this"),
        ("30.0", "mix.scale_too_coarse", "use a scale that reads 0.5 g or finer"),
    ):
        walk.page.locator("#mass3").fill(mass)
        with refused():
            said = walk.tap("Mixed")
        assert walk.refused() == [code] and words in said
    walk.page.locator("#step3").select_option("0.1 g")
    assert "M-2: 2.03 kg, 1.50 %" in walk.tap("Mixed") and qty("M-2") == 2_030_000_000
    walk.follow("Mix")
    walk.take("X4")
    walk.type("30.0")
    with refused():
        said = walk.take("CB-2")  # before anything is weighed
    assert walk.refused() == ["compat.never_together"] and "CB-2 into X4: promoter and organic peroxide never meet directly" in said
    assert "Nobody may override this" in said and walk.page.input_value("#code1") == "" and walk.focus() == "code1"
    sheet = walk.page.get_by_role("link", name="Open the safety data sheet").get_attribute("href")
    assert sheet == "https://sheets.quillstrand.example/CO-6"


def b12_the_bag(walk: Walk, yard: Floor) -> None:
    tablet = walk.tablet
    tablet.clock("13:30")
    walk.follow("Parts")
    walk.scan(yard.label("RUD-073"))
    walk.follow("Bag")
    assert "RUD-073 bagged" in walk.tap("It is bagged")
    walk.follow("Drop test")
    assert walk.focus() == "id_readings"
    walk.page.get_by_label("Gauge").fill("VG-1")
    walk.page.focus("#id_readings")
    assert "14 mbar, limit 10 mbar: failed" in walk.type("14")
    walk.scan("OV2")
    assert walk.focus() == "id_run"
    with refused():
        said = walk.type("CR-311")
    assert walk.refused() == ["drop_test.failed"] and "14 mbar, at most 10 mbar" in said
    tablet.clock("13:45")
    walk.follow("Leave it")
    walk.follow("Drop test")
    walk.page.get_by_label("Gauge").fill("VG-1")
    walk.page.focus("#id_readings")
    assert "4 mbar, limit 10 mbar: passed" in walk.type("4")


def b13_the_oven(walk: Walk, yard: Floor) -> None:
    tablet = walk.tablet
    tablet.clock("15:40")
    walk.scan("OV2")
    assert walk.focus() == "id_run"
    assert "RUD-073 in Oven 2, run CR-311. The clocks run until heating begins" in walk.type("CR-311")
    tablet.clock("15:52")
    walk.follow("Heating begins")
    said = walk.tap("Heating begins now")
    assert "heating since 15:52, the clocks stand" in said and "PP-U lot U26-02: 20 h 47 of 120 h out life used" in said
    tablet.clock("16:04")
    said = walk.follow("Cure interrupted")
    assert "For all parts in run CR-311" in said and "Below 40 °C the start is void" in said and walk.focus() == "id_reached"
    said = walk.type("34")
    assert "Start void for RUD-073: the time since heating began counts, and the clocks run" in said and "used 20 h 59 of 120 h" in said
    tablet.clock("16:20")
    walk.follow("Heating begins")
    said = walk.tap("Heating begins now")
    assert "heating since 16:20, the clocks stand" in said
    for words in ("PP-U lot U26-02: 21 h 15 of 120 h", "PP-T lot T25-19: 52 h 20 of 504 h", "FA-B lot FA-9: 27 h 35 of 240 h"):
        assert words in said
    assert Flag.objects.get(code="cure.void_start").role == "quality"
    assert "The start of cure of RUD-073" in Browser(yard, "Odile").get("/quality/").text, "quality is told"


def b14_already_in_the_part(walk: Walk, yard: Floor) -> None:
    tablet, odile = walk.tablet, Browser(yard, "Odile")
    tablet.clock("16:30")
    cases = odile.get("/quality/").source.count("Open and decide")
    walk.scan(yard.label("RUD-074"))
    walk.unfold("Another line or amount")
    walk.page.get_by_label("Lines").fill("2")
    walk.page.get_by_label("Quantity").fill("0.60 m")
    walk.unfold("It already happened")
    walk.page.get_by_label("This already happened").check()
    walk.page.get_by_label("When").fill("2026-03-30T08:25")
    said = walk.take("T-6")
    assert "Stored 0.60 m of T-6 is in ply 2 of RUD-074" in said and "55 min of 12 h" in said and qty("T-6") == 49_400_000
    assert "held RUD-074 was put on hold by Bram" in said and "A held part may still be cured and moved" in said
    act = Act.objects.filter(kind="lay").latest("pk")
    assert (act.stance, act.happened_us, act.recorded_us) == ("observed", yard.at(0, "08:25"), yard.at(0, "16:30"))
    assert odile.get("/quality/").source.count("Open and decide") > cases
    assert Finding.objects.filter(item__mark="RUD-074", closed_us=None).exists()
    tablet.clock("16:40")
    walk.follow("Bag")
    walk.tap("It is bagged")
    walk.follow("Drop test")
    assert walk.focus() == "id_readings"
    walk.type("4")
    walk.unfold("More")
    walk.follow("Heating begins")
    assert "heating since 16:40" in walk.tap("Heating begins now"), "finishing the cure stays possible"
    with refused():
        assert "finding.open" in Browser(yard, "Ines").post("/parts/RUD-074/ship/", {"customer": "P-03"}).reasons


def after(walk: Walk, yard: Floor) -> None:
    tablet = walk.tablet
    tablet.clock("17:30")
    tablet.goto(RUD)
    walk.follow("Cure done")
    said = walk.tap("The cure is done")
    lots = {mark: Item.objects.get(mark=mark).lot.batch.number for mark in ("U-4", "T-2", "FA-9-1")}  # type: ignore[union-attr]
    assert "Lots in it" in said and [number for number in lots.values() if number not in said] == []
    assert "Drop test passed 4 mbar, limit 10 mbar, with VG-1" in said and "Loaded for cure in OV2, run CR-311" in said
    assert (qty("T-2"), qty("M-1")) == (22_050_000, 0)
    walk.tap("Sign out", within="header")
    walk.page.go_back()
    assert "Sign in" in walk.words() and "RUD-073" not in walk.words()
