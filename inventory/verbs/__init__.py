"""The verbs of the shelf. Importing this package enters them in the table (`registry.VERBS`)."""

from importlib import import_module

# One line a module: a new verb module is entered by naming it here.
MODULES = (
    "moving",
    "cutting",
    "counting",
    "count_sheets",
    "count_ends",
    "heating",
    "mixing",
    "receiving",
    "opening",
    "expecting",
    "label_kinds",
    "certifying",
    "releasing",
    "holding",
    "extending",
    "deciding",
    "voiding",
    "exposing",
    "loggers",
)

for _name in MODULES:
    import_module(f"{__name__}.{_name}")
