"""The days of the invented yard, on the pure core: exact hours over the change of the clocks, late scans, a tripped oven.

Figures: the acceptance days and the planted history of the demo shop (common practice, no source); durations by hand.
Local times are Europe/Copenhagen: UTC+1 until Sunday 29 March 2026 02:00, UTC+2 from then.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from datetime import datetime
from typing import Any
from zoneinfo import ZoneInfo

import pytest

from inventory.core import limits as life
from inventory.core.fold import Key, State
from inventory.core.kinds import RANK
from inventory.core.limits import Limit, Moment, Reading, Source
from inventory.core.spans import HOUR_US, MINUTE_US, calendar_end_us, day_text, duration
from tests.core.shops import Act, Arrivals, Leg

pytestmark = pytest.mark.core
ZONE = "Europe/Copenhagen"
F1, F2, CLEAN, OVEN = 1, 2, 3, 4
CEILING = {F1: -18_000, F2: -18_000, CLEAN: 25_000, OVEN: 180_000}
COLD = -18_000
OUT = {"U": 120, "T": 504, "F": 240}  # hours of out life: UD, twill, film
TACK = {"U": 72, "T": 240}


def us(local: str) -> int:
    """ "2026-03-27 16:30" in the yard's zone."""
    return round(datetime.fromisoformat(local).replace(tzinfo=ZoneInfo(ZONE)).timestamp()) * 1_000_000


def hours(h: int, m: int = 0) -> int:
    return h * HOUR_US + m * MINUTE_US


def source_of(lot: int, kind: str) -> Source:
    limits = [Limit("out life", "above", "cure", limit_us=hours(OUT[kind]), threshold_mc=COLD)]
    if kind in TACK:
        limits.append(Limit("tack life", "above", "laid", limit_us=hours(TACK[kind]), threshold_mc=COLD))
    return Source(lot, f"lot {lot}", 1, tuple(limits))


@dataclass
class Yard:
    """Things recorded one at a time, with the instants of the wall clock in the yard."""

    ledger: Arrivals = field(default_factory=Arrivals)
    names: dict[str, int] = field(default_factory=dict)
    sources: dict[int, Source] = field(default_factory=dict)
    number: int = 0

    def record(self, kind: str, local: str, legs: dict[str, Leg], edges: tuple[tuple[str, str], ...] = ()) -> Key:
        self.number += 1
        key = (us(local), RANK[kind], 1, self.number, "")
        ids = {name: self.names.setdefault(name, len(self.names) + 1) for name in [*dict.fromkeys(s for s, _ in edges), *legs]}
        self.ledger.hear(Act(key, kind, {ids[n]: leg for n, leg in legs.items()}, tuple((ids[s], ids[d]) for s, d in edges)))
        return key

    def roll(self, name: str, kind: str, out: int, place: int = F1, made: str = "2025-12-15 00:00") -> None:
        """A roll that came frozen, with this much out time already used."""
        lot = f"{name}'s lot"
        self.record("made", made, {lot: Leg(1, ceiling=COLD, body={"source": self.names.setdefault(lot, len(self.names) + 1)})})
        body: dict[str, Any] = {"declared_mc": COLD, "extra": [[25_000, out]]}
        self.record(
            "receive", "2026-02-01 12:00", {lot: Leg(), name: Leg(60_000_000, location=place, ceiling=COLD, body=body)}, ((lot, name),)
        )
        self.sources[self.names[lot]] = source_of(self.names[lot], kind)

    def move(self, name: str, local: str, place: int) -> Key:
        return self.record("move", local, {name: Leg(location=place, ceiling=CEILING[place])})

    def cut(self, name: str, kit: str, local: str, place: int = CLEAN) -> Key:
        return self.record(
            "cut", local, {name: Leg(-2_000_000), kit: Leg(2_000_000, location=place, ceiling=CEILING[place])}, ((name, kit),)
        )

    def lay(self, name: str, part: str, local: str) -> Key:
        return self.record("lay", local, {name: Leg(-850_000), part: Leg()}, ((name, part),))

    def state(self, name: str) -> State:
        return self.ledger.done.states[self.names[name]]

    def read(self, name: str, local: str, limit: str = "out life") -> Reading:
        """The oldest reading of a limit, if the thing lies where it is until then."""
        state, at = self.state(name), us(local)
        assert state.since is not None and at >= state.since
        when = Moment(at, state.ceiling, ZONE, since=state.since)
        found = [r for r in life.read_all(state.at(at).totals(), self.sources, when) if r.limit.name == limit]
        return max(found, key=lambda r: r.used or 0)

    def out(self, name: str, local: str) -> str:
        return duration(self.read(name, local).used or 0)

    def at_key(self, name: str, key: Key) -> State:
        return self.ledger.done.after[self.names[name]][key]


