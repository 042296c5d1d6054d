"""Every address of the service."""

from importlib.util import find_spec

from django.contrib import admin
from django.urls import include, path

urlpatterns = [path("admin/", admin.site.urls)]
for prefix, module in (("api/", "api.urls"), ("", "layups.pages.urls"), ("", "inventory.pages.urls")):
    package = module.rpartition(".")[0]
    if find_spec(package) and find_spec(module):
        urlpatterns.append(path(prefix, include(module)))
