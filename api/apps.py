"""Registers the doors for machines."""

from django.apps import AppConfig


class ApiConfig(AppConfig):
    """The application `api`; it translates and has no records of its own."""

    name = "api"
    verbose_name = "Interface for machines"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Tell the description of the interface how callers sign in."""
        from api import describing  # noqa: F401
