"""Reads: what pages, API and reports ask, each in a bounded number of queries."""
