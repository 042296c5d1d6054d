"""Addresses of the interface. Every verb of the table has one; reads stand beside them."""

from __future__ import annotations

from django.urls import path, re_path

from inventory.verbs.registry import VERBS
from inventory.worksheets.registry import WORKSHEETS

from . import (
    count_reads,
    demand_reads,
    design_reads,
    files,
    labels,
    log_reads,
    numbers,
    part_reads,
    pictures,
    reads,
    recipe_reads,
    run_reads,
    scans,
    shelf,
    trial,
    value_reads,
)
from .nowhere import Nowhere
from .replay import Replay
from .schema_view import Description
from .verbs import view_of

urlpatterns = [
    path("openapi.json", Description.as_view(), name="api-schema"),
    *(path(f"verbs/{name}/", view_of(name), name=f"api-do-{name}") for name in sorted(VERBS)),
    *(path(f"numbers/{name}/", numbers.view_of(name), name=f"api-numbers-{name}") for name in sorted(WORKSHEETS)),
    path("numbers/layup/", trial.LayupTrial.as_view(), name="api-numbers-layup"),
    path("replay/", Replay.as_view(), name="api-replay"),
    path("items/", reads.Items.as_view(), name="api-items"),
    path("items/<str:code>/", reads.OneItem.as_view(), name="api-item"),
    path("items/<str:code>/balance/", reads.LotBalance.as_view(), name="api-balance"),
    path("items/<str:code>/trace/", part_reads.Trace.as_view(), name="api-trace"),
    path("parts/", part_reads.Parts.as_view(), name="api-parts"),
    path("parts/<str:number>/", part_reads.OnePart.as_view(), name="api-part"),
    path("runs/", run_reads.Runs.as_view(), name="api-runs"),
    path("runs/<str:number>/", run_reads.OneRun.as_view(), name="api-run"),
    path("files/", files.Files.as_view(), name="api-files"),
    path("designs/", design_reads.Designs.as_view(), name="api-designs"),
    path("designs/<str:design>/", design_reads.OneDesign.as_view(), name="api-design"),
    path("designs/<str:design>/demand/", demand_reads.DesignDemand.as_view(), name="api-design-demand"),
    path("recipes/", recipe_reads.Recipes.as_view(), name="api-recipes"),
    path("recipes/<str:recipe>/", recipe_reads.OneRecipe.as_view(), name="api-recipe"),
    path("recipes/<str:recipe>/forecast/", recipe_reads.RecipeForecast.as_view(), name="api-recipe-forecast"),
    path("logs/", log_reads.Logs.as_view(), name="api-logs"),
    path("logs/<str:log>/", log_reads.OneLog.as_view(), name="api-log"),
    path("jobs/", log_reads.Jobs.as_view(), name="api-jobs"),
    path("jobs/<str:job>/", log_reads.OneJob.as_view(), name="api-job"),
    path("jobs/<str:job>/cancel/", log_reads.CancelJob.as_view(), name="api-job-cancel"),
    path("scan/", scans.Scan.as_view(), name="api-scan"),
    path("scan/picture/", pictures.ScanPicture.as_view(), name="api-scan-picture"),
    path("labels/", labels.Labels.as_view(), name="api-labels"),
    path("labels/<str:code>/", labels.Picture.as_view(), name="api-label"),
    path("materials/", reads.Materials.as_view(), name="api-materials"),
    path("materials/<str:material>/values/", value_reads.Values.as_view(), name="api-values"),
    path("places/", reads.Places.as_view(), name="api-places"),
    path("places/counts/", count_reads.CountPlaces.as_view(), name="api-count-places"),
    path("counts/", count_reads.Counts.as_view(), name="api-counts"),
    path("counts/<str:count>/", count_reads.OneCount.as_view(), name="api-count"),
    path("acts/", reads.Acts.as_view(), name="api-acts"),
    path("refusals/", reads.Refusals.as_view(), name="api-refusals"),
    path("inbox/", reads.Findings.as_view(), name="api-inbox"),
    path("findings/", reads.OpenFindings.as_view(), name="api-findings"),
    path("holds/", reads.Holds.as_view(), name="api-holds"),
    path("expiring/", reads.Expiring.as_view(), name="api-expiring"),
    path("usable/", reads.Usable.as_view(), name="api-usable"),
    path("shelf/", shelf.Shelf.as_view(), name="api-shelf"),
    path("needs/", reads.Needs.as_view(), name="api-needs"),
    re_path(r"^", Nowhere.as_view(), name="api-nowhere"),
]
