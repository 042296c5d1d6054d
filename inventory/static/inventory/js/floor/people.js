/* Who works at this tablet. A badge is known again without a network where its owner showed it here while there was one. The badge's
   code is not kept: only what a slow function makes of it with a salt of its own. */
import { hex } from "../key.js";

const ROUNDS = 210_000; // PBKDF2 with SHA-256; a badge has 38 bits, so each guess must be dear

export async function sealed(code, salt, subtle = globalThis.crypto?.subtle) {
  const key = await subtle.importKey("raw", new TextEncoder().encode(code), "PBKDF2", false, ["deriveBits"]);
  const how = { name: "PBKDF2", hash: "SHA-256", salt: new TextEncoder().encode(salt), iterations: ROUNDS };
  return hex(await subtle.deriveBits(how, key, 256));
}

export function freshSalt(random = globalThis.crypto) {
  return hex(random.getRandomValues(new Uint8Array(16)));
}

/** What is to be kept of a person: a seal too where they showed a badge. */
export async function remembered(person, word, badge) {
  const kept = { id: person.id, name: person.name, units: person.units, word };
  if (!badge || !globalThis.crypto?.subtle) return kept;
  const salt = freshSalt();
  return { ...kept, salt, seal: await sealed(badge, salt) };
}

/** The one among the people whose badge this is, or null. */
export async function whose(people, badge) {
  for (const person of people) if (person.seal && (await sealed(badge, person.salt)) === person.seal) return person;
  return null;
}
