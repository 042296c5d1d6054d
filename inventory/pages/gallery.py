"""The gallery of parts: one page that shows each of them with the yard's examples, for people who build pages.

Only its look is real: nothing here reads or writes a record. Served in debug only, to people who have signed in.
"""

from __future__ import annotations

from django import forms
from django.conf import settings
from django.contrib.auth.decorators import login_required
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import render

from inventory.core.limits import Limit, Reading, Source
from inventory.core.reasons import Reason
from inventory.core.spans import HOUR_US, MINUTE_US
from inventory.pages import Frame, NavItem
from inventory.templatetags import shapes, words
from inventory.templatetags.tables import Column

NOW_US = 1_774_849_200_000_000  # Monday 30 March 2026, 07:40 in Copenhagen
ZONE = "Europe/Copenhagen"
_DAY = 24 * HOUR_US


class CutForm(forms.Form):
    """A form with one of each kind of control."""

    length = forms.DecimalField(
        label="Length off the roll", help_text="As cut, with the waste at both ends.", widget=forms.TextInput({"inputmode": "decimal"})
    )
    why = forms.ChoiceField(
        label="For", choices=[("", "Choose a part"), ("DAG-041", "DAG-041, daggerboard"), ("CAN-066", "CAN-066, canoe hull")]
    )
    bag = forms.ChoiceField(label="Bag dry?", widget=forms.RadioSelect, choices=[("yes", "Yes, dry all over"), ("no", "No, still wet")])
    dry = forms.BooleanField(label="I have looked at both ends of the roll", required=False)
    paper = forms.FileField(label="Ticket or photo", required=False)
    note = forms.CharField(label="Note", required=False, widget=forms.Textarea)


def _bad_form() -> CutForm:
    form = CutForm({"length": "12.00", "why": "CAN-066"})
    form.full_clean()
    form.add_error("length", "11.86 m left on C-12. C-13 has 48.00 m.")
    return form


def _reasons() -> dict[str, list[object]]:
    over = Reason("life.over", "Tack life is over since Sat 28 Mar 12:30: 114 h 10 of 72 h used.")
    return {
        "refused": [
            over,
            Reason("gate.held", "Waiting for quality: left out over the weekend."),
            Reason("thaw.short", "Frozen: 8 h of thaw, ready 16:10 if taken out now."),
            Reason("life.too_short", "Out life would end Mon 30 Mar 14:00, before the start of cure planned for Mon 30 Mar 17:00."),
        ],
        "one": [Reason("thaw.short", "Thawed 1 h 50 of 12 h: may be opened from 18:30. Its out time runs meanwhile.")],
        "capped": [Reason("mix.overdose", "15.0 % peroxide, the limit is 2.0 %. It would smoke.", cap=True)],
        "late": [Reason("thaw.short", "Opened after 55 min of 12 h: moisture risk. RUD-074 is on hold; cure may go on, shipping not.")],
    }


def _lives() -> list[Reading]:
    source = Source(1, "lot U25-118", 1)

    def limit(name: str, clock: str, point: str, hours: int | None = None) -> Limit:
        return Limit(name, clock, point, limit_us=hours * HOUR_US if hours else None)

    spent = 114 * HOUR_US + 10 * MINUTE_US
    return [
        Reading(source, limit("out life", "above", "cure", 120), False, spent, 120 * HOUR_US, NOW_US + 120 * HOUR_US - spent),
        Reading(source, limit("tack life", "above", "laid", 72), True, spent, 72 * HOUR_US, NOW_US - (spent - 72 * HOUR_US)),
        Reading(source, limit("storage", "calendar", "laid"), False, ends_us=NOW_US - 7 * HOUR_US - 40 * MINUTE_US + 78 * _DAY),
        Reading(source, limit("out life", "above", "cure", 504), False, 31 * HOUR_US, 504 * HOUR_US),
        Reading(source, limit("out life", "above", "cure", 504), True, 0, 504 * HOUR_US, missing="its earlier out time is unknown"),
    ]


