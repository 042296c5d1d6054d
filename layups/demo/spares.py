"""What left the yard besides hulls and complete boats, and the boxes that are booked to a bay."""

from __future__ import annotations

from layups.verbs import bagging

from .arrivals import Arrival, arrive
from .hands import Hands
from .script import code_of

# day, customer, parts
SENT: tuple[tuple[int, str, tuple[str, ...]], ...] = (
    (-330, "Hestholm", tuple(f"TIL-{n:03d}" for n in range(1, 9))),
    (-228, "Brae", tuple(f"RUD-{n:03d}" for n in range(31, 37))),
    (-226, "P-03", ("DIN-009",)),
    (-170, "Skerrow", (*(f"RUD-{n:03d}" for n in range(37, 43)), *(f"TIL-{n:03d}" for n in range(9, 13)))),
    (-88, "Ferrel", ("DAG-031", "DAG-032", "MAST-028")),
    (-119, "P-11", ("DIN-015",)),
    (-75, "Lunn", tuple(f"RUD-{n:03d}" for n in range(43, 49))),
    (-64, "Skerrow", ("DIN-020", "DIN-030")),
    (-40, "Hestholm", ("RUD-049", "RUD-050", "MAST-032", "DAG-033")),
    (-11, "Brae", ("RUD-062", "RUD-063", "TIL-021", "TIL-022")),
)
BOXES: tuple[tuple[str, str, str, int], ...] = (("BAG", "VB-14", "BAY2", -60), ("MESH", "ME-9", "BAY2", -60))


def send(h: Hands) -> None:
    for day, customer, parts in SENT:
        h.ship(h.at(day, "15:00"), parts, customer)


def book_boxes(h: Hands) -> None:
    """Bags and flow mesh are not scanned into a part: parts that are bagged in the bay get them from the box (R39)."""
    for material, lot, bay, day in BOXES:
        mark = f"{lot} box"
        arrive(h, Arrival(material, lot, day, ((mark, 40),)))
        h.call(h.at(day + 1, "09:00"), "Ines", "book_box", bagging.BookBox(code_of(mark), bay), mark)