def monday() -> Yard:
    """Monday morning, as far as the tests here need it."""
    yard = Yard()
    yard.roll("U-3", "U", hours(52))
    yard.move("U-3", "2026-03-27 16:30", CLEAN)
    yard.roll("T-2", "T", hours(31))
    yard.move("T-2", "2026-03-29 19:00", CLEAN)
    yard.roll("T-4", "T", 0)
    yard.move("T-4", "2026-03-30 06:30", CLEAN)
    yard.roll("U-4", "U", hours(11) - hours(2))
    yard.move("U-4", "2026-03-27 12:00", CLEAN)
    yard.cut("U-4", "K-31", "2026-03-27 14:00")
    yard.move("U-4", "2026-03-27 15:10", F1)
    yard.move("K-31", "2026-03-27 15:10", F1)
    yard.move("K-31", "2026-03-30 07:15", CLEAN)
    yard.roll("FA-9-1", "F", hours(18, 30), F2)
    yard.cut("FA-9-1", "FK-12", "2026-03-25 09:00", F2)
    yard.move("FK-12", "2026-03-30 07:15", CLEAN)
    return yard


@pytest.fixture
def yard() -> Yard:
    return monday()


def test_a_roll_forgotten_over_the_clock_change_counts_elapsed_hours(yard: Yard) -> None:
    assert yard.out("U-3", "2026-03-27 16:30") == "52 h 00"
    assert yard.out("U-3", "2026-03-30 07:30") == "114 h 00"
    yard.move("U-3", "2026-03-30 07:40", F1)
    assert yard.out("U-3", "2026-03-30 07:40") == "114 h 10"  # 115 h 10 would be wall-clock arithmetic
    assert yard.out("U-3", "2026-04-15 12:00") == "114 h 10"
    assert yard.read("U-3", "2026-03-30 07:40").left == hours(5, 50)


def test_its_tack_life_was_over_on_saturday(yard: Yard) -> None:
    yard.move("U-3", "2026-03-30 07:40", F1)
    tack = yard.read("U-3", "2026-03-30 08:10", "tack life")
    assert tack.over and tack.ends_us is not None
    assert day_text(tack.ends_us, ZONE) == "Sat 28 Mar 12:30"
    assert not yard.read("U-3", "2026-03-30 08:10").over


def test_out_life_would_end_before_the_cure_if_it_were_taken_out_now(yard: Yard) -> None:
    yard.move("U-3", "2026-03-30 07:40", F1)
    state, at = yard.state("U-3"), us("2026-03-30 08:10")
    when = Moment(at, CEILING[CLEAN], ZONE, since=state.since)
    reasons = life.judge(life.read_all(state.at(at).totals(), yard.sources, when), "lay", when, {"cure": us("2026-03-30 17:00")})
    assert {(r.code, r.numbers["limit"]) for r in reasons} == {("life.over", "tack life"), ("life.too_short", "out life")}
    assert next(r for r in reasons if r.code == "life.too_short").numbers["ends_us"] == us("2026-03-30 14:00")


def test_in_autumn_the_hour_that_comes_twice_counts_twice() -> None:
    yard = Yard()
    yard.roll("U-9", "U", 0)
    yard.move("U-9", "2026-10-25 01:30", CLEAN)
    yard.move("U-9", "2026-10-25 03:30", F1)
    assert yard.out("U-9", "2026-10-26 00:00") == "3 h 00"


def test_a_thawed_roll_opens_with_its_hours_and_one_taken_out_since_morning_is_not_thawed(yard: Yard) -> None:
    yard.record("open", "2026-03-30 08:20", {"T-2": Leg(body={"dry": True})})
    assert yard.out("T-2", "2026-03-30 08:20") == "44 h 20"
    assert yard.state("T-2").opened == yard.state("T-2").dry == us("2026-03-30 08:20")
    assert yard.state("T-2").thaw_from == us("2026-03-29 19:00")
    assert us("2026-03-30 08:20") - (yard.state("T-4").thaw_from or 0) == hours(1, 50)


def test_a_half_thawed_return_thaws_the_whole_time_again(yard: Yard) -> None:
    yard.move("T-4", "2026-03-30 16:25", F1)
    assert yard.out("T-4", "2026-03-30 16:25") == "9 h 55"
    assert yard.state("T-4").frozen and yard.state("T-4").thaw_from is None
    yard.move("T-4", "2026-03-31 06:00", CLEAN)
    assert yard.state("T-4").thaw_from == us("2026-03-31 06:00")
    assert yard.out("T-4", "2026-03-31 06:00") == "9 h 55"


