"""The dates on a lot's label: day of manufacture and printed last day, as instants."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from inventory.core.reasons import BadInput
from inventory.core.said import say
from inventory.core.spans import DateText, local_date, parse_date_text, start_of_day_us
from inventory.models import LifeLimit, Lot

from .papers import ReceivedLot
from .registry import Call

UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True)
class LotDates:
    """`made_us`: the first instant of the day of manufacture (of the month, where the label gives no day: the careful
    reading). `printed_us`: the first instant after the printed last day. None: not known. `said_…`: as said this time;
    a lot that is known already keeps what was recorded first."""

    made_us: int | None
    printed_us: int | None
    said_made_us: int | None = None
    said_printed_us: int | None = None


def read_dates(call: Call, said: ReceivedLot, limits: Sequence[LifeLimit], row: Lot | None) -> LotDates:
    """BadInput date.* of `parse_date_text`, date.future, date.before_manufacture, lot.made_needed, lot.printed_needed."""
    made, printed = _date(said.made, "made"), _date(said.printed, "printed")
    zone = call.who.zone
    made_us = start_of_day_us(_first_day(made), zone) if made else None
    printed_us = printed.end_us(zone) if printed else None
    if made_us is not None and made_us > call.at_us:
        text = say("Made on {made}, but today is {at}: read the label again.", made=made, at=local_date(call.at_us, zone))
        raise BadInput("date.future", text, "made", made=str(made))
    if made and printed and printed.last_day < _first_day(made):
        text = say("The last day {printed} lies before the day of manufacture {made}: read the label again.", printed=printed, made=made)
        raise BadInput("date.before_manufacture", text, "printed", printed=str(printed), made=str(made))
    if row is not None:
        return LotDates(row.made_us, row.printed_us, made_us, printed_us)
    clocks = {limit.clock for limit in limits}
    if "calendar" in clocks and made is None and said.made.strip().casefold() != UNKNOWN:
        text = say(
            "Its life counts from the day of manufacture: type it as on the label, or “{unknown}” if the label has none.", unknown=UNKNOWN
        )
        raise BadInput("lot.made_needed", text, "made")
    if "printed" in clocks and printed is None and said.printed.strip().casefold() != UNKNOWN:
        text = say("Its life ends on the printed last day: type it as on the label, or “{unknown}” if the label has none.", unknown=UNKNOWN)
        raise BadInput("lot.printed_needed", text, "printed")
    return LotDates(made_us, printed_us, made_us, printed_us)


def _date(text: str, where: str) -> DateText | None:
    if not text.strip() or text.strip().casefold() == UNKNOWN:
        return None
    try:
        return parse_date_text(text)
    except BadInput as error:
        error.where = where
        raise


def _first_day(day: DateText) -> date:
    return date(day.year, day.month, day.day or 1)
