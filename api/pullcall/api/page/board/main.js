// Wires entry -> link -> sites -> list.

import { Awake } from "../awake.js";
import { CookClock } from "../clock.js";
import { Door } from "../door.js";
import { Entry } from "../entry.js";
import { Head } from "./head.js";
import { Link } from "../link.js";
import { List } from "./list.js";
import { Order } from "./order.js";
import { Sites } from "./sites.js";
import { Storage, Unit } from "../units.js";
import { Theme } from "../theme.js";
import { Visitor } from "../visitor.js";
import { button, ignoreMultitouch, make, show, text } from "../dom.js";
import { lateWords } from "../words.js";
import { site } from "../api.js";

const PAINT_MS = 200;
const NONE = "No site yet. One appears here by itself once it reaches the broker.";
const LOOKING = "Looking for the board…";
const late = ({ delay_s: delay }) => (delay ? `Shown ${lateWords(delay)}` : "");

const byId = (id) => document.getElementById(id);
const storage = new Storage();
const unit = new Unit(storage);
const theme = new Theme(storage);
const awake = new Awake();
const sites = new Sites();
const clock = new CookClock(); // the board's
const order = new Order();
const list = new List(byId("sites"), order);
const head = new Head(byId("top"), (words) => { list.find(words); paint(); });
const link = new Link({ hear, ticket, trip: (...trip) => clock.trip(...trip), whole: site.sites });
const entry = new Entry(new Door(byId("door")), { admit, shut });
let visitor = new Visitor();

const unitKey = button("", () => { unit.choose(unit.name === "F" ? "C" : "F"); paint(); });
const themeKey = button("", () => { theme.turn(); paint(); });
const way = make("p", { class: "way" });
byId("foot").append(unitKey, themeKey, way);

function hear(message, received) {
  if (["hello", "tick", "board"].includes(message.type)) clock.tick(message.t, received);
  sites.apply(message);
  if (message.type === "board") unit.site = sites.unit;
}

/** What opens a websocket; this machine's own browser needs nothing. */
async function ticket() {
  return visitor.here ? null : (await site.ticket()).ticket;
}

/** This phone has a link: begin, or begin anew. */
function admit(letIn) {
  visitor = letIn;
  entry.door.close();
  link.halt();
  link.run();
  awake.ask();
  paint();
}

/** It has none, or not any more: nothing of the sites stays. */
function shut(sentence) {
  const before = visitor;
  visitor = new Visitor();
  link.halt();
  sites.forget();
  order.forget();
  awake.release();
  entry.door.show(sentence ?? (before.isPaired ? before.endedWords : null));
  paint();
}

function paint() {
  const t = clock.t();
  const isCut = link.lost || !link.greeted;
  list.paint(sites, order.settle(sites.order, performance.now()), unit, t, isCut);
  head.paint(sites, list, link, t);
  text(byId("plain"), sites.ready ? NONE : link.greeted && late(visitor) ? `${late(visitor)}: wait, it begins by itself.` : LOOKING);
  show(byId("plain"), sites.rows.size === 0);
  show(byId("foot"), sites.ready);
  text(unitKey, `Unit: °${unit.name}`);
  text(themeKey, `Theme: ${theme.name}`);
  const hidden = visitor.hides_targets ? "Pulls are hidden" : "";
  text(way, [`Link: ${link.wayWords ?? "none, looking for the board"}`, late(visitor), hidden].filter(Boolean).join(". "));
}

function beat() {
  if (document.visibilityState === "visible") paint();
}

function comeBack() {
  if (document.visibilityState !== "visible") return;
  entry.wake();
  link.refresh();
  if (visitor.isPaired) awake.ask();
}

theme.wear();
ignoreMultitouch(document);
document.addEventListener("visibilitychange", comeBack);
document.addEventListener("pullcall:unpaired", () => { if (visitor.isPaired) entry.look(null); });
window.addEventListener("pageshow", comeBack);
window.addEventListener("online", comeBack);
window.addEventListener("hashchange", () => entry.enter());
setInterval(beat, PAINT_MS);
entry.enter();
paint();
