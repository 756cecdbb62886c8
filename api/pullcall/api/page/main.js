// Wires link -> board -> view, and the taps back to the site.

import { Bar } from "./bar.js";
import { Board } from "./state.js";
import { Caller } from "./calls.js";
import { CookClock } from "./clock.js";
import { Foot } from "./foot.js";
import { Lane } from "./lane.js";
import { Lines } from "./lines.js";
import { Link } from "./link.js";
import { Phone } from "./phone.js";
import { Sheet } from "./sheet.js";
import { Sound } from "./sound.js";
import { Spine } from "./spine.js";
import { Stage } from "./stage.js";
import { Storage, Unit } from "./units.js";
import { Top } from "./top.js";
import { deed, pullIn, spotEffect, title } from "./acts.js";
import { alarmsPanel } from "./alarm_list.js";
import { attr, ignoreMultitouch, refill } from "./dom.js";
import { choosePanel, lookPanel } from "./choose.js";
import { firePanel } from "./fire.js";
import { marksPanel, morePanel } from "./more.js";
import { menuPanel } from "./menu.js";
import { planPanel } from "./plan.js";
import { probesPanel } from "./probes.js";
import { site } from "./api.js";
import { spotPanel } from "./spot.js";
import { steakPanel } from "./steak_settings.js";
import { windowPanel } from "./window.js";

const PAINT_MS = 200;
const FORECAST_COMES_MS = 250; // the forecast that a spot changed follows at once
const GATHER_MS = 30; // calls of one burst come one after the other
const THEMES = ["auto", "day", "night"];

const byId = (id) => document.getElementById(id);
const now = () => performance.now();
const storage = new Storage();
const board = new Board();
const clock = new CookClock();
const unit = new Unit(storage);
const sound = new Sound(storage);
const sheet = new Sheet();
const spine = new Spine();
const phone = new Phone(storage, sound);
const caller = new Caller(board, sound, {
  sounded,
  told: (call) => phone.receipt(call),
  passOn: (call) => acts.answer([call]),
});
const top = new Top(board);
const link = new Link({ hear, trip: (t, sent, received) => clock.trip(t, sent, received) });
let lanes = [];

/** A count and an event for every burst, so that a test (or a curious cook) can watch them. */
function sounded(burst) {
  const count = Number(document.body.dataset.sounded ?? 0) + 1;
  attr(document.body, "data-sounded", String(count));
  document.dispatchEvent(new CustomEvent("pullcall:sounded", { detail: burst }));
}

function hear(message, received) {
  if (message.type === "hello" || (message.type === "snapshot" && message.speed !== clock.speed)) {
    if (message.speed !== clock.speed) clock.restart(message.speed);
  }
  if (["hello", "tick", "snapshot"].includes(message.type)) clock.tick(message.t, received);
  board.apply(message);
  if (message.type === "snapshot") unit.site = board.unit;
  caller.hear(message, board.time(clock.t()), received);
  if (message.type === "call") setTimeout(() => caller.flush(now()), GATHER_MS);
}

/** Run a request; a refusal is said at the top. Returns null then. */
async function asked(request) {
  try {
    return await request;
  } catch (refusal) {
    bar.say(refusal.message, now());
    paint();
    return null;
  }
}

/** Say what was marked, with its undo and a way to date it back. */
function sayMarked(taken, dating = false) {
  const what = deed(taken.mark, taken.steak);
  const ago = Math.round(clock.t() - (taken.at ?? taken.t));
  const undo = () => acts.undo({ id: taken.id, kind: "mark", what });
  bar.say(ago < 2 ? `${what} marked` : `${what}, ${ago} s ago`, now(), undo, (by) => acts.redate(taken, by), dating);
}

