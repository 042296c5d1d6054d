"""The interface for machines, through HTTP."""
