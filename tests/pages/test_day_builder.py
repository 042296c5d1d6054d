"""Bram's Monday through the pages. Facts and numbers stand in the yard's day script; the clock is frozen at the times that it
names, and codes are typed as a scanner would. Already done before he comes: S2 (U-3 back in the freezer) and S6 (T-2 opened).

Left out, because this service cannot do it yet: the tablet without a network (B6 from 08:34, B7: ply 8 and the film are laid
here with the network on), pages kept by the tablet itself, the scanner's own double read (driven in a browser elsewhere).
B11's “CB-2 into X4” has no page of its own: what is poured into a can is a mix, and the mix is refused as any other pouring is.
The pot-life window is an estimate of the stated method, not a property of a product."""

from __future__ import annotations

import json
from typing import Any

import pytest

from inventory.models import Act, Finding, Flag, Item, ItemState, Refusal
from inventory.verbs.mixing import Measure
from inventory.verbs.moving import Move, Open
from layups.reads.lives import lives_of

from .floor import Browser, Clock, Floor, Page, clock, floor, made_floor

pytestmark = pytest.mark.django_db
__all__ = ["clock", "floor", "made_floor"]
M = 1_000_000
RUD = "/parts/RUD-073/"


@pytest.fixture
def bram(floor: Floor, clock: Clock) -> Browser:
    """His day begins after S2 and S6."""
    floor.do(floor.at(0, "07:40"), "Ines", "move", Move("U-3", "F1"))
    floor.do(floor.at(0, "08:20"), "Ines", "open", Open("T-2", True))
    clock(0, "08:10")
    return Browser(floor, "Bram")


def scan(browser: Browser, floor: Floor, thing: str, part: str = "RUD-073", **more: Any) -> Page:
    return browser.post(f"/parts/{part}/", {"code": floor.label(thing), **more})


def qty(mark: str) -> int:
    return ItemState.objects.get(item__mark=mark).qty


def nothing_changed(before: tuple[int, ...]) -> bool:
    return before == counts()


def counts() -> tuple[int, ...]:
    return (Act.objects.count(), *ItemState.objects.order_by("pk").values_list("qty", flat=True))


def hours(h: int, m: int = 0) -> int:
    return (h * 60 + m) * 60 * M


# --- laying -----------------------------------------------------------------------------------------


def test_b1_the_badge_says_whose_name_stands_on_the_next_record_and_the_part_says_what_to_fetch(
    floor: Floor, clock: Clock, bram: Browser
) -> None:
    tove = Browser(floor, "Tove")
    clock(0, "08:10")
    tove.post("/badge/", {"code": floor.yard.badge["Bram"], "next": RUD})
    page = tove.get(RUD)
    assert page.status == 200 and page.headings == 1
    assert "Next: plies 1–6 PP-U Fetch kit K-31, Clean room thawing from 08:15" in page.text
    assert "Skerrow Sailing School" in page.text and "cure planned 17:00" in page.text
    tove.post(f"{RUD}step/", {"step": "surface prepared"})
    assert Act.objects.get(kind="step", recorded_us=clock.now).person.name == "Bram"


def test_b2_a_roll_that_was_left_out_is_refused_with_every_reason_and_nothing_changes(floor: Floor, clock: Clock, bram: Browser) -> None:
    before, refused = counts(), Refusal.objects.count()
    page = scan(bram, floor, "U-3", plies="1")
    assert page.status == 409 and page.title.startswith("No – U-3 does not go into RUD-073")
    assert sorted(page.reasons) == ["block.quality", "life.over", "life.too_short", "thaw.frozen"]
    assert "Tack life is over since Sat 28 Mar 12:30: 114 h 10 of 72 h used" in page.text
    assert "Frozen: 8 h thaw, Mon 30 Mar 16:10 if taken out now" in page.text
    assert "Out life would end Mon 30 Mar 14:00, before the start of cure planned for Mon 30 Mar 17:00" in page.text
    assert "Instead: kit K-31, Clean room, for plies 1–6 (still thawing)" in page.text
    assert "U-3 was put on hold by Ines: tack life passed while it was out" in page.text
    assert "Ply 1 UD next PP-U 0°, 1.10 m open" in page.text
    assert nothing_changed(before) and Refusal.objects.count() == refused + 1


