"""The forms of `deeds`: few fields, the usual answer first."""

from __future__ import annotations

from typing import Any

from django import forms
from django.forms.widgets import DateTimeInput, Textarea, TextInput
from django.http import HttpRequest

from inventory.core.said import say, say_as
from inventory.models import Customer, Location
from inventory.pages.deeds import PageForm
from inventory.pages.door import Shop
from inventory.pages.measures import Measure
from layups.core.verdicts import DROP, KINDS
from layups.models import CureRun, Design
from layups.reads.part import PartPage
from layups.reads.standing import run_known

from .parts import typed_moment
from .widgets import Suggested, suggest

YES_NO = (("", say("the limit decides")), ("yes", say("passed")), ("no", say("failed")))
STEPS = (say("demoulded"), say("debulked"), say("surface prepared"), say("trimmed"), say("post-cured"), say("painted"), say("assembled"))


class DeedForm(PageForm):
    """A form for one part. Choices that stand in the database are filled in here."""

    def __init__(self, *args: Any, shop: Shop, page: PartPage, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.shop, self.page = shop, page
        if "place" in self.fields:
            self._choose("place", places(shop, self.kinds()), say("where it is"))
        if "customer" in self.fields:
            own = page.part.customer.name if page.part.customer else ""
            self._choose(
                "customer", [(c, c) for c in Customer.objects.order_by("name").values_list("name", flat=True)], own or say("choose")
            )

    def kinds(self) -> tuple[str, ...]:
        return ()

    def _choose(self, name: str, rows: list[tuple[str, str]], nothing: str) -> None:
        field: Any = self.fields[name]
        field.choices = [("", nothing), *rows]


def places(shop: Shop, kinds: tuple[str, ...] = ()) -> list[tuple[str, str]]:
    rows = Location.objects.filter(site=shop.site, retired_us__isnull=True).order_by("kind", "code")
    return [(p.code, say("{code} {name}", code=p.code, name=p.name)) for p in (rows.filter(kind__in=kinds) if kinds else rows)]


def initial(request: HttpRequest, form: type[DeedForm], page: PartPage, shop: Shop) -> dict[str, Any]:
    """What the address says, and what is planned."""
    known = {k: v for k, v in request.GET.items() if k in form.base_fields}
    if issubclass(form, RunForm):
        known["run"] = run_known(page)
    if form is PlanForm and page.part.planned_cure_us is not None:
        known.setdefault("when", typed_moment(page.part.planned_cure_us, shop))
    return known


class RunForm(DeedForm):
    """A press of the button says it all; the run stands in the form, so that a second press says the same."""

    run = forms.CharField(required=False, max_length=40, widget=forms.HiddenInput)


class BagForm(DeedForm):
    also = forms.CharField(
        required=False,
        max_length=2000,
        label=say("Also under this bag"),
        help_text=say("Further parts, one a line."),
        widget=Textarea({"rows": 2}),
    )


class DropForm(DeedForm):
    """The limit stands beside the field."""

    readings = Measure(
        unit="mbar", max_length=60, label=say("Pressure rise in 5 min"), widget=TextInput({"inputmode": "decimal", "autofocus": True})
    )
    instrument = forms.CharField(required=False, max_length=40, label=say("Gauge"), widget=Suggested({"placeholder": "VG-1"}))
    passed = forms.ChoiceField(required=False, label=say("Result"), choices=YES_NO)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        limit = self.page.part.design.drop_limit_pa
        if limit is not None:
            self.fields["readings"].help_text = say("At most {limit} mbar.", limit=f"{limit / 100:g}")
            self.fields["passed"].widget = forms.HiddenInput()
        suggest(self.fields["instrument"], instruments(DROP))


def instruments(kind: str = "") -> list[str]:
    """The instruments that were used for such tests, newest first."""
    from layups.models import Inspection

    rows = Inspection.objects.exclude(instrument="")
    rows = rows.filter(kind=kind) if kind else rows
    return list(dict.fromkeys(rows.order_by("-pk").values_list("instrument", flat=True)[:200]))[:12]


class LoadForm(DeedForm):
    place = forms.ChoiceField(label=say("Oven, press or tent"))
    run = forms.CharField(max_length=40, label=say("Run"), widget=Suggested({"placeholder": "CR-311"}))
    also = forms.CharField(
        required=False,
        max_length=2000,
        label=say("Also in this load"),
        help_text=say("Further parts, one a line."),
        widget=Textarea({"rows": 2}),
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        runs = CureRun.objects.filter(site=self.shop.site).order_by("-pk").values_list("number", flat=True)[:12]
        suggest(self.fields["run"], list(runs))
        ovens, others = places(self.shop, ("oven",)), places(self.shop, ("bay",))
        self._choose("place", [*ovens, *others], say("choose"))
        self.fields["run" if self.initial.get("place") else "place"].widget.attrs["autofocus"] = True


class AbortForm(RunForm):
    reached = Measure(
        unit="°C", max_length=20, label=say("The part’s temperature then"), widget=TextInput({"inputmode": "decimal", "autofocus": True})
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["reached"].help_text = say(
            "Below {cure_min} °C the start is void.", cure_min=f"{self.page.part.design.cure_min_mc / 1000:g}"
        )


class PlaceForm(DeedForm):
    place = forms.ChoiceField(required=False, label=say("Where it goes"))


class OffForm(RunForm):
    place = forms.ChoiceField(required=False, label=say("Where they go, if they are unloaded"))


class MoveForm(DeedForm):
    place = forms.ChoiceField(label=say("Where it goes"))


class StepForm(DeedForm):
    step = forms.ChoiceField(label=say("Step"), choices=[(s, s) for s in STEPS])
    other = forms.CharField(required=False, max_length=60, label=say("Or another one"))
    place = forms.ChoiceField(required=False, label=say("Where it goes"))
    note = forms.CharField(required=False, max_length=500, label=say("Note"), widget=Textarea({"rows": 2}))


class TestForm(DeedForm):
    kind = forms.ChoiceField(label=say("Test"), choices=[(k, name) for k, name in KINDS.items() if k != DROP])
    readings = forms.CharField(
        required=False,
        max_length=1200,
        label=say("Readings"),
        help_text=say("As read, blanks between them: 36 38 35 …"),
        widget=TextInput({"inputmode": "text"}),
    )
    instrument = forms.CharField(required=False, max_length=40, label=say("Tester"), widget=Suggested({"placeholder": "HT-1"}))
    passed = forms.ChoiceField(
        required=False, label=say("Result"), choices=YES_NO, help_text=say("Say it only where the design states no limit.")
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if self.page.part.design.hardness_min:
            self.fields["kind"].initial = "hardness"
            self.fields["kind"].help_text = say(
                "Hardness: the mean must be at least {hardness_min}.", hardness_min=self.page.part.design.hardness_min
            )
        suggest(self.fields["instrument"], instruments())


class DefectForm(DeedForm):
    defect = forms.CharField(
        max_length=40,
        label=say("What is wrong"),
        help_text=say("The shop’s own word for it."),
        widget=Suggested({"placeholder": say("soft laminate")}),
    )
    text = forms.CharField(required=False, max_length=2000, label=say("Where, and how much"), widget=Textarea({"rows": 3}))

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        suggest(self.fields["defect"], known_defects(self.shop))


def known_defects(shop: Shop) -> list[str]:
    from layups.models import Defect

    rows = Defect.objects.filter(part__item__site=shop.site)
    return sorted(set(rows.values_list("code", flat=True).distinct()))[:60]


class JoinForm(DeedForm):
    other = forms.CharField(max_length=4096, label=say("Scan the assembly"), widget=TextInput({"autofocus": True}))

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if self.page.part.design.kind == "assembly":
            self.fields["other"].label = say("Scan the component")


class ShipForm(DeedForm):
    customer = forms.ChoiceField(required=False, label=say_as("a customer", "To"))
    note = forms.CharField(required=False, max_length=200, label=say("Delivery note or hull number"))


class PlanForm(DeedForm):
    when = forms.DateTimeField(label=say("Start of cure"), widget=DateTimeInput({"type": "datetime-local"}, format="%Y-%m-%dT%H:%M"))


class CutForm(DeedForm):
    design = forms.ChoiceField(label=say("What the pieces are"))
    length = forms.CharField(max_length=40, label=say("Length of each"), widget=TextInput({"placeholder": "1.20 m"}))
    pieces = forms.CharField(
        max_length=20_000,
        label=say("Their numbers"),
        help_text=say("In the order in which they come off, one a line."),
        widget=Textarea({"rows": 5}),
    )
    place = forms.ChoiceField(required=False, label=say("Where they go"))
    customer = forms.ChoiceField(required=False, label=say("For"))

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        rows = Design.objects.filter(active=True, kind="part").order_by("code").values_list("code", "name")
        self._choose("design", [(c, say("{value} {count}", value=c, count=n)) for c, n in rows], say("choose"))
