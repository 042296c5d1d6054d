"""Every address of the service, and the pages for what went wrong."""

from django.contrib import admin
from django.urls import include, path

urlpatterns = [
    path("admin/", admin.site.urls),
    path("api/", include("api.urls")),
    path("", include("layups.pages.urls")),
    path("", include("inventory.pages.urls")),
]
handler400 = "inventory.pages.errors.bad_request"
handler403 = "inventory.pages.errors.forbidden"
handler404 = "inventory.pages.errors.not_found"
handler500 = "inventory.pages.errors.broken"