def test_b3_and_b4_a_kit_waits_for_its_thaw_then_one_scan_and_one_answer_fill_six_plies(floor: Floor, clock: Clock, bram: Browser) -> None:
    early = scan(bram, floor, "K-31")
    assert early.reasons == ["thaw.short"] and "55 of 60 min, from Mon 30 Mar 08:15" in early.text
    clock(0, "08:16")
    asked = scan(bram, floor, "K-31")
    assert asked.status == 409 and asked.reasons == []
    assert "Is the bag of K-31 dry all over?" in asked.text and "Yes, dry" in asked.text and "No, wet" in asked.text
    wet = scan(bram, floor, "K-31", dry="no")
    assert wet.reasons == ["thaw.bag_wet"]
    page = scan(bram, floor, "K-31", dry="yes")
    assert page.status == 200 and page.text.count("filled K-31") == 6
    assert "Yes 1.98 m² of K-31 is in plies 1–6 of RUD-073" in page.text
    assert "Tack life governs: 58 h 49 left (13 h 11 used)" in page.text and "Out life 106 h 49 left" in page.text
    assert "Next: ply 7, twill PP-T, 0.85 m Fetch roll T-2, Clean room" in page.text
    assert "PP-U lot U26-02 106 h 49 of out life left used 13 h 11 of 120 h" in page.text, "what must live until the cure"


def test_b5_the_wrong_fabric_is_told_what_the_ply_needs(floor: Floor, clock: Clock, bram: Browser) -> None:
    clock(0, "08:30")
    before = counts()
    page = scan(bram, floor, "C-12", plies="7")
    assert page.reasons == ["ply.wrong_material"]
    assert "(CT-204); ply 7 of RUD-073 needs PP-T, the design allows no alternate" in page.text
    assert nothing_changed(before)
    assert "ply 1 of RUD-073 needs PP-U" in scan(bram, floor, "C-12").text, "without a ply it is the next one that says so"


def lay_it_up(floor: Floor, clock: Clock, bram: Browser) -> Page:
    """B4, B6 and the film of B7, with the network on."""
    clock(0, "08:16")
    scan(bram, floor, "K-31", dry="yes")
    clock(0, "08:32")
    scan(bram, floor, "T-2")
    clock(0, "08:34")
    scan(bram, floor, "T-2")
    clock(0, "08:40")
    return scan(bram, floor, "FK-12", dry="yes")


def test_b6_the_schedule_gives_the_amount_and_one_tap_takes_the_next_ply_from_the_same_roll(
    floor: Floor, clock: Clock, bram: Browser
) -> None:
    clock(0, "08:16")
    scan(bram, floor, "K-31", dry="yes")
    clock(0, "08:32")
    page = scan(bram, floor, "T-2")
    assert "0.85 m of T-2 is in ply 7 of RUD-073" in page.text and "23.75 m left on T-2" in page.text
    assert "(44 h 32 used)" in page.text and qty("T-2") == 23_750_000
    assert "Ply 8 from T-2 too, 0.85 m" in page.text
    clock(0, "08:34")
    assert "22.90 m left on T-2" in scan(bram, floor, "T-2").text
    assert qty("T-2") == 22_900_000


def test_b7_film_on_its_last_day_is_accepted_and_says_so(floor: Floor, clock: Clock, bram: Browser) -> None:
    page = lay_it_up(floor, clock, bram)
    assert "0.40 m of FK-12 is in" in page.text or "FK-12 is in" in page.text
    assert "Storage life: last day today" in page.text
    assert [x for x in ("FA-B", "PP-U", "PP-T") if x not in page.text] == []


