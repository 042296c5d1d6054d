"""The verbs of building. Importing this package enters them in the table of verbs."""

from importlib import import_module

# One line a module: a new verb module is entered by naming it here.
MODULES = ("starting", "laying", "bagging", "curing", "charting", "inspecting", "joining", "shipping", "holding", "voiding", "jobs")

for _name in MODULES:
    import_module(f"{__name__}.{_name}")
