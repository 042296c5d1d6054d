"""Hostile text in any part is shown as text: it never becomes markup, a handler or a style."""

from __future__ import annotations

import pytest
from django import forms

from inventory.core.limits import Limit, Reading, Source
from inventory.core.reasons import Reason
from inventory.core.spans import HOUR_US
from inventory.templatetags import tables
from tests.pages.parts import HOSTILE, NOW, render, tags_of


class _Hostile(forms.Form):
    x = forms.CharField(label=HOSTILE, help_text=HOSTILE)
    c = forms.ChoiceField(label=HOSTILE, choices=[(HOSTILE, HOSTILE)], widget=forms.RadioSelect)
    t = forms.BooleanField(label=HOSTILE)


def _hostile_form() -> forms.Form:
    form = _Hostile({"x": HOSTILE, "c": HOSTILE})
    form.full_clean()
    form.add_error("x", HOSTILE)
    form.add_error(None, HOSTILE)
    return form


@pytest.mark.parametrize(
    "source",
    [
        "{% status h note=h %}",
        "{% code h h %}",
        "{{ h|figures }}",
        "{% verdict reasons title=h offer=h offer_url=h tone=h %}",
        "{% verdict none title=h yes=h offer=h %}",
        "{% countdown 1774851000000000 what=h stop=h %}",
        "{% sentences rows label=h %}",
        "{% timeline movements %}",
        "{% table h columns cells %}",
        "{% pager h h h %}",
        "{% empty h hint=h url=h action=h %}",
        "{% scanbox h placeholder=h label=h name=h intent=h button=h %}",
        "{% field form.x unit=h hint=h %}{% field form.c %}{% field form.t %}{% errors form %}",
        "{% lifeline reading %}{% lifeline unknown %}",
        "{% banners %}",
    ],
)
def test_hostile_text_is_shown_and_never_becomes_markup(source: str) -> None:
    row = {"urgency": HOSTILE, "text": HOSTILE, "url": HOSTILE, "action": HOSTILE, "action_url": HOSTILE}
    move = {
        "when_us": NOW,
        "verb": HOSTILE,
        "text": HOSTILE,
        "person": HOSTILE,
        "device": HOSTILE,
        "void": HOSTILE,
        "marks": [HOSTILE],
        "url": HOSTILE,
    }
    limit = Limit(HOSTILE, "above", HOSTILE, limit_us=HOUR_US)
    message = type("Message", (), {"level_tag": HOSTILE, "message": HOSTILE})()
    html = render(
        source,
        h=HOSTILE,
        reasons=[Reason(HOSTILE, HOSTILE), HOSTILE],
        none=[],
        rows=[row],
        movements=[move],
        columns=[tables.Column(HOSTILE), tables.Column(HOSTILE)],
        cells=[[HOSTILE, HOSTILE]],
        form=_hostile_form(),
        reading=Reading(Source(1, HOSTILE, 1), limit, False, 1, HOUR_US),
        unknown=Reading(Source(1, HOSTILE, 1), limit, True, missing=HOSTILE),
        messages=[message],
    )
    found = tags_of(html)
    assert found
    assert not {"script", "img"} & {tag for tag, _ in found}
    assert not [(tag, name) for tag, attrs in found for name in attrs if name.startswith("on") or name == "style"]
    assert "&lt;script&gt;" in html
