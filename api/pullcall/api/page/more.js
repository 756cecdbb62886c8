// Marks out of order, and the list of the last ones, each with its undo.

import { attr, button, make, refill, show } from "./dom.js";
import { WORDS, deed, title } from "./acts.js";
import { minutes } from "./clock.js";

const OWN_MARKS = ["turn", "flip", "baste", "off", "on", "boxed", "handed_in"];
const GRILL_MARKS = ["lid_open", "lid_close"];
const AGES_S = [0, 15, 30, 60];
const LISTED = 12;
const LISTED_OWN = 4;

/** Every mark of one steak, with how long ago it happened. */
export function morePanel(steak, acts) {
  let ago = 0;
  const ages = AGES_S.map((age) => button(age ? `${age} s ago` : "Now", () => choose(age), { rest: 0 }));
  const choose = (age) => {
    ago = age;
    ages.forEach((node, i) => attr(node, "aria-pressed", String(AGES_S[i] === age)));
  };
  choose(0);
  const key = (mark, who) => button(WORDS[mark], () => acts.mark(mark, who, ago), { rest: 1200 });
  const marks = [...OWN_MARKS.map((mark) => key(mark, steak.steak)), ...GRILL_MARKS.map((mark) => key(mark, null))];
  const last = make("div", { class: "list" });
  const asked = make("div", { class: "plankeys" });
  const settings = button("Settings", () => acts.openSteak(steak.steak));
  const look = button("Look", () => acts.openLook(steak.steak));
  const body = make("div", {}, asked,
    make("p", { class: "steplabel" }, "When it happened"),
    make("div", { class: "grid ages" }, ...ages),
    make("p", { class: "steplabel" }, "What you did"),
    make("div", { class: "grid marks" }, ...marks),
    make("div", { class: "plankeys" },
      settings, button("Spot", () => acts.openSpot(steak.steak), { name: "Enter a spot temperature" }), look,
      button("Curve", () => acts.openCurve(), { name: "Curve and table" })),
    make("p", { class: "steplabel" }, "Its last marks"), last);
  const paint = (board, unit) => {
    for (const node of marks) attr(node, "disabled", !board.writable);
    for (const node of [settings, look]) show(node, board.ruling);
    const proposed = board.proposals.filter((one) => one.steak === steak.steak);
    refill(asked, JSON.stringify([proposed.map(({ id }) => id), board.writable]), () => proposed.map((one) => refusal(one, board, acts)));
    const own = lastEntries(board, unit).filter((one) => one.steak === steak.steak).slice(0, LISTED_OWN);
    refill(last, JSON.stringify([own, board.writable]), () => own.map((one) => row(one, board, acts)));
  };
  return { title: `${title(steak.steak)}: more`, body, paint };
}

/** The key that says that a proposed mark was none. */
function refusal(proposal, board, acts) {
  const key = button(`${WORDS[proposal.mark] ?? proposal.mark}: no`, () => acts.propose(proposal, false));
  attr(key, "disabled", !board.writable);
  return key;
}

/** The last marks and spots, newest first. */
export function marksPanel(acts) {
  const list = make("div", { class: "list" });
  const paint = (board, unit) => {
    const entries = lastEntries(board, unit);
    refill(list, JSON.stringify([entries, board.writable]), () =>
      entries.length ? entries.map((one) => row(one, board, acts)) : [make("p", {}, "Nothing marked yet.")]);
  };
  return { title: "Last marks", body: list, paint };
}

function lastEntries(board, unit) {
  const marks = board.marks.map(({ id, t, at, steak, mark }) =>
    ({ id, t: at ?? t, steak, mark, what: WORDS[mark] ?? mark, kind: "mark" }));
  const spots = board.spots.map(({ id, t, steak, celsius }) =>
    ({ id, t, steak, what: `Spot ${unit.sayTyped(celsius)}`, kind: "spot" }));
  return [...marks, ...spots].sort((a, b) => b.t - a.t).slice(0, LISTED);
}

function row(entry, board, acts) {
  const isSpot = entry.kind === "spot";
  const what = isSpot ? `${entry.steak === null ? "Grate" : title(entry.steak)}: ${entry.what.replace("Spot", "spot")}` : deed(entry.mark, entry.steak);
  const undo = button("Undo", () => acts.undo({ ...entry, what }), { name: `Undo ${what}` });
  const keys = [undo];
  if (!isSpot) keys.unshift(button("Earlier", () => acts.dateBack(entry), { name: `Earlier: ${what}` }));
  for (const key of keys) attr(key, "disabled", !board.writable);
  return make("div", { class: "row" },
    make("p", {}, make("b", {}, what), make("span", {}, ` ${minutes(entry.t)} since start`)), make("div", { class: "choices" }, ...keys));
}