def _morning() -> list[dict[str, object]]:
    return [
        {"urgency": "today", "text": "T-2 may be opened since 07:00. Its bag must be dry.", "action": "Open T-2", "action_url": "#t2"},
        {
            "urgency": "now",
            "text": "U-3 is out since Fri 27 Mar 16:30, planned back 17:30. Out 114 h 00 of 120 h; tack life ended Sat 28 Mar 12:30.",
            "action": "Return U-3",
            "action_url": "#u3",
        },
        {"urgency": "today", "text": "FA-9, film adhesive: last day today, 36.0 m on two rolls.", "url": "#fa9"},
        {"urgency": "soon", "text": "X4, MEKP: last day Tue 31 Mar, 1.50 kg.", "url": "#x4"},
        {"urgency": "note", "text": "PEEL-85: 38 m on hand; 100 m ordered, due Wed 1 Apr.", "url": "#peel"},
        {"urgency": "soon", "text": "D-118 arrives today: 3 rolls of GB-600, lot G7.", "action": "Receive", "action_url": "#d118"},
    ]


def _movements() -> list[dict[str, object]]:
    t = NOW_US
    return [
        {"when_us": t + 200 * MINUTE_US, "verb": "cut", "text": "6.20 m for kit K-40, DAG-041", "person": "Ines", "device": "bench tablet"},
        {
            "when_us": t + 160 * MINUTE_US,
            "verb": "counted by weight",
            "text": "18.06 m, book was 18.40 m, adjusted by −0.34 m",
            "person": "Ines",
            "void": "by Odile, 10:30: wrong core weight",
        },
        {
            "when_us": t - 3 * _DAY,
            "verb": "used",
            "text": "0.60 m in RUD-074, ply 2",
            "person": "Bram",
            "device": "tablet 2",
            "recorded_us": t,
            "marks": ["Recorded late: it was still thawing, 55 min of 12 h."],
        },
        {"when_us": t - 90 * _DAY, "verb": "received", "text": "50.00 m, lot C25-204, delivery D-091", "person": "Ines", "url": "#d91"},
    ]


def _rows() -> tuple[list[Column], list[list[object]]]:
    columns = [
        Column("Roll"),
        Column("Status"),
        Column("On hand", num=True),
        Column("Longest clear", num=True),
        Column("Where"),
        Column("Use first because", wide=True),
    ]
    rows: list[list[object]] = [
        [
            words.code_link("C-12", "#c12"),
            shapes.chip("fit"),
            words.qty(18_400_000, "um"),
            words.qty(18_400_000, "um"),
            "RACK",
            "oldest that is long enough",
        ],
        [words.code_link("C-13", "#c13"), shapes.chip("fit"), words.qty(48_000_000, "um"), words.qty(48_000_000, "um"), "RACK", ""],
        [
            words.code_link("C-9", "#c9"),
            shapes.chip("held"),
            words.qty(7_250_000, "um"),
            words.qty(6_100_000, "um"),
            "QUAR",
            "held by Odile: broken bag",
        ],
    ]
    return columns, rows


def context() -> dict[str, object]:
    """Everything that the gallery's template shows."""
    columns, rows = _rows()
    nav = (
        NavItem("This morning", "/", current=True),
        NavItem("Stock", "/stock/"),
        NavItem("Receive", "/receive/"),
        NavItem("Parts", "/parts-list/"),
        NavItem("Needs you", "/needs/", count=4),
        NavItem("Trace", "/trace/"),
    )
    return {
        "title": "The parts",
        "frame": Frame(
            "Quillstrand Boatyard",
            "Ines",
            ("storekeeper",),
            nav,
            home_url="/",
            scan_url="/find/",
            badge_url="/badge/",
            sign_out_url="/sign-out/",
        ),
        "zone": ZONE,
        "now_us": NOW_US,
        "morning": _morning(),
        **_reasons(),
        "none": [],
        "codes": list(shapes.STATUS),
        "lives": _lives(),
        "pot_running": NOW_US + 24 * MINUTE_US,
        "pot_ending": NOW_US + 4 * MINUTE_US,
        "pot_over": NOW_US - MINUTE_US,
        "columns": columns,
        "rows": rows,
        "movements": _movements(),
        "bad": _bad_form(),
        "good": CutForm(prefix="open"),
        "out_us": NOW_US - 62 * HOUR_US - 10 * MINUTE_US,
        "last_us": NOW_US - 7 * HOUR_US - 40 * MINUTE_US + 2 * _DAY,
        "nothing": None,
    }


@login_required
def gallery(request: HttpRequest) -> HttpResponse:
    """GET /parts/ in debug; elsewhere there is no such page."""
    if not settings.DEBUG:
        raise Http404
    return render(request, "inventory/parts_gallery.html", context())
