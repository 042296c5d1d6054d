/* May it be put there? By what this tablet knows of the place, of the material and of what stands there, as core/places.py judges it. */
import { inWords } from "../say.js";
import { nameOf } from "./shelf.js";
import { after } from "./predict.js";
import { amount, celsius } from "./words.js";

const NEVER = ["promoter", "amine", "acid"]; // with an organic peroxide
const WORDS = { peroxide: inWords("organic peroxides"), promoter: inWords("promoters"), amine: inWords("amines"), acid: inWords("acids"), isocyanate: inWords("isocyanates"), frozen: inWords("frozen goods"), plain: inWords("goods without a hazard") };
const STORES = new Set(["freezer", "fridge", "store", "rack"]);
const TAKEN_OUT = new Set(["bay", "oven", "quarantine"]); // its clock runs there, which is what it was taken out for

function placeOf(code, shared) {
  const [name, kind, high = null, low = null, accepts = "", refuses = "", most = null] = shared.places[code];
  const listed = (text) => text.split(" ").filter(Boolean);
  return { code, name, kind, high, low, accepts: listed(accepts), refuses: listed(refuses), most };
}

function keptAs(row, shared) {
  const [, , , , hazard = "", min = null, max = null] = shared.materials[row.material] ?? [];
  return { hazard, min, max, kinds: [hazard || "plain", ...(max !== null && max < 0 ? ["frozen"] : [])] };
}

function words(kinds) {
  return kinds.map((kind) => WORDS[kind] ?? kind).sort().join(", ");
}

function neverMeet(a, b) {
  return (a === "peroxide" && NEVER.includes(b)) || (b === "peroxide" && NEVER.includes(a));
}

/** What stands in a place after what was noted here, without the thing itself. */
export function standing(code, row, list, effects) {
  const went = new Map(effects.filter((e) => e.place).map((e) => [e.item, e.place]));
  const there = [...list.things.values()].filter((other) => other.code !== row.code && (went.get(other.code) ?? other.place) === code);
  return there.map((other) => after(other, effects, list.meta.shared)).filter((other) => other.qty > 0);
}

/** Every reason against putting it there; none: it may go there. */
export function againstPlace(row, code, list, effects) {
  const { shared } = list.meta;
  if (!shared.materials[row.material]) return [];
  const [place, kept, others] = [placeOf(code, shared), keptAs(row, shared), standing(code, row, list, effects)];
  return [together(row, place, kept, others, shared), taken(row, place, kept), cold(row, place, kept), warm(row, place, kept), full(row, place, others)].filter(Boolean);
}

function together(row, place, kept, others, shared) {
  const there = new Set([...place.accepts, ...others.map((other) => keptAs(other, shared).hazard)]);
  const clash = [...there].filter((other) => neverMeet(kept.hazard, other));
  if (!clash.length) return null;
  return { code: "place.never_together", text: inWords("{material} not into {name}: organic peroxides never with promoters, amines or acids (there: {clash}).", { material: row.material, name: place.name, clash: words(clash) }) };
}

function taken(row, place, kept) {
  if (kept.hazard === "peroxide") {
    if (place.accepts.includes("peroxide") && !place.refuses.includes("peroxide")) return null;
    return { code: "place.peroxide_only_in_its_own", text: inWords("{name} does not take organic peroxides: {material} goes only into a place kept for them.", { name: place.name, material: row.material }) };
  }
  const refused = kept.kinds.filter((kind) => place.refuses.includes(kind));
  if (refused.length) return { code: "place.refuses", text: inWords("{name} does not take {refused}: put {material} elsewhere.", { name: place.name, refused: words(refused), material: row.material }) };
  if (!place.accepts.length || kept.kinds.some((kind) => place.accepts.includes(kind))) return null;
  return { code: "place.takes_only", text: inWords("{name} takes only {accepts}: put {material} elsewhere.", { name: place.name, accepts: words(place.accepts), material: row.material }) };
}

function cold(row, place, kept) {
  if (kept.min === null || place.low === null || place.low >= kept.min) return null;
  return { code: "place.too_cold", text: inWords("{name} goes down to {low}; {material} is damaged by cold: below its minimum {kept}.", { name: place.name, low: celsius(place.low), material: row.material, kept: celsius(kept.min) }) };
}

function warm(row, place, kept) {
  if (!kept.kinds.includes("frozen") || place.high === null || place.high <= kept.max || TAKEN_OUT.has(place.kind)) return null;
  return { code: "place.too_warm", text: inWords("{name} may reach {high}; {material} is kept frozen at {kept} or colder. To use it, take it out instead.", { name: place.name, high: celsius(place.high), material: row.material, kept: celsius(kept.max) }) };
}

function full(row, place, others) {
  const adding = row.unit === "ug" ? row.qty : 0;
  const held = others.reduce((sum, other) => sum + (other.unit === "ug" ? other.qty : 0), 0);
  if (place.most === null || held + adding <= place.most) return null;
  return { code: "place.full", text: inWords("{name} would hold {amount} of {amount2} ({amount3} there, {amount4} more).", { name: place.name, amount: amount(held + adding, "ug"), amount2: amount(place.most, "ug"), amount3: amount(held, "ug"), amount4: amount(adding, "ug") }) };
}

/** The stores that would take it, as "BK Outdoor bunker". */
export function wouldTake(row, list, effects) {
  const { places } = list.meta.shared;
  const codes = Object.keys(places).filter((code) => STORES.has(places[code][1]) && !againstPlace(row, code, list, effects).length);
  return codes.sort().map((code) => `${code} ${places[code][0]}`);
}

/** "X6-4 does not go into Peroxide cabinet" */
export function refusedWords(row, code, shared) {
  return inWords("{thing} does not go into {code}", { thing: nameOf(row), code: shared.places[code][0] });
}
