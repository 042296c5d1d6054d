"""Addresses of the shelf's pages. Names are used by `frames.PLACES` and by templates."""

from __future__ import annotations

from django.contrib.auth.views import LogoutView
from django.urls import path

from . import doing, signing

urlpatterns = [
    path("sign-in/", signing.SignIn.as_view(), name="sign-in"),
    path("sign-out/", LogoutView.as_view(next_page="/sign-in/"), name="sign-out"),
    path("badge/", signing.badge, name="badge"),
    path("badge/back/", signing.badge_back, name="badge-back"),
    path("do/<slug:name>/", doing.do, name="do"),
    path("no-person/", signing.no_person, name="no-person"),
]
