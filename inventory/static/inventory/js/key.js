/* Random keys: what is sent twice under one key counts once. */

/** Bytes as text, two characters each. */
export function hex(bytes) {
  return [...new Uint8Array(bytes)].map((b) => b.toString(16).padStart(2, "0")).join("");
}

/** A random UUID, version 4 (RFC 9562). randomUUID exists only on secure pages; a shop's own network may serve plain HTTP. */
export function freshKey(random = globalThis.crypto) {
  if (typeof random.randomUUID === "function") return random.randomUUID();
  const b = random.getRandomValues(new Uint8Array(16));
  b[6] = (b[6] & 0x0f) | 0x40;
  b[8] = (b[8] & 0x3f) | 0x80;
  return hex(b).replace(/^(.{8})(.{4})(.{4})(.{4})/, "$1-$2-$3-$4-");
}
