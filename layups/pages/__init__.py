"""Screens of what is built: the builder's part, the lists, quality's desk, traces. A request in, one domain call, a page out."""
