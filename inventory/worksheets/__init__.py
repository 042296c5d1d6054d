"""Worksheets: computations to try out, without a record. Each is a function of typed figures; its page and its address for
machines follow from the table in `registry`."""
