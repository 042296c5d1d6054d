"""deploy/test: every check, in legs with times and caps. Standard library only, like deploy/setup."""
