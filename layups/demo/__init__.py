"""Quillstrand Boatyard: an invented shop with a year and a half of history, made through the same write path as any other.

`master` makes what a shop sets up once; `history` makes what happened. All names are invented; figures are common practice
or invented, and exist to make the shop believable, not to be used on a part.
"""
