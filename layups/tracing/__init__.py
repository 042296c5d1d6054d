"""Traces (R27), the recall list (R28), and what defective parts share: as values, as rows, as JSON, as a picture."""

from layups.reads.things import Sent, Thing

from .pictures import Box, Drawing, Wire, draw, draw_back, draw_forward
from .walks import (
    Back,
    Forward,
    Found,
    LotIn,
    Recall,
    SharedLot,
    lots_of_each,
    recall,
    shared_lots,
    trace_back,
    trace_forward,
)

__all__ = [
    "Back", "Box", "Drawing", "Forward", "Found", "LotIn", "Recall", "Sent", "SharedLot", "Thing", "Wire", "draw",
    "draw_back", "draw_forward", "lots_of_each", "recall", "shared_lots", "trace_back", "trace_forward",
]  # fmt: skip
