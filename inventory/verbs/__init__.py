"""The verbs of the shelf. Importing this package enters them in the table (`registry.VERBS`)."""

from . import moving

__all__ = ["moving"]