def test_a_delivery_starts_with_the_hours_of_the_label_and_of_the_logger() -> None:
    yard = Yard()
    yard.roll("T-7", "T", hours(6) + hours(9, 20))
    assert yard.out("T-7", "2026-03-30 09:00") == "15 h 20"


def test_a_kit_inherits_the_hours_of_its_roll_and_runs_its_own(yard: Yard) -> None:
    assert yard.out("U-4", "2026-03-30 07:00") == "12 h 10"
    assert yard.out("K-31", "2026-03-30 07:15") == "12 h 10"
    tack, out = (yard.read("K-31", "2026-03-30 08:16", name) for name in ("tack life", "out life"))
    assert (tack.used, tack.left, out.left) == (hours(13, 11), hours(58, 49), hours(106, 49))
    assert yard.state("K-31").thaw_from == us("2026-03-30 07:15")


@pytest.fixture
def rudder(yard: Yard) -> Yard:
    return laid_up(yard)


def laid_up(yard: Yard) -> Yard:
    yard.record("start", "2026-03-30 07:00", {"RUD-073": Leg(1, location=CLEAN, ceiling=CEILING[CLEAN])})
    yard.lay("K-31", "RUD-073", "2026-03-30 08:16")
    yard.lay("T-2", "RUD-073", "2026-03-30 08:32")
    yard.lay("T-2", "RUD-073", "2026-03-30 08:34")
    yard.lay("FK-12", "RUD-073", "2026-03-30 08:40")
    yard.record("bag", "2026-03-30 13:30", {"RUD-073": Leg()})
    yard.move("RUD-073", "2026-03-30 15:40", OVEN)
    return yard


def by_lot(yard: Yard, name: str, local: str) -> dict[str, str]:
    """Out time by what was laid."""
    state, names = yard.state(name).at(us(local)), {v: k for k, v in yard.names.items()}
    spent = {names[t.source][0]: sum(u for c, u in t.spent if c > COLD) for t in state.totals()}
    return {kind: duration(u) for kind, u in spent.items()}


def test_loading_stops_no_clock_and_the_start_of_heating_does(rudder: Yard) -> None:
    assert by_lot(rudder, "RUD-073", "2026-03-30 15:52") == {"U": "20 h 47", "T": "51 h 52", "F": "27 h 07"}
    rudder.record("cure_on", "2026-03-30 15:52", {"RUD-073": Leg()})
    assert by_lot(rudder, "RUD-073", "2026-03-30 16:04") == {"U": "20 h 47", "T": "51 h 52", "F": "27 h 07"}


def test_a_start_that_tripped_below_forty_degrees_is_void_and_the_gap_counts(rudder: Yard) -> None:
    rudder.record("cure_on", "2026-03-30 15:52", {"RUD-073": Leg()})
    rudder.record("cure_abort", "2026-03-30 16:04", {"RUD-073": Leg(body={"void_start": True, "part_mc": 34_000})})
    rudder.record("cure_on", "2026-03-30 16:20", {"RUD-073": Leg()})
    at_restart = {"U": "21 h 15", "T": "52 h 20", "F": "27 h 35"}
    assert by_lot(rudder, "RUD-073", "2026-03-30 16:20") == at_restart
    rudder.record("cure_off", "2026-03-30 18:30", {"RUD-073": Leg()})
    rudder.move("RUD-073", "2026-03-30 19:00", CLEAN)
    assert by_lot(rudder, "RUD-073", "2026-05-01 12:00") == at_restart
    assert rudder.state("RUD-073").cured == us("2026-03-30 18:30")


def test_a_trip_that_nobody_records_until_the_run_is_over_comes_to_the_same(rudder: Yard) -> None:
    rudder.record("cure_on", "2026-03-30 15:52", {"RUD-073": Leg()})
    rudder.record("cure_on", "2026-03-30 16:20", {"RUD-073": Leg()})
    rudder.record("cure_off", "2026-03-30 18:30", {"RUD-073": Leg()})
    assert by_lot(rudder, "RUD-073", "2026-03-30 18:30")["U"] == "20 h 47"
    rudder.record("cure_abort", "2026-03-30 16:04", {"RUD-073": Leg(body={"void_start": True})})
    assert by_lot(rudder, "RUD-073", "2026-03-30 18:30")["U"] == "21 h 15"


