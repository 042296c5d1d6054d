"""Rows for a file that a spreadsheet will open; the one rule stands in the shelf's core."""

from inventory.core.cells import csv_lines, safe

__all__ = ["csv_lines", "safe"]
