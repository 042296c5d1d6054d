"""Registers the inventory: what is on the shelf, and is it still good?"""

from django.apps import AppConfig
from django.db.models.signals import post_migrate, pre_migrate
from django.utils.translation import gettext_lazy


class InventoryConfig(AppConfig):
    """The application `inventory`."""

    name = "inventory"
    verbose_name = gettext_lazy("Stock and materials")
    default_auto_field = "django.db.models.BigAutoField"

    def ready(self) -> None:
        """Enter the verbs and the worksheets in their tables, and have the guard of the records put up again after every migration."""
        import inventory.core.codewords
        import inventory.verbs
        import inventory.worksheets  # noqa: F401
        from inventory import ledger_guard, modelwords, readers

        readers.listen()
        modelwords.translate(self)
        pre_migrate.connect(ledger_guard.before_migrate, sender=self)
        post_migrate.connect(ledger_guard.after_migrate, sender=self)