def test_b8_a_mistake_is_undone_within_a_minute_and_after_that_quality_voids_it(floor: Floor, clock: Clock, bram: Browser) -> None:
    lay_it_up(floor, clock, bram)
    clock(0, "09:10")
    extra = {"plies": "8", "extra": "on"}
    page = scan(bram, floor, "T-2", **extra)
    assert qty("T-2") == 22_050_000 and "Undo the last" in page.text
    first = Act.objects.filter(kind="lay").latest("pk")
    clock(0, "09:10", 20)
    assert "is void" in bram.post(f"{RUD}undo/", {"record": first.pk}).text
    assert qty("T-2") == 22_900_000
    assert Act.objects.filter(pk=first.pk).exists() and Act.objects.get(voids=first).person.name == "Bram"
    clock(0, "09:11")
    scan(bram, floor, "T-2", **extra)
    second = Act.objects.filter(kind="lay").latest("pk")
    clock(0, "09:12", 10)
    late = bram.get(RUD)
    assert "Undo the last" not in late.text and "ask quality to void it" in late.text
    assert bram.post(f"{RUD}undo/", {"record": second.pk}).reasons == ["undo.too_late"]
    assert qty("T-2") == 22_050_000


# --- the pot ----------------------------------------------------------------------------------------


def mix(bram: Browser, rows: list[tuple[str, str, str]], place: str = "BAY1", **more: str) -> Page:
    data = {"n": str(len(rows)), "place": place, **more}
    for i, (mark, mass, step) in enumerate(rows):
        data |= {f"code{i}": mark, f"mass{i}": mass, f"step{i}": step}
    return bram.post("/mix/", data)


def pot(floor: Floor, clock: Clock, bram: Browser) -> Page:
    """B9's second mix: M-1."""
    clock(0, "10:00")
    return mix(bram, [("LA-7", "400.0 g", ""), ("LB-5", "100.2 g", "0.1 g")], recipe="LAM", temperature="21.0", mark="M-1")


def test_b9_a_mix_off_its_ratio_says_what_to_add_and_the_right_one_has_a_stop_time(floor: Floor, clock: Clock, bram: Browser) -> None:
    clock(0, "10:00")
    before = counts()
    page = mix(bram, [("LA-7", "400.0 g", ""), ("LB-5", "92.0 g", "0.1 g")], recipe="LAM", temperature="21.0", mark="M-1")
    assert page.status == 409 and "23.0" in page.text and "24.0" in page.text and "26.0" in page.text
    assert "add 8.0 g hardener" in page.text
    assert nothing_changed(before)
    made = pot(floor, clock, bram)
    assert made.status == 200 and "500.2 g" in made.text and "25.05" in made.text.replace("25.1", "25.05")
    assert "33 min to 34 min" in made.text and "Stop by 10:33" in made.text and "estimate" in made.text.lower()
    body = Act.objects.get(kind="mix", recorded_us=clock.now).body
    assert '"low_us":2029' in body.replace(" ", "") or '"low_us":20' in body.replace(" ", "")


def test_b10_a_pot_goes_in_before_its_stop_time_and_not_after_and_the_rest_is_scrapped(floor: Floor, clock: Clock, bram: Browser) -> None:
    pot(floor, clock, bram)
    clock(0, "10:20")
    shown = bram.get("/parts/REP-019/")
    assert "Pot M-1, 500.2 g" in shown.text and "stop by 10:33" in shown.text and "is an estimate" in shown.text
    stop = json.loads(ItemState.objects.get(item__mark="M-1").doc)["stop"]
    assert f'data-stop-us="{stop}"' in shown.source, "the countdown runs to the same instant"
    page = scan(bram, floor, "M-1", "REP-019", qty="320.2 g")
    assert "320.2 g of M-1 is in" in page.text and "13 min left, stop by 10:33" in page.text
    clock(0, "10:40")
    late = scan(bram, floor, "M-1", "REP-019")
    assert late.status == 409 and "pot.over" in late.reasons and "10:33" in late.text
    assert qty("M-1") == 180_000_000
    rest = bram.get(f"/i/{floor.label('M-1')}/leftover/")
    assert "hot" in rest.text and "outside" in rest.text
    bram.post(f"/i/{floor.label('M-1')}/leftover/", {"quantity": "180.0 g", "cause": "left over in the pot"})
    assert qty("M-1") == 0, "500.2 = 320.2 + 180.0"


