"""Addresses of the screens of what is built. Names are used by `inventory.pages.frames` and `ways`."""

from __future__ import annotations

from django.urls import path

from . import cases, decide, deeds, defects, demand, designs, inbox, overview, part, parts, recalls, runs, several, tracing, trying, wall

urlpatterns = [
    path("parts/", parts.parts, name="parts"),
    path("parts/start/", parts.start, name="part-start"),
    path("parts/lay-many/", several.several, name="lay-many"),
    path("parts/<str:number>/", part.part, name="part"),
    path("parts/<str:number>/undo/", part.undo, name="part-undo"),
    path("parts/<str:number>/chart/", runs.lone, name="part-chart"),
    path("parts/<str:number>/<slug:slug>/", deeds.deed, name="part-deed"),
    path("wall/", wall.wall, name="wall"),
    path("runs/", runs.runs, name="runs"),
    path("runs/<path:number>/", runs.run, name="run"),
    path("layup/", trying.layup, name="layup"),
    path("designs/", designs.designs, name="designs"),
    path("designs/<str:code>/", designs.design, name="design"),
    path("designs/<str:code>/demand/", demand.demand, name="design-demand"),
    path("quality/", inbox.inbox, name="quality"),
    path("quality/case/<int:pk>/", cases.case, name="nonconformance"),
    path("quality/<slug:slug>/", decide.decide, name="decide"),
    path("trace/", tracing.trace, name="trace"),
    path("trace/recall/<str:code>/", recalls.recall, name="recall"),
    path("trace/recall/<str:code>/list.csv", recalls.sheet, name="recall-csv"),
    path("trace/<str:code>/", tracing.trace, name="trace"),
    path("overview/", overview.overview, name="overview"),
    path("defects/", defects.defects, name="defects"),
]
