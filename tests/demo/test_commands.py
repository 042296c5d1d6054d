"""The two commands of the demo shop: what they refuse, and what they say."""

from __future__ import annotations

import re
from io import StringIO

import pytest
from django.contrib.auth import authenticate
from django.core.management import CommandError, call_command

from inventory.models import Act, Item, Person, Site
from layups.demo import fixture, history

from .conftest import MONDAY

pytestmark = pytest.mark.django_db


@pytest.fixture
def short(monkeypatch: pytest.MonkeyPatch) -> None:
    """The named things instead of the whole history, at an instant of that Monday."""
    monkeypatch.setattr(history, "write", fixture.alone)
    monkeypatch.setattr("layups.management.commands.demo.now_us", lambda: MONDAY.at(2, "11:00"))


def demo(*arguments: str) -> str:
    said = StringIO()
    call_command("demo", *arguments, stdout=said)
    return said.getvalue()


def test_a_database_with_a_shop_in_it_is_refused() -> None:
    Site.objects.create(code="SHOP", name="Somebody's shop")
    with pytest.raises(CommandError, match="only made in an empty one"):
        demo()
    assert not Person.objects.exists()


@pytest.mark.parametrize(
    ("anchor", "said"), [("30.03.2026", "is not a day"), ("2026-02-30", "is not a day"), ("2099-01-01", "has not begun")]
)
def test_an_anchor_that_is_no_day_or_lies_ahead_is_refused_with_what_to_type(anchor: str, said: str) -> None:
    with pytest.raises(CommandError, match=said):
        demo("--anchor", anchor)
    assert not Site.objects.exists()


def test_everybody_signs_in_with_the_password_that_was_shown(short: None) -> None:
    said = demo()
    found = re.search(r"Sign in as ines, bram, tove, odile, marek, vera.*shown this once: (\S+)", said)
    assert found is not None
    assert authenticate(username="vera", password=found[1]) is not None
    assert "Quillstrand Boatyard: from 2024-09-30 to 2026-03-30" in said


def test_a_password_that_was_given_is_not_repeated(short: None) -> None:
    said = demo("--password", "hull and rudder", "--anchor", "2026-04-01")
    assert "hull and rudder" not in said
    assert authenticate(username="ines", password="hull and rudder") is not None


def test_nothing_is_recorded_after_the_present(short: None, monkeypatch: pytest.MonkeyPatch) -> None:
    early = MONDAY.at(0, "03:00")
    monkeypatch.setattr("layups.management.commands.demo.now_us", lambda: early)
    demo()
    newest = Act.objects.order_by("-recorded_us").values_list("recorded_us", flat=True)[0]
    assert newest <= early
    assert Item.objects.filter(mark="T-6", state__location__code="F1").exists()


def test_the_story_needs_the_demo_shop() -> None:
    with pytest.raises(CommandError, match="make it first"):
        call_command("story", stdout=StringIO())
