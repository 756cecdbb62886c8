// Wires entry -> link -> board -> view, and the taps back to the site.

import { Awake } from "./awake.js";
import { Bar } from "./bar.js";
import { Board } from "./state.js";
import { Caller } from "./calls.js";
import { CookClock } from "./clock.js";
import { Door } from "./door.js";
import { Entry } from "./entry.js";
import { Foot } from "./foot.js";
import { Kept } from "./kept.js";
import { Lane } from "./lane.js";
import { Lines, isLost } from "./lines.js";
import { Link } from "./link.js";
import { Phone } from "./phone.js";
import { Sheet } from "./sheet.js";
import { Sound } from "./sound.js";
import { Spine } from "./spine.js";
import { Stage } from "./stage.js";
import { Storage, Unit } from "./units.js";
import { Top } from "./top.js";
import { Viewing, askedFor } from "./viewing.js";
import { attr, ignoreMultitouch, refill } from "./dom.js";
import { deedsOf } from "./deeds.js";
import { install } from "./install.js";
import { site } from "./api.js";

const PAINT_MS = 200;
const GATHER_MS = 30; // calls of one burst come one after the other

const byId = (id) => document.getElementById(id);
const now = () => performance.now();
const storage = new Storage();
const board = new Board();
const clock = new CookClock();
const live = { board, clock, top: new Top(board, clock) };
const unit = new Unit(storage);
const sound = new Sound(storage);
const sheet = new Sheet([byId("whole"), byId("lines"), byId("main"), byId("replay"), byId("foot")], paint);
const spine = new Spine();
const awake = new Awake();
const kept = new Kept();
const phone = new Phone(storage, sound);
const caller = new Caller(board, sound, {
  sounded,
  told: (call) => phone.receipt(call),
  passOn: (call) => acts.answer([call]),
});
const link = new Link({ hear, ticket, trip: (t, sent, received) => clock.trip(t, sent, received) });
let lanes = [];

const viewing = new Viewing(live, { node: byId("replay"), sheet, unit, caller, paint, menu: () => acts.openMenu() });
const page = { live, viewing, unit, sound, sheet, storage, caller, awake, link, paint, shut, tellPhone };
const acts = deedsOf(page);
const bar = new Bar(byId("slot"), acts);
page.bar = bar;
const lines = new Lines({ whole: byId("whole"), notice: byId("notice"), node: byId("lines") }, acts);
const stage = new Stage(byId("stage"), acts);
const foot = new Foot(byId("foot"), byId("caution"), acts);
const door = new Door(byId("door"), (code) => entry.pair({ code }));
const entry = new Entry(door, { admit, shut });

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
  if (message.type === "mark") acts.hearMark(message, viewing.replay === null);
  if (message.type === "snapshot") acts.hearMarks(message);
  if (message.type === "undo") bar.takeBack(message.id);
  if (isOfAnotherCook(message)) {
    caller.hush(); // what was called then is over
    acts.unanswered().forEach(acts.letGo);
  }
  board.apply(message);
  if (message.type === "snapshot") {
    unit.site = board.unit;
    if (!board.visitor.board) install();
    if (board.isReplay) viewing.showOnly(board);
  }
  if (["snapshot", "schedule"].includes(message.type)) kept.keep(board, clock, received);
  if (board.isReplay) return; // what was called then is over
  caller.hear(message, board.time(clock.t()), received);
  if (message.type === "call") setTimeout(() => caller.flush(now()), GATHER_MS);
}

const isOfAnotherCook = ({ type, cook }) => type === "snapshot" && board.ready && cook?.id !== board.cook?.id;

/** What opens a websocket; this machine's own browser needs nothing. */
async function ticket() {
  return board.visitor.here ? null : (await site.ticket()).ticket;
}

/** The site knows this phone: begin, or begin anew with what it may see now. */
function admit(visitor, words) {
  board.visitor = visitor;
  if (visitor.site) document.title = `${visitor.site.name} · Pullcall`;
  door.close();
  link.halt();
  link.run();
  viewing.follow(window.location.hash);
  if (words) bar.say(words, now());
  awake.ask();
  paint();
}

/** The site does not know this phone (any more): nothing of the cook stays, and nothing sounds. */
function shut(sentence) {
  const before = board.visitor;
  link.halt();
  viewing.close();
  sheet.close();
  kept.forget();
  caller.hush();
  board.forget();
  awake.release();
  if (before.may("rule")) caller.burst([{ call: "unpaired", steaks: [], priority: 2, text: before.endedWords, here: true }], now());
  door.show(sentence ?? (before.isPaired ? before.endedWords : null));
  paint();
}

/** One lane per steak, the spine between the first two. */
function layLanes({ board }) {
  const names = board.steaks.map((one) => one.steak);
  refill(byId("board"), JSON.stringify(names), () => {
    lanes = names.map((name, i) => new Lane(name, i, acts));
    const [first, ...rest] = lanes.map((lane) => lane.node);
    return first ? [first, spine.node, ...rest] : [];
  });
  const kinds = [names.length === 1 && "alone", board.ready && board.stage !== "cooking" && "brief"];
  attr(byId("board"), "class", kinds.filter(Boolean).join(" ") || null);
}

/** Paint the cook that is looked at: the one that runs, or one that is replayed. */
function paint() {
  const { board, clock, top, replay = null } = viewing.shown;
  const t = board.time(clock.t());
  attr(document.body, "data-watching", board.visitor.isWatching);
  attr(document.body, "data-replay", board.isReplay);
  layLanes(viewing.shown);
  const calls = top.calls(replay ? [] : caller.local, t, now());
  bar.paint(board, calls, sound, t, now(), viewing.meanwhile(now()));
  lines.paint(board, link, calls, t, sound.armed);
  stage.paint(board, unit, t);
  foot.paint(board, unit, link);
  board.steaks.forEach((steak, i) => lanes[i]?.paint(steak, board, unit, t, isLost(board, link) && !replay));
  spine.paint(board.steaks, t);
  replay?.paint();
  sheet.paint(board, unit, t);
}

function beat() {
  sound.muted = !board.acting || board.isReplay;
  if (board.visitor.isPaired && !board.isReplay) caller.step(board.time(clock.t()), now(), link);
  if (board.acting) phone.step(now(), link);
  if (link.live !== null) kept.step(board, clock, now());
  viewing.step(now());
  paint();
}

/** Tell the site at once whether this phone can sound. */
function tellPhone() {
  phone.step(now(), link);
}

function comeBack() {
  if (board.acting) phone.tell(now());
  if (document.visibilityState !== "visible") return;
  entry.wake();
  link.refresh();
  sound.wake();
  if (board.visitor.isPaired) awake.ask();
}

/** Another address in this tab: another replay, none, or another link to pair by. */
function followAddress() {
  viewing.follow(window.location.hash);
  if (askedFor(window.location.hash) === null) entry.enter();
}

/** The site said that it does not know this phone: ask who it is, to be sure. */
function doubt() {
  if (board.visitor.isPaired) entry.look(null);
}

acts.wearTheme();
ignoreMultitouch(document);
document.addEventListener("visibilitychange", comeBack);
document.addEventListener("pullcall:unpaired", doubt);
window.addEventListener("pageshow", comeBack);
window.addEventListener("online", comeBack);
window.addEventListener("hashchange", followAddress);
window.addEventListener("keydown", (event) => { if (event.key === "Escape") sheet.close(); });
setInterval(beat, PAINT_MS);
link.recall(kept.restore(board, clock));
if (board.ready) unit.site = board.unit;
entry.enter();
paint();
