"""Windows between steps, at the scan, told afterwards, and when late truth arrives (R13, R23). A tiller's twill and its UD stand
for gelcoat and laminate: ten minutes to an hour; the times are the tests' own."""

from __future__ import annotations

import pytest
from django.core.exceptions import ValidationError

from inventory.models import Act, Block, Finding
from inventory.recording.rebuild import rebuild
from inventory.verbs.deciding import Dispose
from inventory.verbs.voiding import Void
from layups.models import Design, Ply, Window
from layups.reads.part import part_page
from layups.verbs.bagging import Bag
from layups.verbs.curing import CureOff, CureOn, Step

from .day import HOUR, Day, M, codes, new_day

pytestmark = pytest.mark.django_db
MINUTE = 60 * M


@pytest.fixture
def day() -> Day:
    """TIL-1 is begun at 08:00; its rolls are thawed and open."""
    day = new_day()
    til = Design.objects.get(code="TIL")
    lines = {ply.seq: ply for ply in til.plies.all()}
    more = {"remedy": "abrade, then go on", "again": "abraded"}
    Window.objects.create(
        design=til, name="twill to UD", first_line=lines[1], then_line=lines[2], least_us=10 * MINUTE, most_us=HOUR, **more
    )
    for roll, material in (("T-1", "PP-T"), ("U-1", "PP-U")):
        day.receive(roll, material, 50 * M, "F1", lot=f"lot {roll}")
        day.move(day.at("12:00", -1), roll, "CLEAN")
        day.open(day.at("06:00"), roll)
    day.start(day.at("08:00"), "TIL", "TIL-1", "CLEAN")
    return day


def open_findings(day: Day) -> list[str]:
    """Codes of the open findings; what is stored is what the records say."""
    assert rebuild(day.yard.site, day.at("23:59")).differences == []
    return sorted(f.code.split("/")[0] for f in Finding.objects.filter(closed_us__isnull=True))


def views(day: Day, clock: str) -> list[tuple[str, str]]:
    page = part_page(day.yard.site, day.item("TIL-1").pk, day.at(clock))
    return [(w.name, w.word) for w in page.windows]


def test_an_intention_is_refused_before_after_and_accepted_within(day: Day) -> None:
    day.lay(day.at("09:00"), "T-1", "TIL-1")
    early = day.no_lay(day.at("09:09"), "U-1", "TIL-1")
    assert codes(early) == ["window.too_early"]
    assert "9 min ago, at least 10 min" in early[0].text and "09:10" in early[0].text
    late = day.no_lay(day.at("10:00"), "U-1", "TIL-1")
    assert codes(late) == ["window.over"]
    assert "1 h 00 ago, at most 1 h" in late[0].text and "abrade, then go on" in late[0].text
    day.lay(day.at("09:10"), "U-1", "TIL-1")
    assert open_findings(day) == []


def test_what_was_never_begun_is_refused_together_with_every_other_reason(day: Day) -> None:
    """One answer: the window, and that nothing of it is fit."""
    day.receive("U-9", "PP-U", 50 * M, "F1", lot="lot U-9", waiting=True)
    day.move(day.at("05:00"), "U-9", "CLEAN")
    reasons = day.no_lay(day.at("09:00"), "U-9", "TIL-1", plies=(2,))
    assert {"window.not_started", "block.incoming"} <= set(codes(reasons))


def test_the_step_that_the_design_asks_for_lets_it_go_on(day: Day) -> None:
    day.lay(day.at("09:00"), "T-1", "TIL-1")
    assert codes(day.no_lay(day.at("11:00"), "U-1", "TIL-1")) == ["window.over"]
    day.do(day.at("11:05"), "step", Step("TIL-1", "abraded"))
    day.lay(day.at("11:06"), "U-1", "TIL-1")
    assert open_findings(day) == []


def test_what_happened_outside_its_window_is_stored_held_and_told(day: Day) -> None:
    day.lay(day.at("09:00"), "T-1", "TIL-1")
    out = day.lay(day.at("12:00"), "U-1", "TIL-1", happened=day.at("10:30"))
    assert [r.code for r in out.reasons] == ["window.over"]
    assert day.qty("U-1") == 50 * M - 2_200_000
    assert open_findings(day) == ["window.over"]
    assert Block.objects.filter(item=day.item("TIL-1"), to_us__isnull=True).count() == 1
    day.do(day.at("12:30"), "dispose", Dispose("TIL-1", "rework", reason="abraded and laid again"), "Odile")
    assert open_findings(day) == []


def test_the_first_ply_told_late_is_found_to_have_been_too_early(day: Day) -> None:
    """Order of arrival changes nothing: the later ply is judged again when the earlier one becomes known."""
    day.lay(day.at("09:30"), "U-1", "TIL-1", happened=day.at("09:20"), plies=(2,))
    assert open_findings(day) == ["window.not_started"]
    day.lay(day.at("09:40"), "T-1", "TIL-1", happened=day.at("09:15"))
    assert open_findings(day) == ["window.too_early"]


def test_the_first_ply_told_late_settles_what_seemed_never_begun(day: Day) -> None:
    day.lay(day.at("09:30"), "U-1", "TIL-1", happened=day.at("09:20"), plies=(2,))
    day.lay(day.at("09:40"), "T-1", "TIL-1", happened=day.at("09:00"))
    assert open_findings(day) == []
    assert Finding.objects.get().closed_by == "a later record"