def test_a_trip_above_the_temperature_leaves_the_start_as_it_was(rudder: Yard) -> None:
    rudder.record("cure_on", "2026-03-30 15:52", {"RUD-073": Leg()})
    rudder.record("cure_abort", "2026-03-30 16:04", {"RUD-073": Leg(body={"void_start": False, "part_mc": 71_000})})
    rudder.record("cure_on", "2026-03-30 16:20", {"RUD-073": Leg()})
    assert by_lot(rudder, "RUD-073", "2026-03-30 16:20")["U"] == "20 h 47"


def test_an_oven_trip_twelve_minutes_in_never_stopped_the_clocks() -> None:
    yard = Yard()
    yard.roll("U-5", "U", hours(20))
    yard.record("start", "2026-03-09 08:00", {"RUD-062": Leg(1, location=CLEAN, ceiling=CEILING[CLEAN])})
    yard.move("U-5", "2026-03-09 08:00", CLEAN)
    yard.lay("U-5", "RUD-062", "2026-03-09 09:00")
    yard.record("cure_on", "2026-03-09 16:00", {"RUD-062": Leg()})
    yard.record("cure_abort", "2026-03-09 16:12", {"RUD-062": Leg(body={"void_start": True, "part_mc": 34_000})})
    assert yard.out("RUD-062", "2026-03-09 16:12") == "28 h 12"
    assert yard.out("RUD-062", "2026-03-09 20:00") == "32 h 00"


def test_a_late_scan_shows_that_the_roll_was_over_before_the_kit_was_cut() -> None:
    yard = Yard()
    yard.roll("U-2", "U", hours(96))
    yard.record("start", "2026-03-09 07:00", {"RUD-061": Leg(1, location=CLEAN, ceiling=CEILING[CLEAN])})
    cut = yard.cut("U-2", "K-22", "2026-03-09 08:00")
    yard.lay("K-22", "RUD-061", "2026-03-09 10:00")
    on = yard.record("cure_on", "2026-03-09 16:00", {"RUD-061": Leg()})
    yard.record("cure_off", "2026-03-09 19:00", {"RUD-061": Leg()})
    yard.record("ship", "2026-03-18 10:00", {"RUD-061": Leg(-1)})
    assert out_at(yard, "U-2", cut) == "96 h 00" and out_at(yard, "RUD-061", on) == "104 h 00"
    yard.move("U-2", "2026-03-06 15:00", CLEAN)  # tablet 2 comes back, three weeks late
    assert out_at(yard, "U-2", cut) == out_at(yard, "K-22", cut) == "161 h 00"
    assert out_at(yard, "RUD-061", on) == "169 h 00"
    assert yard.state("RUD-061").gone == "shipped"


def out_at(yard: Yard, name: str, key: Key) -> str:
    return duration(max(sum(u for c, u in t.spent if c > COLD) for t in yard.at_key(name, key).totals()))


def test_the_late_scan_tells_since_when_the_roll_was_over() -> None:
    yard = Yard()
    yard.roll("U-2", "U", hours(96))
    cut = yard.cut("U-2", "K-22", "2026-03-09 08:00")
    yard.move("U-2", "2026-03-06 15:00", CLEAN)
    state = yard.at_key("U-2", cut)
    when = Moment(cut[0], state.ceiling, ZONE, since=state.since)
    out = next(r for r in life.read_all(state.totals(), yard.sources, when) if r.limit.name == "out life")
    assert out.over and (out.used, out.allowed) == (hours(161), hours(120))
    assert out.ends_us == us("2026-03-07 15:00") and day_text(out.ends_us, ZONE) == "Sat 7 Mar 15:00"
    reasons = life.judge([out], "cut", when)
    assert [r.code for r in reasons] == ["life.over"] and "Sat 7 Mar 15:00" in reasons[0].text


# --- a freezer's power cut: Friday 6 February 2026 19:10, product above −12 °C for 8 h 05 ---------------------------------


@pytest.fixture
def power_cut() -> Yard:
    return in_the_freezers()


def in_the_freezers() -> Yard:
    """Three rolls in F2: one stays, one is moved to F1 half-way, one is moved out and brought back while it lasts."""
    yard = Yard()
    for name in ("stays", "leaves", "visits", "elsewhere"):
        yard.roll(name, "U", 0, F1 if name == "elsewhere" else F2)
    yard.move("leaves", "2026-02-06 23:10", F1)
    yard.move("visits", "2026-02-06 20:10", F1)
    yard.move("visits", "2026-02-06 21:40", F2)
    return yard


def charge(yard: Yard, *names: str) -> None:
    body = {"until_us": us("2026-02-07 03:15"), "ceiling_mc": 3_800, "place": F2}
    yard.record("expose", "2026-02-06 19:10", {name: Leg(body=body) for name in names})