const acts = {
  laneOf: (name) => board.laneOf(name),

  async mark(mark, steak, ago = 0) {
    sheet.close();
    const taken = await asked(site.mark(mark, steak, ago));
    if (taken !== null) sayMarked(taken);
    paint();
  },

  /** Date a mark back by so many seconds more: taken back, and sent again as of then. */
  async redate(taken, by) {
    if ((await asked(site.undoMark(taken.id).then(() => true))) === null) return;
    const at = taken.at ?? taken.t;
    const send = (moment) => asked(site.mark(taken.mark, taken.steak, Math.max(0, clock.t() - moment)));
    const again = await send(at - by);
    if (again !== null) sayMarked(again, true);
    else await send(at); // the refusal is being said
    paint();
  },

  /** Offer to date a mark of the list back. */
  dateBack(entry) {
    sheet.close();
    sayMarked(entry, true);
    paint();
  },

  async undo({ id, kind, what }) {
    const done = await asked(kind === "spot" ? site.undoSpot(id).then(() => true) : site.undoMark(id).then(() => true));
    if (done) bar.say(`Taken back: ${what}`, now());
    paint();
  },

  /** Returns the sentence of a refusal, for the panel that stays open; null when taken. */
  async spot(steak, celsius) {
    try {
      const pull = () => (steak === null ? null : pullIn(board.steak(steak), board.time(clock.t())));
      const before = pull();
      const taken = await site.spot(steak, celsius);
      sheet.close();
      await pause(FORECAST_COMES_MS);
      const after = pull();
      const what = `${steak === null ? "Grate" : title(steak)}: spot ${unit.say(celsius)}${spotEffect(before, after)}`;
      bar.say(what, now(), () => acts.undo({ id: taken.id, kind: "spot", what }));
      return null;
    } catch (refusal) {
      return refusal.message;
    } finally {
      paint();
    }
  },

  /** "Got it" for calls that one answer settles. */
  async answer(calls) {
    await Promise.all(calls.map(async (call) => {
      if (call.here) caller.settleHere(call.id, now());
      else if ((await asked(site.acknowledge(call.id))) !== null) settle(call.id, "acknowledged");
    }));
    paint();
  },

  /** Put alarms aside for a while. */
  async shelve(calls, for_s) {
    await Promise.all(calls.map(async ({ id }) => {
      if ((await asked(site.shelve(id, for_s))) !== null) settle(id, "shelved");
    }));
    paint();
  },

  async arm() {
    const armed = await sound.arm();
    keepAwake();
    bar.arming = armed ? "heard" : "deaf";
    if (armed) {
      const steaks = board.steaks.slice(0, 2).map((one) => one.steak);
      caller.burst([{ call: "test", steaks, priority: 2, text: "Test", here: true }], now());
    }
    phone.step(now(), link);
    paint();
  },

  /** Change temperatures of a steak; `words` say the change, "pull at 129.0 °F". */
  async set(steak, change, words) {
    if ((await asked(site.steak(steak, change))) !== null) bar.say(`${title(steak)}: ${words}`, now());
    paint();
  },

  /** Change a setting of the cook; `words` say it. */
  async setCook(name, value, words) {
    const cook = await asked(site.cook({ [name]: value }));
    if (cook === null) return;
    board.apply({ type: "cook", cook });
    bar.say(words, now());
    paint();
  },

  /** Change several settings; returns a refusal's sentence, for the panel that stays open. */
  async changeCook(change) {
    try {
      board.apply({ type: "cook", cook: await site.cook(change) });
      sheet.close();
      return null;
    } catch (refusal) {
      return refusal.message;
    } finally {
      paint();
    }
  },

  takeOffset() {
    const offset_s = board.plan.offset.offset_s;
    return acts.setCook("offset_s", offset_s, `${title(board.steaks[1].steak)} goes on ${Math.round(offset_s)} s later`);
  },

  async propose({ id, steak, mark }, isSo) {
    if ((await asked(site.propose(id, isSo).then(() => true))) === null) return;
    board.apply({ type: "proposals", proposals: board.proposals.filter((one) => one.id !== id) });
    bar.say(isSo ? `${deed(mark, steak)} marked; undo in Marks` : `${deed(mark, steak)} not marked; to mark it, tap More`, now());
    paint();
  },

  async setLook(steak, look) {
    sheet.close();
    await acts.set(steak, { look }, look ? "note kept" : "note taken away");
  },

  assign: (steak, channel) => asked(site.steak(steak, { channel })),

  async newCook() {
    sheet.close();
    if ((await asked(site.newCook())) !== null) bar.say("A new cook has begun", now());
  },

  openSpot: (name) => sheet.show(spotPanel(name === null ? null : board.steak(name), board.fire, unit, (celsius) => acts.spot(name, celsius))),
  openPlan: () => sheet.show(planPanel(acts)),
  openWindow: () => sheet.show(windowPanel(board, acts)),
  openFire: () => sheet.show(firePanel(board, unit, acts)),
  openSteak: (name) => sheet.show(steakPanel(board.steak(name), unit, acts)),
  openChoose: () => sheet.show(choosePanel(acts)),
  openLook: (name) => sheet.show(lookPanel(board.steak(name), acts)),
  openMore: (name) => sheet.show(morePanel(board.steak(name), acts)),
  openAlarms: () => sheet.show(alarmsPanel(acts)),
  openMarks: () => sheet.show(marksPanel(acts)),
  openProbes: () => sheet.show(probesPanel(acts)),
  openMenu: () => sheet.show(menuPanel(board, unit, sound, acts)),

  switchUnit() {
    unit.choose(unit.name === "F" ? "C" : "F");
    acts.openMenu();
    paint();
  },

  theme: () => storage.get("pullcall.theme") ?? "auto",

  switchTheme() {
    const next = THEMES[(THEMES.indexOf(acts.theme()) + 1) % THEMES.length];
    storage.set("pullcall.theme", next);
    attr(document.documentElement, "data-theme", next);
    acts.openMenu();
  },
};

