"""What a browser's false camera shows: a label of ours, askew on a table."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from inventory.core.label_formats import format_named
from inventory.core.labels import label
from inventory.printing.asked import wanted
from inventory.printing.drawn import draw
from inventory.printing.pictures import picture
from tests.core.soiled import turned

ZONE = "Europe/Copenhagen"
SIDE = 640
NO_READER = "self.postMessage({ ready: false });"
"""What the service says where the set-up could not bring a reader."""


def on_a_table(site: int, now_us: int, mark: str, address: str) -> Any:
    """The picture of a thing's label, in grey."""
    one = wanted(site, ZONE, now_us, [mark])[0]
    return turned(17)(picture(draw(label(one.thing, ZONE, now_us, address), format_named("roll-100x50")), 203))


def false_camera(table: Any, folder: Path) -> tuple[str, ...]:
    """Flags for a Chromium whose camera shows that picture, whoever asks."""
    film = folder / "label.y4m"
    frame = table.resize((SIDE, SIDE)).tobytes() + bytes([128]) * (SIDE * SIDE // 2)
    film.write_bytes(f"YUV4MPEG2 W{SIDE} H{SIDE} F10:1 Ip A1:1 C420jpeg\n".encode() + (b"FRAME\n" + frame) * 3)
    return "--use-fake-ui-for-media-stream", "--use-fake-device-for-media-stream", f"--use-file-for-fake-video-capture={film}"
