// Wires the logbook: who asks -> which view the address names -> that view in the page.

import { Refusal, site } from "../api.js";
import { Storage, Unit } from "../units.js";
import { attr, button, ignoreMultitouch, make, show, text } from "../dom.js";
import { Strip } from "./strip.js";
import { Visitor } from "../visitor.js";
import { compareView } from "./compare.js";
import { cookView } from "./cook.js";
import { install } from "../install.js";
import { learnedView } from "./learned.js";
import { listView } from "./list.js";
import { movingView } from "./moving.js";
import { routeOf } from "./route.js";

const VIEWS = { list: listView, cook: cookView, compare: compareView, learned: learnedView, moving: movingView };
const SAID_MS = 6000;
const AGAIN_MS = 4000;
const WATCHES = "This phone only watches. The logbook is for those who take part: ask the cook for an invitation as a hand.";

const byId = (id) => document.getElementById(id);
const storage = new Storage();
const unit = new Unit(storage);
const strip = new Strip(byId("strip"));
const page = { unit, visitor: new Visitor(), rows: null, words: "", chosen: new Set(), say, shown };
let open = null;
let cookLeft = null; // where the list is taken up again
let saidTimer = 0;
let againTimer = 0;
let hasBegun = false;

/** A line at the top, for what has just been done. */
function say(words) {
  clearTimeout(saidTimer);
  text(byId("said"), words);
  show(byId("said"), true);
  saidTimer = setTimeout(() => show(byId("said"), false), SAID_MS);
}

function put({ title, node, back, leave }) {
  open?.leave?.();
  open = { leave };
  document.title = title === "Logbook" ? "Logbook · Pullcall" : `${title} · Logbook`;
  text(byId("heading"), title);
  attr(byId("back"), "href", back.href);
  text(byId("back"), back.words);
  byId("main").replaceChildren(node);
}

function go() {
  const { view, ids } = routeOf(window.location.hash);
  put(VIEWS[view](page, ids));
  window.scrollTo(0, 0);
  byId("heading").focus({ preventScroll: true });
  if (view === "cook") [cookLeft] = ids;
}

/** The list is there: back from a cook, it is shown where it was left. */
function shown(list) {
  const entry = [...list.children].find((one) => one.dataset.cook === cookLeft);
  cookLeft = null;
  entry?.scrollIntoView({ block: "center" });
  entry?.querySelector("a").focus({ preventScroll: true });
}

const toCook = () => window.location.replace(new URL("./", document.baseURI));

/** Only words, and keys to go on. */
function only(words, ...keys) {
  put({ title: "Logbook", back: { href: "./", words: "← Cook" }, node: make("div", { class: "plain" }, make("p", {}, words), ...keys) });
}

async function enter() {
  clearTimeout(againTimer);
  try {
    page.visitor = new Visitor(await site.visitor());
  } catch (refusal) {
    if (!(refusal instanceof Refusal)) throw refusal;
    only(`${refusal.message} The logbook is at the site; it comes by itself when the site answers.`, button("Try again", enter));
    if (!refusal.isAnswer) againTimer = setTimeout(enter, AGAIN_MS);
    return;
  }
  if (!page.visitor.isPaired) toCook();
  else if (page.visitor.isWatching) only(page.visitor.note ? `${page.visitor.note} ${WATCHES}` : WATCHES, make("a", { class: "key go", href: "./" }, "Back to the cook"));
  else await begin();
}

async function begin() {
  if (hasBegun) return;
  hasBegun = true;
  const snapshot = await strip.begin();
  if (snapshot?.unit) unit.site = snapshot.unit;
  install();
  window.addEventListener("hashchange", go);
  go();
}

attr(document.documentElement, "data-theme", storage.get("pullcall.theme") ?? "auto");
ignoreMultitouch(document);
document.addEventListener("pullcall:unpaired", toCook);
enter();
