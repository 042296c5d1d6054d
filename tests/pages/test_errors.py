"""What went wrong has a page of its own: it says what happened and what to do, in the shop's frame where that is possible."""

from __future__ import annotations

import pytest
from django.test import Client, RequestFactory, override_settings

from inventory.pages import errors

from .browsing import Browser
from .store import Store


def test_an_address_that_does_not_exist_keeps_the_frame_for_who_is_signed_in(ines: Browser) -> None:
    page = ines.get("/nowhere/at/all/")
    assert page.status == 404 and page.headings == 1 and "There is nothing here" in page.text
    assert 'href="/stock/"' in page.source and "Ines" in page.source


@pytest.mark.django_db
def test_it_also_stands_without_anybody_signed_in() -> None:
    response = Client().get("/nowhere/")
    assert response.status_code == 404 and b"There is nothing here" in response.content and b"/stock/" not in response.content


def test_a_method_that_an_address_does_not_take_says_so(yard: Store, ines: Browser) -> None:
    response = ines.client.post("/stock/")
    assert response.status_code == 405 and "GET" in response.headers["Allow"]
    assert b"Not like this" in response.content and response.headers["Cache-Control"] == "no-store"
    assert ines.client.get(f"/i/{yard.code('C-12')}/scan/").status_code == 405
    assert ines.client.get("/sign-out/").status_code == 405


def test_an_expired_form_says_that_nothing_was_recorded(yard: Store, ines: Browser) -> None:
    strict = Client(enforce_csrf_checks=True)
    strict.force_login(yard.yard.user["ines"])
    response = strict.post(f"/i/{yard.code('C-12')}/scan/", {"code": "F1"})
    assert response.status_code == 403 and b"This form has expired" in response.content and b"Nothing was recorded" in response.content


@pytest.mark.django_db
def test_bad_requests_and_forbidden_ones_have_words(rf: RequestFactory) -> None:
    assert errors.bad_request(rf.get("/")).status_code == 400
    answer = errors.forbidden(rf.get("/"))
    assert answer.status_code == 403 and b"You may not do this" in answer.content


def test_our_own_fault_asks_no_database_and_shows_nothing_of_it(ines: Browser, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*args: object) -> None:
        raise RuntimeError("secret detail")

    monkeypatch.setattr("inventory.pages.stock.usable_now", broken)
    ines.client.raise_request_exception = False
    with override_settings(DEBUG=False):
        response = ines.client.get("/stock/")
    assert response.status_code == 500 and b"Something broke on our side" in response.content
    assert b"secret detail" not in response.content and response.content.count(b"<h1") == 1


def test_a_fault_without_a_database_still_has_its_page(rf: RequestFactory) -> None:
    assert errors.broken(rf.get("/")).status_code == 500


@pytest.mark.parametrize(
    "path", ["/i/%00/", "/i/%F0%9F%92%A9/", "/stock/%3Cscript%3E/", "/places/..%2F..%2Fetc/", "/find/?q=%00%1d%ff", "/records/?person=zz"]
)
def test_a_strange_address_is_never_our_fault(ines: Browser, path: str) -> None:
    assert ines.get(path).status in (200, 404, 422)
