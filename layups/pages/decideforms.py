"""The forms of quality's decisions. Fields carry the verbs' own names, so that what is not understood finds its field."""

from __future__ import annotations

from typing import Any

from django import forms
from django.forms.widgets import DateTimeInput, Textarea, TextInput

from inventory import attachments
from inventory.core.said import say
from inventory.models import Location
from inventory.pages.deeds import PageForm
from inventory.pages.door import Shop
from inventory.pages.measures import Measure
from inventory.verbs.deciding import MEANINGS


class DecideForm(PageForm):
    """A decision; the password stands beside the button, never in the form."""

    def __init__(self, *args: Any, shop: Shop, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.shop = shop


def names(label: str, help_text: str = "") -> forms.CharField:
    """Marks or labels, one a line."""
    return forms.CharField(required=False, max_length=20_000, label=label, help_text=help_text, widget=Textarea({"rows": 3}))


EVIDENCE = say("Evidence")
RESTS_ON = say("The test, the file or the report that it rests on.")


def evidence(label: str = EVIDENCE, required: bool = True, help_text: str = RESTS_ON) -> forms.CharField:
    return forms.CharField(required=required, max_length=500, label=label, help_text=help_text, widget=Textarea({"rows": 2}))


def file() -> forms.FileField:
    return forms.FileField(
        required=False, label=say("The file"), help_text=say("{known}. It is kept with the record, as it is.", known=attachments.KNOWN)
    )


def kept() -> forms.CharField:
    """The hash of a file that came with an earlier try of the same form: it need not be chosen again."""
    return forms.CharField(required=False, max_length=64, widget=forms.HiddenInput)


def why(required: bool = False) -> forms.CharField:
    return forms.CharField(required=required, max_length=500, label=say("Reason"), widget=Textarea({"rows": 2}))


class ReleaseForm(DecideForm):
    items = names(say("Pieces"), say("Marks or labels, one a line; or the number of a lot."))
    delivery = forms.CharField(required=False, max_length=40, label=say("Or a whole delivery"))
    evidence = evidence(say("What it rests on, beyond the papers on file"), required=False, help_text="")
    file, attachment = file(), kept()
    reason = why()


class TransportForm(DecideForm):
    delivery = forms.CharField(required=False, max_length=40, label=say("Delivery"))
    items = names(say("Or single pieces"), say("Marks or labels, one a line."))
    evidence = evidence(help_text=say("The logger’s file. The time above the line stays charged."))
    reason = why()


class ReturnForm(DecideForm):
    item = forms.CharField(max_length=4096, label=say("Piece"))
    reason = why(required=True)
    reference = forms.CharField(required=False, max_length=120, label=say("The supplier’s claim number"))


class HoldForm(DecideForm):
    item = forms.CharField(max_length=4096, label=say("What is held"), help_text=say("Anything with a label, or a lot by its number."))
    reason = forms.CharField(
        max_length=240, label=say("Reason"), help_text=say("People read it when they scan what is held."), widget=Textarea({"rows": 2})
    )
    scope = forms.ChoiceField(
        label=say("How far"),
        choices=[("all", say("it, and everything made of it")), ("stock", say("what is left of it; what was made so far goes on"))],
    )
    recall = forms.BooleanField(required=False, label=say("It is a recall"))
    second_person = forms.BooleanField(required=False, label=say("Letting it go needs a second person"))


class LetGoForm(DecideForm):
    item = forms.CharField(max_length=4096, label=say("What is held"))
    only = names(say("Free only these"), say("Marks or labels of things made of it, one a line. Empty: all of it."))
    evidence = evidence()
    about = forms.CharField(
        required=False,
        max_length=60,
        label=say("What the evidence was gained on"),
        help_text=say("A material, a lot, a product or a run. It frees nothing else."),
    )
    reason = why()
    hold = forms.IntegerField(required=False, min_value=1, max_value=2**53, label=say("Which hold, where there are several"))


class CountersignForm(DecideForm):
    record = forms.IntegerField(min_value=1, max_value=2**53, label=say("Record that waits for a second person"))
    reason = why()


class ExtendAskForm(DecideForm):
    item = forms.CharField(max_length=4096, label=say("Piece or lot"), help_text=say("Of a lot, its unopened pieces."))
    months = forms.IntegerField(min_value=1, max_value=120, label=say("Months"), help_text=say("The next step of the supplier’s ladder."))
    value = forms.CharField(
        required=False, max_length=60, label=say("What the retest showed"), widget=TextInput({"placeholder": say("24.1 MPa")})
    )
    sample = forms.CharField(required=False, max_length=4096, label=say("On which piece of the lot"))
    evidence = evidence(required=False)
    file, attachment = file(), kept()
    limit = forms.CharField(required=False, max_length=60, label=say("Which limit, where several can be extended"))
    reason = why()


class ExtendForm(DecideForm):
    item = forms.CharField(max_length=4096, label=say("Piece or lot"))
    limit = forms.CharField(required=False, max_length=60, label=say("Which limit, where several wait"))
    reason = why()


class DisposeForm(DecideForm):
    item = forms.CharField(max_length=4096, label=say("What is decided on"))
    meaning = forms.ChoiceField(label=say("Decision"), choices=[("", say("choose")), *MEANINGS.items()])
    reference = forms.CharField(
        required=False,
        max_length=120,
        label=say("Approval reference"),
        help_text=say("Of the design authority or the customer: needed for use as is and repair."),
    )
    file, attachment = file(), kept()
    reason = why()
    nonconformance = forms.IntegerField(required=False, min_value=1, max_value=2**53, widget=forms.HiddenInput)


class VoidForm(DecideForm):
    record = forms.IntegerField(min_value=1, max_value=2**53, label=say("Record"))
    reason = forms.CharField(
        max_length=500,
        label=say("What was wrong with it"),
        help_text=say("It stays readable, with this reason."),
        widget=Textarea({"rows": 2}),
    )


class BaselineForm(DecideForm):
    item = forms.CharField(max_length=4096, label=say("Piece with an unknown history"))
    out_time = forms.CharField(
        max_length=40, label=say("Out time that it is taken to have used"), widget=TextInput({"placeholder": "12 h"})
    )
    reason = why(required=True)


class ExposeForm(DecideForm):
    place = forms.ChoiceField(label=say("Freezer"))
    from_us = forms.DateTimeField(
        label=say("Product above the line from"), widget=DateTimeInput({"type": "datetime-local"}, format="%Y-%m-%dT%H:%M")
    )
    to_us = forms.DateTimeField(label=say("to"), widget=DateTimeInput({"type": "datetime-local"}, format="%Y-%m-%dT%H:%M"))
    warmest = Measure(unit="°C", max_length=20, label=say("Product probe at most"), widget=TextInput({"inputmode": "decimal"}))
    charged = forms.CharField(
        required=False,
        max_length=40,
        label=say("Time charged"),
        help_text=say("Where only the time above the line is known, such as 8 h 05. Empty: all of it."),
    )
    line = Measure(
        unit="°C",
        required=False,
        max_length=20,
        label=say("The specification’s line"),
        help_text=say("Empty: the one of all that was inside."),
    )
    air_time = forms.CharField(
        required=False, max_length=40, label=say("Air above its line, beside it"), widget=TextInput({"placeholder": "14 h 30"})
    )
    air_warmest = Measure(unit="°C", required=False, max_length=20, label=say("Air at most"))
    evidence = evidence(help_text=say("The product probe’s file."))
    reason = why()

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        rows = Location.objects.filter(site=self.shop.site, retired_us__isnull=True, storage__high_mc__lte=0).order_by("code")
        self.fields["place"].choices = [("", say("choose")), *((p.code, say("{code} {name}", code=p.code, name=p.name)) for p in rows)]  # type: ignore[attr-defined]
