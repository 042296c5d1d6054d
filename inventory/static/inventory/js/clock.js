/* The server's clock on this page. A tablet's own clock may be wrong; the page says what time the server had when it was made. */

/** Milliseconds to add to this device's clock. `serverUs` is what the page was made at; nothing usable gives 0. */
export function offsetMs(serverUs, deviceMs) {
  const us = Number(serverUs);
  return serverUs !== "" && serverUs !== null && serverUs !== undefined && Number.isFinite(us) ? us / 1000 - deviceMs : 0;
}

/** A function that gives the server's time in milliseconds. Read once when the page arrives. */
export function serverClock(root, deviceNow = Date.now) {
  const offset = offsetMs(root.dataset.nowUs, deviceNow());
  return () => deviceNow() + offset;
}