/** What the site will say in a moment, so that the key does not stay. */
const settle = (id, state) => board.apply({ type: "call_state", id, state, by: "phone" });

const pause = (ms) => new Promise((done) => setTimeout(done, ms));

const bar = new Bar(byId("slot"), acts);
const lines = new Lines(byId("lines"), byId("notice"));
const stage = new Stage(byId("stage"), acts);
const foot = new Foot(byId("foot"), byId("caution"), acts);

/** One lane per steak, the spine between the first two. */
function layLanes() {
  const names = board.steaks.map((one) => one.steak);
  refill(byId("board"), JSON.stringify(names), () => {
    lanes = names.map((name, i) => new Lane(name, i, acts));
    const [first, ...rest] = lanes.map((lane) => lane.node);
    return first ? [first, spine.node, ...rest] : [];
  });
  const kinds = [names.length === 1 && "alone", board.ready && board.stage !== "cooking" && "brief"];
  attr(byId("board"), "class", kinds.filter(Boolean).join(" ") || null);
}

function paint() {
  const t = board.time(clock.t());
  layLanes();
  const calls = top.calls(caller.local, t, now());
  bar.paint(board, calls, sound, t, now());
  lines.paint(board, link, calls, t);
  stage.paint(board, unit, t);
  foot.paint(board, unit);
  board.steaks.forEach((steak, i) => lanes[i]?.paint(steak, board, unit, t, link.lost));
  spine.paint(board.steaks, t);
  sheet.paint(board, unit, t);
}

function beat() {
  caller.step(board.time(clock.t()), now(), link);
  phone.step(now(), link);
  paint();
}

/** Keep the screen on where the browser can; a plain-http page cannot ask. */
async function keepAwake() {
  try {
    await navigator.wakeLock?.request("screen");
  } catch {
    // Refused (low battery, say): the calls still sound while the page is open.
  }
}

function comeBack() {
  phone.tell(now());
  if (document.visibilityState !== "visible") return;
  link.refresh();
  sound.wake();
  if (sound.armed) keepAwake();
}

attr(document.documentElement, "data-theme", acts.theme());
ignoreMultitouch(document);
document.addEventListener("visibilitychange", comeBack);
window.addEventListener("pageshow", comeBack);
window.addEventListener("online", comeBack);
window.addEventListener("keydown", (event) => { if (event.key === "Escape") sheet.close(); });
setInterval(beat, PAINT_MS);
link.run();
paint();
