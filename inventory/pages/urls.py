"""Addresses of the shelf's pages. Names are used by `frames.PLACES` and by templates."""

from __future__ import annotations

from django.contrib.auth.views import LogoutView
from django.urls import path

from . import (
    certificates,
    doing,
    finding,
    importing,
    itemforms,
    items,
    materials,
    mixing,
    numbers,
    places,
    receive,
    recipes,
    records,
    signing,
    stock,
    today,
)

urlpatterns = [
    path("", today.today, name="today"),
    path("find/", finding.find, name="find"),
    path("i/<str:code>/", items.item, name="item"),
    path("i/<str:code>/scan/", items.scan, name="item-scan"),
    path("i/<str:code>/open/", itemforms.open_item, name="item-open"),
    path("i/<str:code>/cut/", itemforms.cut, name="item-cut"),
    path("i/<str:code>/count/", itemforms.count, name="item-count"),
    path("i/<str:code>/leftover/", itemforms.leftover, name="item-leftover"),
    path("files/<int:pk>/", items.attachment, name="attachment"),
    path("stock/", stock.stock, name="stock"),
    path("stock/<str:code>/", materials.material, name="material"),
    path("receive/", receive.receive, name="receive"),
    path("receive/new/", receive.new, name="receive-new"),
    path("receive/delivery/", receive.delivery, name="delivery"),
    path("receive/rows/", receive.rows, name="receive-rows"),
    path("receive/file/", importing.import_file, name="receive-import"),
    path("receive/opening/", receive.opening, name="receive-opening"),
    path("receive/papers/", certificates.papers, name="papers"),
    path("mix/", mixing.mix, name="mix"),
    path("recipes/", recipes.recipe_list, name="recipes"),
    path("recipes/<str:code>/", recipes.recipe, name="recipe"),
    path("numbers/", numbers.numbers, name="numbers"),
    path("numbers/<slug:name>/", numbers.worksheet, name="worksheet"),
    path("places/", places.places, name="places"),
    path("places/<str:code>/", places.place, name="place"),
    path("peroxides/", places.fire, name="fire"),
    path("records/", records.records, name="records"),
    path("records/<int:pk>/", records.record, name="record"),
    path("refused/", records.refusals, name="refusals"),
    path("sign-in/", signing.SignIn.as_view(), name="sign-in"),
    path("sign-out/", LogoutView.as_view(next_page="/sign-in/"), name="sign-out"),
    path("badge/", signing.badge, name="badge"),
    path("badge/back/", signing.badge_back, name="badge-back"),
    path("do/<slug:name>/", doing.do, name="do"),
    path("no-person/", signing.no_person, name="no-person"),
]
