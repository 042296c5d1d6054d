"""Worksheets: computations to try out, without a record. Each is a function of typed figures; its page and its address for
machines follow from the table in `registry`. Importing this package enters the shelf's own."""

from importlib import import_module

MODULES = ("textiles", "plies", "ratios", "batches", "dosing", "lives", "gelling", "learning", "incoming", "comparing", "pot", "cold")

for _name in MODULES:
    import_module(f"{__name__}.{_name}")