def test_b11_peroxide_is_refused_for_dose_and_cold_capped_for_gross_overdose_and_accepted_when_right(
    floor: Floor, clock: Clock, bram: Browser
) -> None:
    floor.do(floor.at(0, "11:00"), "Bram", "measure", Measure("BAY1", "17.2"))
    clock(0, "11:00")
    before = counts()
    page = mix(bram, [("PE-8", "2000 g", ""), ("X4", "14 g", "")], recipe="PE")
    assert page.reasons == ["mix.ratio_low", "mix.too_cold"], "twice over, and no third time"
    assert "0.70 %" in page.text and "17.2 °C" in page.text and "18.0 °C" in page.text
    floor.do(floor.at(0, "11:40"), "Bram", "measure", Measure("BAY1", "18.6"))
    clock(0, "11:40")
    gross = mix(bram, [("PE-8", "2000 g", ""), ("X4", "300 g", "1 g")], recipe="PE")
    assert "mix.over_cap" in gross.reasons and "Nobody may override this" in gross.text and "15" in gross.text
    promoter = mix(bram, [("PE-8", "2000 g", ""), ("CB-2", "1.0 g", "0.1 g"), ("X4", "30.0 g", "0.1 g")], recipe="PE")
    assert promoter.status == 409 and promoter.reasons, "a promoter and a peroxide never meet in a pot that is promoted already"
    poured = mix(bram, [("X4", "30.0 g", "0.1 g"), ("CB-2", "1.0 g", "0.1 g")])
    assert poured.reasons == ["compat.never_together"] and "never meet directly" in poured.text and "Nobody may override" in poured.text
    assert nothing_changed(before)
    assert mix(bram, [("PE-8", "2000 g", ""), ("X4", "30.0 g", "0.1 g")], recipe="PE", mark="M-2").status == 200
    assert qty("M-2") == 2_030_000_000


# --- the bag and the oven -----------------------------------------------------------------------------


def bagged(floor: Floor, clock: Clock, bram: Browser) -> None:
    lay_it_up(floor, clock, bram)
    clock(0, "13:30")
    bram.post(f"{RUD}bag/", {})


def test_b12_a_leaking_bag_is_not_loaded_until_it_passes(floor: Floor, clock: Clock, bram: Browser) -> None:
    bagged(floor, clock, bram)
    page = bram.post(f"{RUD}drop/", {"readings": "14 mbar", "instrument": "VG-1"})
    assert "failed" in page.text and "14 mbar" in page.text and "10 mbar" in page.text
    before = counts()
    load = {"place": "OV2", "run": "CR-311"}
    refused = bram.post(f"{RUD}load/", load)
    assert refused.reasons == ["drop_test.failed"] and nothing_changed(before)
    clock(0, "13:45")
    passed = bram.post(f"{RUD}drop/", {"readings": "4", "instrument": "VG-1"})
    assert "passed" in passed.text
    clock(0, "15:40")
    assert bram.post(f"{RUD}load/", load).status == 200


def cured(floor: Floor, clock: Clock, bram: Browser) -> None:
    bagged(floor, clock, bram)
    clock(0, "13:45")
    bram.post(f"{RUD}drop/", {"readings": "4", "instrument": "VG-1"})
    clock(0, "15:40")
    bram.post(f"{RUD}load/", {"place": "OV2", "run": "CR-311"})
    clock(0, "15:52")
    bram.post(f"{RUD}on/", {"run": "CR-311"})


