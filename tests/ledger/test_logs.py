"""Loggers' files become logs of a place, and what a product probe saw is charged to what lay there (R16)."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from inventory import jobs, logs
from inventory.core.temperature import parse_celsius
from inventory.models import Act, Calibration, Probe, TemperatureLog
from inventory.reads import logs as reads
from inventory.verbs.loggers import Calibrate, ChargeLog, TakeLog, WithdrawLog
from inventory.verbs.moving import Move
from inventory.verbs.receiving import ReceivedPiece
from inventory.verbs.voiding import Void
from tests.ledger.bench import HOUR, MINUTE, Bench, clock, day, prepreg, reading
from tests.ledger.loggers import calibrated, csv_of, failed, handed_in, taken, worked

pytestmark = pytest.mark.django_db
FRIDAY, SATURDAY = day(2026, 3, 13), day(2026, 3, 14)
BEGIN, END = clock("12:00", FRIDAY), clock("16:00", SATURDAY)
PROBE = (clock("23:00", FRIDAY), clock("07:05", SATURDAY))
"""The product was above −12 °C for 8 h 05."""


def product(at: int) -> int:
    """A trapezium that is above −12 °C in just that time: up to −4 °C."""
    up, down = PROBE
    if up <= at <= down:
        return -12_000 + min(8_000, (at - up) * 8_000 // HOUR, (down - at) * 8_000 // HOUR)
    return max(-20_000, -12_000 - abs(at - (up if at < up else down)) * 8_000 // HOUR)


def air(at: int) -> int:
    return 3_800 if clock("19:10", FRIDAY) <= at < clock("09:40", SATURDAY) else -19_000


@pytest.fixture
def bench() -> Bench:
    """T-1 stays in F2; T-2 leaves it two hours into the event."""
    bench = Bench()
    for mark in ("T-1", "T-2"):
        bench.do("receive", prepreg(ReceivedPiece("5 m", mark), place="F2", delivery=f"D-{mark}"), at=clock("08:00", day(2026, 3, 9)))
    bench.do("move", Move("T-2", "F1"), at=PROBE[0] + 2 * HOUR)
    return bench


def out_of(bench: Bench, mark: str) -> int:
    return int(reading(mark, "out", bench).used)


def charge(log: TemperatureLog, **more: Any) -> ChargeLog:
    return replace(ChargeLog(log.pk, PROBE[0] + HOUR, reason="power cut"), **more)


# --- taking it in ---------------------------------------------------------------------------------------------


def test_a_file_becomes_a_log_with_its_layout_its_span_and_its_figures(bench: Bench) -> None:
    log = taken(bench, csv_of(BEGIN, END, product))
    assert (log.first_us, log.last_us, log.readings) == (BEGIN, END, 28 * 12 + 1)
    assert (log.least_mc, log.most_mc, log.known_us) == (-20_000, -4_000, END - BEGIN)
    assert log.kinetic_mc is not None and log.mean_mc is not None and log.mean_mc < log.kinetic_mc < log.most_mc
    assert "semicolons" in log.doc and "day first" in log.doc and "Battery" in log.doc
    at, mc = logs.readings_of(log)
    assert at.tolist() == list(range(BEGIN, END + 1, 5 * MINUTE)) and mc.tolist() == [product(t) for t in at.tolist()]


def test_what_was_not_understood_is_told_by_its_lines(bench: Bench) -> None:
    lines = csv_of(BEGIN, END, product).decode().split("\n")
    lines[10] = lines[10].split(";")[0] + ";open;3,1"
    del lines[40:60]
    log = taken(bench, "\n".join(lines).encode())
    view_doc = log.doc
    assert '"left_lines":1' in view_doc and "[11,11," in view_doc and '"gap_count":1' in view_doc


def test_the_same_key_takes_a_file_once(bench: Bench) -> None:
    p = TakeLog(handed_in(bench, csv_of(BEGIN, END, product)), "P-F2", "F2", measures="product")
    first, again = (bench.do("take_log", p, key="log").data for _ in range(2))
    assert first["job"] == again["job"] and again["again"]
    worked(bench)
    assert TemperatureLog.objects.count() == 1


def test_a_log_is_of_a_place_or_of_a_delivery(bench: Bench) -> None:
    sha = handed_in(bench, csv_of(BEGIN, END, product))
    for p in (TakeLog(sha, "P", measures="air"), TakeLog(sha, "P", "F2", "D-T-1", measures="air")):
        assert bench.not_understood("take_log", p).reason.code == "log.of_what"
    assert bench.not_understood("take_log", TakeLog("0" * 64, "P", "F2", measures="air")).reason.code == "attachment.unknown"
    assert bench.not_understood("take_log", TakeLog(sha, "P", delivery="D-none", measures="air")).reason.code == "delivery.unknown"


def test_a_new_probe_says_what_it_measures_and_a_known_one_keeps_it(bench: Bench) -> None:
    sha = handed_in(bench, csv_of(BEGIN, END, product))
    assert bench.not_understood("take_log", TakeLog(sha, "P-F2", "F2")).reason.code == "probe.new"
    assert bench.not_understood("take_log", TakeLog(sha, " ", "F2")).reason.code == "probe.needed"
    bench.do("take_log", TakeLog(sha, "P-F2", "F2", measures="product"))
    assert bench.not_understood("take_log", TakeLog(sha, "p-f2", "F2", measures="air")).reason.code == "probe.measures"
    bench.do("take_log", TakeLog(sha, "p-f2", "F2"))
    assert Probe.objects.count() == 1


def test_a_log_of_another_year_of_the_future_or_in_the_wrong_unit_is_refused(bench: Bench) -> None:
    data = csv_of(BEGIN, END, product)
    assert failed(bench, data, from_day="2025-03-13", to_day="2025-03-14") == "tlog.other_year"
    assert failed(bench, data, from_day="2026-02-13", to_day="2026-02-14") == "tlog.other_time"
    assert (
        bench.not_understood("take_log", TakeLog(handed_in(bench, data), "P", "F2", measures="air", from_day="2026-03-13")).where
        == "to_day"
    )
    assert failed(bench, csv_of(END + 400 * 24 * HOUR, END + 401 * 24 * HOUR, product)) == "log.future"
    warm = csv_of(BEGIN, END, lambda at: 1000 * round(product(at) * 9 / 5 / 1000 + 32))
    assert failed(bench, warm) == "tlog.wrong_unit", "figures in °F under a heading that says °C"
    assert TemperatureLog.objects.count() == 0


def test_a_failed_freezer_is_no_wrong_unit_when_the_unit_is_said(bench: Bench) -> None:
    warm = csv_of(BEGIN, END, lambda at: 4_000)
    assert failed(bench, warm) == "tlog.wrong_unit"
    assert taken(bench, warm, unit="°C").most_mc == 4_000


def test_the_zone_may_be_named_or_be_an_offset(bench: Bench) -> None:
    data = csv_of(BEGIN, END, product)
    assert taken(bench, data, probe="A", zone="UTC").first_us == BEGIN + HOUR
    assert taken(bench, data, probe="B", zone="+02:00").first_us == BEGIN - HOUR
    assert bench.not_understood("take_log", TakeLog(handed_in(bench, data), "C", "F2", measures="air", zone="Nowhere")).where == "zone"


def test_one_probe_says_one_thing_at_a_time(bench: Bench) -> None:
    """A longer export of the same logger goes on from the last; other readings at the same time do not."""
    first = taken(bench, csv_of(BEGIN, END - 4 * HOUR, product))
    longer = taken(bench, csv_of(BEGIN, END, product))
    assert f"Log {first.pk} has" in longer.doc
    assert failed(bench, csv_of(BEGIN, END, product)) == "log.again"
    assert failed(bench, csv_of(BEGIN, END, lambda at: product(at) + 100)) == "log.differs"
    assert failed(bench, csv_of(BEGIN + MINUTE, END, product)) == "log.differs", "the same minutes are read at other minutes"
    assert failed(bench, csv_of(BEGIN, END, product), place="F1") == "log.elsewhere"
    assert taken(bench, csv_of(BEGIN, END, air), probe="A-F2", measures="air", unit="°C").pk, "another probe is another matter"


def test_a_wrong_log_is_withdrawn_and_the_right_one_takes_its_place(bench: Bench) -> None:
    wrong = taken(bench, csv_of(BEGIN, END, air), unit="°C")
    assert bench.not_understood("withdraw_log", WithdrawLog(wrong.pk, " "), "Odile").where == "reason"
    for _ in range(2):
        bench.do("withdraw_log", WithdrawLog(wrong.pk, "the air probe's file"), "Odile")
    assert taken(bench, csv_of(BEGIN, END, product)).pk
    again = TemperatureLog.objects.get(pk=wrong.pk)
    assert again.withdrawn.reason == "the air probe's file"
    assert "log.withdrawn" in bench.refused("charge_log", charge(wrong, word="why not"), "Odile")


def test_one_file_with_several_probes_asks_which(bench: Bench) -> None:
    lines = [line.replace(";Battery", ";T2 [°C]").replace(";3,1", ";-18.5") for line in csv_of(BEGIN, END, product).decode().split("\n")]
    data = "\n".join(lines).encode()
    assert failed(bench, data) == "log.several_probes"
    assert taken(bench, data, column="T2 [°C]").most_mc == -18_500


# --- calibration --------------------------------------------------------------------------------------------------


def test_a_probe_past_its_calibration_is_marked_until_another_is_entered(bench: Bench) -> None:
    log = taken(bench, csv_of(BEGIN, END, product))
    zone = bench.yard.site.zone
    assert "No calibration" in logs.why_no_evidence(log, zone)
    calibrated(bench, due="2026-03-13")
    assert "due on 2026-03-13" in logs.why_no_evidence(log, zone), "its log runs on into the next day"
    calibrated(bench, done="2026-03-14", due="2026-09-14")
    calibrated(bench, done="2026-03-14", due="2026-09-14")
    assert logs.why_no_evidence(log, zone) == "" and Calibration.objects.count() == 2
    assert bench.not_understood("calibrate", Calibrate("P-F2", "2026-03-14", "2026-03-13"), "Odile").where == "due"
    assert bench.not_understood("calibrate", Calibrate("P-F2", "2026-12-01", "2026-12-31"), "Odile").where == "done"
    assert bench.not_understood("calibrate", Calibrate("P-none", "2026-03-01", "2026-03-13"), "Odile").where == "probe"


# --- charging -------------------------------------------------------------------------------------------------------


def test_a_log_charges_each_thing_for_the_time_that_it_lay_there(bench: Bench) -> None:
    log = taken(bench, csv_of(BEGIN, END, product))
    taken(bench, csv_of(BEGIN, END, air), probe="A-F2", measures="air", unit="°C")
    calibrated(bench)
    told = bench.do("charge_log", charge(log), "Odile", key="charge")
    assert {mark: out_of(bench, mark) for mark in ("T-1", "T-2")} == {"T-1": PROBE[1] - PROBE[0], "T-2": 2 * HOUR}
    assert told.data["charged"] == {"T-1": PROBE[1] - PROBE[0], "T-2": 2 * HOUR}
    assert told.data["air_us"] == pytest.approx(14.5 * HOUR, abs=10 * MINUTE), "noted beside, not charged"
    assert f"log {log.pk} of P-F2" in Act.objects.get(kind="expose").body
    assert bench.do("charge_log", charge(log), "Odile", key="charge").replay, "the same key twice is once"
    assert set(bench.refused("charge_log", charge(log), "Odile")) == {"expose.charged_already"}
    assert out_of(bench, "T-1") == PROBE[1] - PROBE[0]


def test_what_is_listed_says_which_line_whose_time_and_whether_it_is_charged(bench: Bench) -> None:
    log = taken(bench, csv_of(BEGIN, END, product))
    calibrated(bench)
    view = reads.view(log, bench.yard.site.zone)
    assert [(line.mc, line.charges) for line in view.lines] == [(-18_000, False), (-12_000, True)]
    band, line = sorted(view.warm, key=lambda w: w.line.mc)
    assert (line.excursion.start_us, line.excursion.end_us, line.excursion.peak_mc) == (*PROBE, -4_000)
    assert (line.touches, line.lowest, line.record) == (2, True, None)
    assert band.excursion.start_us < PROBE[0] and not band.lowest
    assert view.above_us[-12_000] == PROBE[1] - PROBE[0]
    act = bench.do("charge_log", charge(log), "Odile").receipts[0].act
    assert {w.record for w in reads.view(log, bench.yard.site.zone).warm} == {act}


def test_the_air_charges_nothing_and_is_told_why(bench: Bench) -> None:
    log = taken(bench, csv_of(BEGIN, END, air), probe="A-F2", measures="air", unit="°C")
    calibrated(bench, "A-F2")
    assert set(bench.refused("charge_log", charge(log), "Odile")) == {"log.air_probe"}


def test_a_log_out_of_calibration_charges_only_on_qualitys_word(bench: Bench) -> None:
    log = taken(bench, csv_of(BEGIN, END, product))
    assert set(bench.refused("charge_log", charge(log), "Odile")) == {"log.not_evidence"}
    assert set(bench.refused("charge_log", charge(log, word="checked in ice water"), "Ines")) == {"role.not_allowed"}
    bench.do("charge_log", charge(log, word="checked in ice water"), "Odile")
    assert "not in calibration, believed: checked in ice water" in Act.objects.get(kind="expose").body
    assert out_of(bench, "T-2") == 2 * HOUR


def test_a_time_that_was_cold_enough_charges_nothing(bench: Bench) -> None:
    log = taken(bench, csv_of(BEGIN, END, product))
    calibrated(bench)
    assert bench.not_understood("charge_log", charge(log, at_us=BEGIN), "Odile").reason.code == "log.no_event"
    assert bench.not_understood("charge_log", charge(log, line="0 °C"), "Odile").reason.code == "log.no_event"
    assert bench.not_understood("charge_log", charge(log, line="warm"), "Odile").where == "line"
    assert bench.not_understood("charge_log", ChargeLog(99, PROBE[0]), "Odile").reason.code == "log.unknown"
    assert parse_celsius("-12 °C") == -12_000 and Act.objects.filter(kind="expose").count() == 0


def test_a_charge_that_was_void_can_be_made_again(bench: Bench) -> None:
    log = taken(bench, csv_of(BEGIN, END, product))
    calibrated(bench)
    first = bench.do("charge_log", charge(log), "Odile")
    assert set(bench.refused("withdraw_log", WithdrawLog(log.pk, "wrong"), "Odile")) == {"log.charged"}
    for receipt in first.receipts:
        bench.do("void", Void(receipt.act, "wrong line"), "Odile")
    bench.do("charge_log", charge(log), "Odile")
    assert out_of(bench, "T-1") == PROBE[1] - PROBE[0]


def test_a_job_that_was_cancelled_leaves_no_log(bench: Bench) -> None:
    bench.do("take_log", TakeLog(handed_in(bench, csv_of(BEGIN, END, product)), "P-F2", "F2", measures="product"))
    job = jobs.seen_by(bench.yard.site.pk, bench.yard.who("Ines").person).get()
    jobs.cancel(job, bench.yard.who("Ines").person, bench.now_us)
    assert worked(bench).state == "cancelled" and TemperatureLog.objects.count() == 0
