/* The picture of a trace by keys: left and right go along the lines, up and down within a layer, Home to what was asked about.
   Tab goes through the boxes in reading order without any of this. The lines of the box that is looked at stand out. */

/** The number of the box that a key leads to, or null. `boxes`: [{ n, x, y, into: [n, …], here }] in reading order. */
export function nextBox(boxes, from, key) {
  const at = boxes.find((box) => box.n === from);
  if (!at) return null;
  if (key === "Home") return (boxes.find((box) => box.here) || boxes[0]).n;
  const column = boxes.filter((box) => box.x === at.x && (key === "ArrowUp" ? box.y < at.y : box.y > at.y));
  const near = {
    ArrowRight: boxes.filter((box) => at.into.includes(box.n)),
    ArrowLeft: boxes.filter((box) => box.into.includes(at.n)),
    ArrowUp: column,
    ArrowDown: column,
  }[key];
  if (!near || !near.length) return null;
  return near.reduce((best, box) => (Math.abs(box.y - at.y) < Math.abs(best.y - at.y) ? box : best)).n;
}

const numbers = (text) => (text || "").split(" ").filter(Boolean).map(Number);

function read(drawing) {
  return [...drawing.querySelectorAll("[data-box]")].map((node) => {
    const box = node.querySelector("rect:last-of-type");
    return {
      node,
      n: Number(node.dataset.box),
      x: Number(box.getAttribute("x")),
      y: Number(box.getAttribute("y")),
      into: numbers(node.dataset.into),
      here: node.classList.contains("here"),
    };
  });
}

/* Events are heard on the frame: a drawing that hears of focus would become a stop of Tab itself. */
function wire(frame, drawing) {
  const boxes = read(drawing);
  const lines = [...drawing.querySelectorAll("[data-ends]")].map((node) => ({ node, ends: numbers(node.dataset.ends) }));
  const boxOf = (event) => event.target.closest?.("[data-box]");
  const light = (box) => {
    const n = box ? Number(box.dataset.box) : 0;
    for (const line of lines) line.node.classList.toggle("near", line.ends.includes(n));
  };
  for (const box of boxes) if (box.node.localName === "g") box.node.setAttribute("tabindex", "-1");
  frame.addEventListener("keydown", (event) => {
    if (event.ctrlKey || event.altKey || event.metaKey || event.shiftKey) return;
    const box = boxOf(event);
    const next = box && nextBox(boxes, Number(box.dataset.box), event.key);
    if (!next) return;
    event.preventDefault();
    boxes.find((b) => b.n === next).node.focus();
  });
  frame.addEventListener("focusin", (event) => light(boxOf(event)));
  frame.addEventListener("focusout", () => light(null));
  frame.addEventListener("pointerover", (event) => light(boxOf(event)));
  frame.addEventListener("pointerleave", () => light(drawing.ownerDocument.activeElement?.closest?.("[data-box]")));
}

/** What was asked about is in view when the page opens, however wide the picture. */
function show(frame) {
  const here = frame.querySelector(".here rect:last-of-type");
  if (!here) return;
  const middle = (start, size, room) => Math.max(0, Number(start) + Number(size) / 2 - room / 2);
  frame.scrollLeft = middle(here.getAttribute("x"), here.getAttribute("width"), frame.clientWidth);
  frame.scrollTop = middle(here.getAttribute("y"), here.getAttribute("height"), frame.clientHeight);
}

function start(doc) {
  for (const drawing of doc.querySelectorAll("[data-drawing]")) {
    const frame = drawing.closest(".trace");
    wire(frame, drawing);
    if (!doc.location.hash) show(frame);
  }
}

if (typeof document !== "undefined") start(document);
