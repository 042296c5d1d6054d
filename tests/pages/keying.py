"""A scanner's keys into a real browser. They carry their own times, so that a busy machine does not turn a scanner into a slow typist."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from inventory.clock import now_us

APART_S = 0.008
TIMES = """([at, apart]) => {
  if (!globalThis.__pwClock) return;
  const known = new WeakMap();
  const get = function () {
    if (!known.has(this)) known.set(this, (at += apart));
    return known.get(this);
  };
  Object.defineProperty(Event.prototype, 'timeStamp', { configurable: true, get });
}"""
"""Where a test put another clock into the page, its events are timed when they are looked at, which on a busy machine is late."""


def press(page: Any, keys: Sequence[str], after_s: float = 0.0, apart_s: float = APART_S) -> float:
    """Keys, or "Control+]" and the like, one after another; the time of the last. `after_s`: the first comes a while after that."""
    cdp = page.context.new_cdp_session(page)
    at = max(after_s + 1, now_us() / 1e6)
    page.evaluate(TIMES, [at * 1000, apart_s * 1000])
    for key in keys:
        at += apart_s
        control, _, name = key.rpartition("+") if len(key) > 1 else ("", "", key)
        text = "\r" if name == "Enter" else name if len(name) == 1 and not control else ""
        code = {"windowsVirtualKeyCode": 13} if name == "Enter" else {"windowsVirtualKeyCode": 32} if name == " " else {}
        event = {"key": name, "timestamp": at, "modifiers": 2 if control else 0, **code}
        cdp.send("Input.dispatchKeyEvent", {"type": "keyDown" if text else "rawKeyDown", "text": text, **event})
        cdp.send("Input.dispatchKeyEvent", {"type": "keyUp", **event})
    cdp.detach()
    return at
