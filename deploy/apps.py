"""The composition root as an application: it has no records, it only registers the start checks."""

from django.apps import AppConfig


class DeployConfig(AppConfig):
    """The application `deploy`."""

    name = "deploy"
    verbose_name = "Composition root"
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Register the checks, and make our queue the one that tasks are sent to."""
        from deploy import celery, checks  # noqa: F401
