/* Elements. */

/** el("p", {class: "x"}, "text", child): text is never markup. */
export function el(name, attributes = {}, ...children) {
  const made = document.createElement(name);
  for (const [key, value] of Object.entries(attributes)) {
    if (key.startsWith("on")) made.addEventListener(key.slice(2), value);
    else if (value === true) made.setAttribute(key, "");
    else if (value !== false && value !== null && value !== undefined) made.setAttribute(key, value);
  }
  made.append(...children.flat().filter((child) => child !== null && child !== undefined && child !== ""));
  return made;
}

export function fill(id, ...children) {
  document.getElementById(id).replaceChildren(...children.flat().filter(Boolean));
}