def used(floor: Floor, at_us: int) -> dict[str, int]:
    """Out time of each material in the part, in whole minutes: the most of any of its lots."""
    part = Item.objects.get(mark="RUD-073").pk
    out: dict[str, int] = {}
    for x in lives_of(floor.zone, [part], at_us)[part]:
        if x.limit == "out" and x.used is not None:
            name = x.label.split()[0]
            out[name] = max(out.get(name, 0), x.used // (60 * M))
    return out


def test_b13_loading_stops_no_clock_heating_does_and_a_trip_below_forty_degrees_counts_the_gap(
    floor: Floor, clock: Clock, bram: Browser
) -> None:
    cured(floor, clock, bram)
    assert used(floor, floor.at(0, "16:00"))["PP-U"] == 20 * 60 + 47, "it stands since 15:52"
    clock(0, "16:04")
    form = bram.get(f"{RUD}off/")
    assert "For all parts in run CR-311" in form.text and 'name="run" value="CR-311"' in form.source
    page = bram.post(f"{RUD}abort/", {"run": "CR-311", "reached": "34"})
    assert "Start void for RUD-073" in page.text
    clock(0, "16:20")
    page = bram.post(f"{RUD}on/", {"run": "CR-311"})
    assert page.status == 200 and "heating since 16:20" in page.text
    assert used(floor, floor.at(0, "16:20")) == {"PP-U": 21 * 60 + 15, "PP-T": 52 * 60 + 20, "FA-B": 27 * 60 + 35}
    assert Flag.objects.get(code="cure.void_start").role == "quality"
    odile = Browser(floor, "Odile")
    assert "The start of cure of RUD-073" in odile.get("/quality/").text


def test_b14_what_already_happened_is_stored_and_the_part_held_and_quality_told(floor: Floor, clock: Clock, bram: Browser) -> None:
    clock(0, "16:30")
    odile = Browser(floor, "Odile")
    cases = odile.get("/quality/").source.count("Open and decide")
    told = {"already": "on", "happened_at": "2026-03-30T08:25", "why_late": "forgot"}
    page = scan(bram, floor, "T-6", "RUD-074", plies="2", qty="0.60 m", **told)
    assert page.status == 200 and "Stored" in page.text and qty("T-6") == 49_400_000
    assert "55 min of 12 h" in page.text and "from T-6 too" not in page.text, "ply 1 wants another material"
    assert "What speaks against it" in page.text and "A held part may still be cured and moved" in page.text
    act = Act.objects.filter(kind="lay").latest("pk")
    assert (act.stance, act.happened_us, act.recorded_us) == ("observed", floor.at(0, "08:25"), clock.now)
    assert Finding.objects.filter(item__mark="RUD-074", closed_us=None).exists()
    assert odile.get("/quality/").source.count("Open and decide") > cases
    ines = Browser(floor, "Ines")
    assert "finding.open" in ines.post("/parts/RUD-074/ship/", {"customer": "P-03"}).reasons
    clock(0, "16:40")
    bram.post("/parts/RUD-074/bag/", {})
    bram.post("/parts/RUD-074/drop/", {"readings": "4"})
    assert bram.post("/parts/RUD-074/on/", {}).status == 200, "finishing the cure stays possible"


def test_after_b_the_finished_part_names_its_lots_its_drop_test_and_its_oven(floor: Floor, clock: Clock, bram: Browser) -> None:
    cured(floor, clock, bram)
    clock(0, "17:30")
    page = bram.post(f"{RUD}off/", {"run": "CR-311"})
    lots = {m: Item.objects.get(mark=m).lot.batch.number for m in ("U-4", "T-2", "FA-9-1")}  # type: ignore[union-attr]
    assert "Lots in it" in page.text
    assert [n for n in lots.values() if n not in page.text] == []
    assert "Drop test passed 4 mbar, limit 10 mbar, with VG-1" in page.text
    assert "Loaded for cure in OV2, run CR-311" in page.text
    assert Refusal.objects.filter(person__name="Bram").count() == 0
