// The only ways the page touches its nodes: each writes when, and only when, a value changed.

const SVG = "http://www.w3.org/2000/svg";
const written = new WeakMap();

/** Make an element: `make("p", {class: "why"}, "text", child)`. */
export function make(tag, attributes = {}, ...children) {
  return fill(document.createElement(tag), attributes, children);
}

/** Make an SVG element. */
export function draw(tag, attributes = {}, ...children) {
  return fill(document.createElementNS(SVG, tag), attributes, children);
}

function fill(node, attributes, children) {
  for (const [name, value] of Object.entries(attributes)) attr(node, name, value);
  node.append(...children);
  return node;
}

function changed(node, key, value) {
  let seen = written.get(node);
  if (!seen) written.set(node, (seen = new Map()));
  if (seen.has(key) && seen.get(key) === value) return false;
  seen.set(key, value);
  return true;
}

/** Set a node's text. */
export function text(node, value) {
  if (changed(node, "#text", value)) node.textContent = value;
}

/** Set an attribute; null takes it away. */
export function attr(node, name, value) {
  if (!changed(node, name, value)) return;
  if (value === null || value === false) node.removeAttribute(name);
  else node.setAttribute(name, value === true ? "" : String(value));
}

/** Show or hide. */
export function show(node, shown) {
  attr(node, "hidden", !shown);
}

/** Replace the children when `key` (a string that names the content) changed. */
export function refill(node, key, build) {
  if (changed(node, "#children", key)) node.replaceChildren(...build());
}

/** A button that acts on release; repeated taps within `rest` ms count once. */
export function button(label, act, { kind = "", rest = 350, name = null } = {}) {
  const node = make("button", { type: "button", class: kind, "aria-label": name }, label);
  let free = -Infinity;
  node.addEventListener("click", (event) => {
    if (event.timeStamp < free) return;
    free = event.timeStamp + rest;
    act(event);
  });
  return node;
}

/** Swallow every click of a touch that had two or more contacts: a palm, not a knuckle. */
export function ignoreMultitouch(root) {
  const down = new Set();
  let palm = false;
  const release = (event) => {
    down.delete(event.pointerId);
    if (down.size === 0) setTimeout(() => { palm = down.size > 1; }, 60);
  };
  root.addEventListener("pointerdown", (event) => {
    down.add(event.pointerId);
    palm = down.size > 1 || (palm && !event.isPrimary);
  }, true);
  root.addEventListener("pointerup", release, true);
  root.addEventListener("pointercancel", release, true);
  root.addEventListener("click", (event) => {
    if (!palm || event.detail === 0) return;
    event.preventDefault();
    event.stopPropagation();
  }, true);
}
