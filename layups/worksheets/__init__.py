"""Worksheets of what is built: importing this package enters them in the table."""

from importlib import import_module

MODULES = ("charting", "curing", "infusion", "laminate")

for _name in MODULES:
    import_module(f"{__name__}.{_name}")