def test_voiding_what_began_it_finds_what_followed_and_the_truth_settles_it(day: Day) -> None:
    day.lay(day.at("09:00"), "T-1", "TIL-1")
    day.lay(day.at("09:30"), "U-1", "TIL-1")
    assert open_findings(day) == []
    wrong = Act.objects.filter(kind="lay").order_by("pk").first()
    assert wrong is not None
    day.do(day.at("09:40"), "void", Void(wrong.pk, "other part"), "Odile")
    assert open_findings(day) == ["window.not_started"]
    day.lay(day.at("09:50"), "T-1", "TIL-1", happened=day.at("09:05"))
    assert open_findings(day) == []


def test_late_truth_about_a_roll_leaves_the_window_as_it_was_found(day: Day) -> None:
    """The roll is folded again and its use judged again; the part is not, and its finding stays."""
    day.lay(day.at("09:00"), "T-1", "TIL-1")
    day.lay(day.at("12:00"), "U-1", "TIL-1", happened=day.at("10:30"))
    day.move(day.at("12:30"), "U-1", "CLEAN", happened=day.at("10:00"))
    assert open_findings(day) == ["window.over"]


def test_a_changed_design_speaks_of_what_is_still_to_come(day: Day) -> None:
    day.lay(day.at("09:00"), "T-1", "TIL-1")
    day.lay(day.at("09:30"), "U-1", "TIL-1")
    Window.objects.filter(name="twill to UD").update(most_us=20 * MINUTE)
    assert open_findings(day) == []
    day.start(day.at("10:00"), "TIL", "TIL-2", "CLEAN")
    day.lay(day.at("10:00"), "T-1", "TIL-2")
    assert codes(day.no_lay(day.at("10:30"), "U-1", "TIL-2")) == ["window.over"]


def surface_to_bond() -> None:
    Window.objects.create(
        design=Design.objects.get(code="TIL"),
        name="surface to bond",
        first_step="surface prepared",
        then_step="bonded",
        most_us=4 * HOUR,
        remedy="wipe",
        again="wiped",
    )


def test_steps_begin_and_close_windows_by_their_names(day: Day) -> None:
    surface_to_bond()
    day.do(day.at("09:00"), "step", Step("TIL-1", "surface  Prepared"))
    assert codes(day.refused(day.at("13:00"), "step", Step("TIL-1", "Bonded"))) == ["window.over"]
    day.do(day.at("13:01"), "step", Step("TIL-1", "wiped"))
    day.do(day.at("14:00"), "step", Step("TIL-1", "Bonded"))
    told = day.do(day.at("15:00"), "step", Step("TIL-1", "bonded"), happened=day.at("13:00"))
    assert [r.code for r in told.reasons] == ["window.over"]
    assert open_findings(day) == ["window.over"]


def test_a_step_told_late_is_judged_where_it_belongs(day: Day) -> None:
    surface_to_bond()
    day.do(day.at("09:00"), "step", Step("TIL-1", "surface prepared"))
    day.do(day.at("12:00"), "step", Step("TIL-1", "bonded"))
    day.do(day.at("12:10"), "step", Step("TIL-1", "surface prepared"), happened=day.at("07:30"))
    day.do(day.at("12:11"), "step", Step("TIL-1", "wiped"), happened=day.at("11:00"))
    assert open_findings(day) == []


def test_bag_and_heat_close_windows_too(day: Day) -> None:
    til = Design.objects.get(code="TIL")
    more = {"design": til, "first_line": til.plies.get(seq=2), "remedy": "ask", "again": "asked"}
    Window.objects.create(name="UD to bag", then_step="bagged", most_us=HOUR, **more)
    Window.objects.create(name="UD to heat", then_step="heating begins", most_us=2 * HOUR, **more)
    Window.objects.create(name="UD to cured", then_step="cured", least_us=4 * HOUR, **more)
    day.lay(day.at("09:00"), "T-1", "TIL-1")
    day.lay(day.at("09:30"), "U-1", "TIL-1")
    assert codes(day.refused(day.at("10:30"), "bag", Bag("TIL-1"))) == ["window.over"]
    day.do(day.at("10:29"), "bag", Bag("TIL-1"))
    Design.objects.update(drop_limit_pa=None)
    assert codes(day.refused(day.at("11:30"), "cure_on", CureOn(parts=("TIL-1",)))) == ["window.over"]
    day.do(day.at("11:29"), "cure_on", CureOn(parts=("TIL-1",)))
    assert codes(day.refused(day.at("13:29"), "cure_off", CureOff(parts=("TIL-1",)))) == ["window.too_early"]
    day.do(day.at("13:30"), "cure_off", CureOff(parts=("TIL-1",)))
    assert open_findings(day) == []


def test_the_part_shows_what_runs_and_until_when(day: Day) -> None:
    assert views(day, "08:30") == []
    day.lay(day.at("09:00"), "T-1", "TIL-1")
    assert [views(day, clock) for clock in ("09:05", "09:10", "09:59", "10:00")] == [
        [("twill to UD", word)] for word in ("waits", "open", "open", "over")
    ]
    page = part_page(day.yard.site, day.item("TIL-1").pk, day.at("09:20"))
    assert (page.windows[0].opens_us, page.windows[0].ends_us) == (day.at("09:10"), day.at("10:00"))
    day.lay(day.at("09:30"), "U-1", "TIL-1")
    assert views(day, "09:31") == []


def test_a_window_stands_between_lines_of_its_own_design_in_their_order() -> None:
    new_day()
    til, rud = Design.objects.get(code="TIL"), Design.objects.get(code="RUD")
    lines = list(Ply.objects.filter(design=til).order_by("seq"))
    foreign = Window(design=til, name="x", first_line=rud.plies.get(seq=1), then_line=lines[1], least_us=1)
    backward = Window(design=til, name="x", first_line=lines[1], then_line=lines[0], least_us=1)
    for window in (foreign, backward):
        with pytest.raises(ValidationError):
            window.full_clean()
