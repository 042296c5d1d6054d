"""Registers the inventory: what is on the shelf, and is it still good?"""

from django.apps import AppConfig


class InventoryConfig(AppConfig):
    """The application `inventory`."""

    name = "inventory"
    verbose_name = "Inventory"
    default_auto_field = "django.db.models.BigAutoField"
