"""Loggers' files for tests: made up, minute by minute."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from zoneinfo import ZoneInfo

from inventory import attachments, jobs
from inventory.models import Job, TemperatureLog
from inventory.verbs.loggers import Calibrate, TakeLog
from tests.ledger.bench import MINUTE, Bench

CPH = ZoneInfo("Europe/Copenhagen")


def csv_of(from_us: int, to_us: int, mc: Callable[[int], int], step_us: int = 5 * MINUTE, unit: str = "°C", zone: ZoneInfo = CPH) -> bytes:
    """A log with its heading, in local time, one reading each step."""
    rows = ["Logger export;;", "Serial;4711;", f"Date/Time;Temperature [{unit}];Battery"]
    for at in range(from_us, to_us + 1, step_us):
        wall = datetime.fromtimestamp(at / 1e6, tz=zone)
        rows.append(f"{wall:%d.%m.%Y %H:%M:%S};{mc(at) / 1000:.3f};3,1".replace(".", ",", 0))
    return "\n".join(rows).encode()


def handed_in(bench: Bench, data: bytes, name: str = "probe.csv", who: str = "Ines") -> str:
    return str(attachments.keep([data], name, bench.yard.who(who), bench.now_us).sha256)


def worked(bench: Bench) -> Job:
    """Work what waits; the last job."""
    jobs.run_due(lambda: bench.now_us)
    found = Job.objects.order_by("pk").last()
    assert found is not None
    return found


def taken(bench: Bench, data: bytes, place: str = "F2", probe: str = "P-F2", measures: str = "product", **more: str) -> TemperatureLog:
    """A log that was handed in and read."""
    bench.do("take_log", TakeLog(handed_in(bench, data), probe, place, measures=measures, **more))
    job = worked(bench)
    assert job.state == "done", job.error
    return TemperatureLog.objects.select_related("probe", "location__storage", "delivery").get(pk=jobs.result_of(job)["log"])


def failed(bench: Bench, data: bytes, place: str = "F2", probe: str = "P-F2", measures: str = "product", **more: str) -> str:
    """The code by which a log was not taken in."""
    bench.do("take_log", TakeLog(handed_in(bench, data), probe, place, measures=measures, **more))
    job = worked(bench)
    assert job.state == "failed", job.state
    return str(jobs.result_of(job)["code"])


def calibrated(bench: Bench, probe: str = "P-F2", done: str = "2026-01-10", due: str = "2027-01-09") -> None:
    bench.do("calibrate", Calibrate(probe, done, due, "certificate 88"), "Odile")
