/* What a scan is: one of our own codes (for a thing, a place or a person), or a text such as a mark or a place's short code.
   The check character is that of ISO/IEC 7064, hybrid system MOD M+1,M, as in inventory/core/codes.py. */

const ALPHABET = "23456789BCDFGHJKMNPQRSTVWXYZ";
const ON = { S: "thing", P: "place", B: "person" };

export function checkCharacter(payload) {
  const size = ALPHABET.length;
  let carry = size;
  for (const char of payload) {
    carry = (carry + ALPHABET.indexOf(char)) % size || size;
    carry = (carry * 2) % (size + 1);
  }
  return ALPHABET[(1 - carry + 2 * size) % size];
}

export function isCode(text) {
  if (!/^[SPB][2-9BCDFGHJKMNP-TV-Z]{9}$/.test(text)) return false;
  return checkCharacter(text.slice(0, -1)) === text.at(-1);
}

/** {text, code, on}: `code` only for our own, whole ones. */
export function read(raw) {
  const text = raw.slice(0, 400).replace(/\s+/g, " ").trim().replace(/^\][A-Za-z][0-9A-Za-z]/, "");
  const link = /^(?:https?:\/\/[^/\s?#]+)?(?:\/[^/\s?#]+)*\/i\/([^/\s?#]+)\/?(?:[?#]\S*)?$/i.exec(text);
  const tight = (link ? link[1] : text).replace(/[\s\-‐-―−]+/g, "").toUpperCase();
  return isCode(tight) ? { text, code: tight, on: ON[tight[0]] } : { text, code: null, on: null };
}

/** For comparing marks: "u–3" is "U-3". */
export function folded(text) {
  return text.replace(/[‐-―−]/g, "-").trim().toLowerCase();
}
