"""Registers the layups: what was built from it, and what went wrong?"""

from django.apps import AppConfig
from django.utils.translation import gettext_lazy


class LayupsConfig(AppConfig):
    """The application `layups`."""

    name = "layups"
    verbose_name = gettext_lazy("Parts and layups")
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Enter the verbs of building and the worksheets in their tables, and what parts need among what is needed, what
        their labels say among what labels say, and what is being made among what people go on with."""
        import layups.pages.begun
        import layups.reads.labels
        import layups.reads.needs
        import layups.verbs
        import layups.worksheets  # noqa: F401
        from inventory import modelwords

        modelwords.translate(self)
