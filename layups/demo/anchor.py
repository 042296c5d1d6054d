"""When: the demo is anchored on a Monday, so that it always ends this week. "A-24" is 24 days before that Monday."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta

from inventory.core.spans import local_date, zone_of

ZONE = "Europe/Copenhagen"
MINUTE_US = 60_000_000
HOUR_US = 60 * MINUTE_US
DAY_US = 24 * HOUR_US


@dataclass(frozen=True, slots=True)
class Anchor:
    """`monday`: day 0. Days are counted on the wall calendar of the shop, so that 07:00 is 07:00 on either side of a
    clock change; the instants themselves are µs UTC."""

    monday: date
    zone: str = ZONE

    def day(self, days: int) -> date:
        return self.monday + timedelta(days=days)

    def at(self, days: int, clock: str = "00:00", second: int = 0) -> int:
        """The instant of a local time on a day, in µs: at(-3, "16:30") is the Friday before, half past four."""
        hour, minute = (int(part) for part in clock.split(":"))
        day = self.day(days)
        local = datetime(day.year, day.month, day.day, hour, minute, second, tzinfo=zone_of(self.zone))
        return int(local.timestamp()) * 1_000_000

    def text(self, days: int) -> str:
        """The day as a label prints it: 2026-03-30."""
        return self.day(days).isoformat()


def this_week(now_us: int) -> Anchor:
    """The anchor of an instant: the Monday of its week on the shop's calendar."""
    today = local_date(now_us, ZONE)
    return Anchor(today - timedelta(days=today.weekday()))