def test_an_excursion_charges_what_was_inside_for_as_long_as_it_was_inside(power_cut: Yard) -> None:
    charge(power_cut, "stays", "leaves", "visits", "elsewhere")
    told = {name: power_cut.out(name, "2026-02-09 08:00") for name in ("stays", "leaves", "visits", "elsewhere")}
    assert told == {"stays": "8 h 05", "leaves": "4 h 00", "visits": "6 h 35", "elsewhere": "0 min"}
    assert [power_cut.state(n).cycles for n in ("stays", "leaves")] == [0, 0]


def test_an_excursion_recorded_before_a_late_move_is_charged_only_its_part() -> None:
    yard = Yard()
    yard.roll("leaves", "U", 0, F2)
    charge(yard, "leaves")
    assert yard.out("leaves", "2026-02-09 08:00") == "8 h 05"
    yard.move("leaves", "2026-02-06 23:10", F1)
    assert yard.out("leaves", "2026-02-09 08:00") == "4 h 00"


def test_an_excursion_reaches_the_kit_that_was_cut_while_it_lasted() -> None:
    yard = Yard()
    yard.roll("roll", "U", 0, F2)
    yard.cut("roll", "kit", "2026-02-06 21:10", F2)
    charge(yard, "roll", "kit")
    assert yard.out("roll", "2026-02-09 08:00") == yard.out("kit", "2026-02-09 08:00") == "8 h 05"


def test_two_excursions_that_overlap_charge_each_hour_once_and_at_the_hotter() -> None:
    yard = Yard()
    yard.roll("roll", "U", 0, F2)
    charge(yard, "roll")
    yard.record("expose", "2026-02-06 22:10", {"roll": Leg(body={"until_us": us("2026-02-06 23:10"), "ceiling_mc": 9_000, "place": F2})})
    spent = dict(yard.state("roll").at(us("2026-02-09 08:00")).spent)
    assert (spent[3_800], spent[9_000]) == (hours(7, 5), hours(1))


def test_the_film_of_the_thirtieth_of_september_lasts_through_the_thirtieth_of_march() -> None:
    film = Source(1, "FA-9", 1, (Limit("storage", "calendar", "laid", months=6),), made_us=us("2025-09-30 00:00"))
    for local, over in (("2026-03-30 23:59", False), ("2026-03-31 00:00", True)):
        when = Moment(us(local), COLD, ZONE)
        assert life.read(film.limits[0], replace(EMPTY, source=1), film, when).over is over
    assert calendar_end_us(us("2025-09-30 00:00"), 6, ZONE) == us("2026-03-31 00:00")


EMPTY = life.Exposure(1)


def test_a_roll_cut_from_its_outer_end_takes_its_map_along() -> None:
    yard = Yard()
    marks = [[31_000_000, 31_400_000, "bad"], [72_000_000, 72_000_000, "splice"]]
    yard.record("receive", "2026-03-01 08:00", {"G6-4": Leg(100_000_000, location=CLEAN, ceiling=25_000, body={"marks": marks})})
    yard.record("cut", "2026-03-30 10:40", {"G6-4": Leg(-30_000_000)})
    assert yard.state("G6-4").marks == ((1_000_000, 1_400_000, "bad"), (42_000_000, 42_000_000, "splice"))
    yard.record("cut", "2026-03-30 10:50", {"G6-4": Leg(-1_200_000)})
    assert yard.state("G6-4").marks == ((0, 200_000, "bad"), (40_800_000, 40_800_000, "splice"))


def test_a_count_sets_the_book_and_remembers_the_difference() -> None:
    yard = Yard()
    yard.record("receive", "2026-03-01 08:00", {"C-12": Leg(18_400_000, location=CLEAN, ceiling=25_000)})
    yard.record("count", "2026-03-30 10:00", {"C-12": Leg(counted=18_060_000)})
    yard.record("cut", "2026-03-30 10:20", {"C-12": Leg(-6_200_000)})
    state = yard.state("C-12")
    assert (state.qty, state.adjusted, state.low) == (11_860_000, -340_000, 11_860_000)


def test_a_late_use_before_the_count_changes_the_difference_and_not_the_book() -> None:
    yard = Yard()
    yard.record("receive", "2026-03-01 08:00", {"C-12": Leg(18_400_000, location=CLEAN, ceiling=25_000)})
    yard.record("count", "2026-03-30 10:00", {"C-12": Leg(counted=18_060_000)})
    yard.record("use", "2026-03-29 10:00", {"C-12": Leg(-200_000)})
    assert (yard.state("C-12").qty, yard.state("C-12").adjusted) == (18_060_000, -140_000)
