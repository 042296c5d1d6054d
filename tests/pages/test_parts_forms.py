"""Forms, scan boxes and the frame around every page."""

from __future__ import annotations

import re

from django.template.loader import render_to_string
from django.test import RequestFactory

from inventory.pages import Frame, NavItem, gallery, navigation
from tests.pages.parts import NOW, render, tags_of, text_of

# --- forms -----------------------------------------------------------------------------------------


def test_a_field_ties_label_unit_help_and_error_to_its_control() -> None:
    form = gallery.CutForm({"length": "12.00"})
    form.full_clean()
    form.add_error("length", "11.86 m left")
    html = render('{% field form.length unit="m" %}', form=form)
    control = next(a for tag, a in tags_of(html) if tag == "input")
    ids = (control["aria-describedby"] or "").split()
    assert ids == ["id_length_error", "id_length_helptext", "id_length_unit"]
    assert set(ids) <= {a.get("id") for _, a in tags_of(html)}
    assert control["aria-invalid"] == "true"
    assert [a["for"] for tag, a in tags_of(html) if tag == "label"] == [control["id"]]


def test_a_choice_of_buttons_is_a_group_with_a_legend() -> None:
    html = render("{% field form.bag %}", form=gallery.CutForm())
    assert "<legend" in html
    assert len([1 for tag, a in tags_of(html) if tag == "input" and a.get("type") == "radio"]) == 2


def test_a_tick_box_has_its_label_once_and_after_it() -> None:
    html = render("{% field form.dry %}", form=gallery.CutForm())
    assert [tag for tag, _ in tags_of(html) if tag in ("input", "label")] == ["input", "label"]


def test_errors_are_summed_up_with_links_to_their_fields() -> None:
    form = gallery.CutForm({"length": "x"})
    html = render("{% errors form %}", form=form)
    assert 'role="alert"' in html
    assert 'href="#id_length"' in html
    assert not render("{% errors form %}", form=gallery.CutForm()).strip()


def test_the_key_is_in_the_form_without_script_and_new_each_time() -> None:
    one, two = render("{% formkey %}"), render("{% formkey %}")
    assert re.search(r'name="key" value="[0-9a-f]{8}-[0-9a-f-]{27}"', one)
    assert one != two
    assert 'value="kept"' in render("{% formkey %}", form_key="kept")


def test_a_scan_box_that_posts_carries_token_key_and_intent_and_one_that_finds_carries_none() -> None:
    post = render('{% scanbox "/take-out/" intent="take-out" %}', csrf_token="t")
    names = [a.get("name") for tag, a in tags_of(post) if tag == "input"]
    assert names == ["csrfmiddlewaretoken", "key", "intent", "code"]
    assert "data-once" in post
    find = render('{% scanbox "/find/" method="get" name="q" once=False %}', csrf_token="t")
    assert [a.get("name") for tag, a in tags_of(find) if tag == "input"] == ["q"]
    assert "data-key" not in find


def test_a_pot_whose_time_is_over_says_so_without_script() -> None:
    html = render('{% countdown us what="M-1" stop="Stop: pot life over" %}', us=NOW)
    assert text_of(html) == "M-1 Stop: pot life over stop by 07:40"
    assert "Stop: pot" not in text_of(render('{% countdown us stop="Stop: pot life over" %}', us=NOW + 1))


# --- the frame -------------------------------------------------------------------------------------


def _page(**context: object) -> str:
    return render_to_string("inventory/parts_gallery.html", gallery.context() | context, request=RequestFactory().get("/parts/"))


def test_the_gallery_has_one_main_heading_a_skip_link_and_nothing_inline() -> None:
    html = _page()
    found = tags_of(html)
    assert [tag for tag, _ in found].count("h1") == 1
    assert found[[tag for tag, _ in found].index("body") + 1][1]["href"] == "#content"
    assert "style" not in {tag for tag, _ in found}
    assert not [(tag, name) for tag, attrs in found for name in attrs if name == "style" or name.startswith("on")]
    assert all(a.get("src") for tag, a in found if tag == "script")


def test_ids_on_the_gallery_are_unique() -> None:
    ids = [a["id"] for _, a in tags_of(_page()) if a.get("id")]
    assert len(ids) == len(set(ids))


def test_the_frame_leaves_out_what_it_is_not_given() -> None:
    html = _page(frame=Frame())
    assert "<nav" not in html.split("<main")[0]
    assert "Sign out" not in html


def test_signing_out_is_a_post_with_a_token() -> None:
    html = _page()
    assert re.search(r'<form method="post" action="/sign-out/"><input type="hidden" name="csrfmiddlewaretoken"', html)


def test_navigation_shows_what_the_role_may_see_and_marks_the_nearest_page() -> None:
    items = [NavItem("Morning", "/"), NavItem("Stock", "/stock/"), NavItem("Release", "/release/", roles=frozenset({"quality"}))]
    seen = navigation(items, ["storekeeper"], "/stock/U-3/")
    assert [(i.label, i.current) for i in seen] == [("Morning", False), ("Stock", True)]
    assert [i.label for i in navigation(items, ["quality", "builder"], "/") if i.current] == ["Morning"]
    assert not [i for i in navigation(items, [], "/stockings/") if i.current]
