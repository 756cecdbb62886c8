// What is not as it should be, besides the steaks: which of it the lines above the lanes say, and
// the panel that says all of it.

import { attr, button, make, refill } from "./dom.js";
import { joined, liveAlarms, stateOf } from "./alarms.js";

/** Alarms that say what a check says. */
const SAID_BY = {
  heard: ["unheard"], recorder: ["recorder_trouble"], fire: ["fire_low", "fire_high"], clock: ["clock_unset", "clock_jumped"],
};
const CLOCK_WAY = "Menu, Window";

/** The checks that are not well and that no open alarm says already. */
export function troublesOf(board) {
  if (!board.acting || board.isReplay) return []; // nothing that a watcher could mend
  const alarms = liveAlarms(board.calls).filter(({ state }) => state !== "shelved");
  const bad = board.checks.filter((one) => !one.ok && !(board.stage === "after" && isOfCooking(one)));
  return bad.filter((one) => !isSaid(one, alarms, board));
}

/** Alarms of the lines: the newest of a kind that is of no steak, and none that the banner says. */
export function linedUp(alarms, banner) {
  const isOfBanner = ({ call }) => call === "recorder_trouble" && /record/i.test(banner ?? "");
  const first = (one, i) => one.steaks.length > 0 || alarms.findIndex(({ call }) => call === one.call) === i;
  return alarms.filter((one, i) => first(one, i) && !isOfBanner(one));
}

/** Fire and probes: nothing to mend once no steak is waiting or on. */
const isOfCooking = ({ name }) => name === "fire" || name.startsWith("probe");

function isSaid({ name }, alarms, { cook }) {
  if (name === "clock" && !cook?.window_t) return false; // the window's line says where it is set
  const kinds = SAID_BY[name] ?? [];
  return alarms.some((one) => kinds.includes(one.call)
    || (one.call === "probe_lost" && one.steaks.some((steak) => name === `probe ${steak}`)));
}

/** One in a line: the site's words, and for the clock where it is set. */
export const lineOf = ({ name, words }, { ruling, cook }) =>
  (name === "clock" && ruling && !cook?.window_t ? `${words} in ${CLOCK_WAY}` : words);

/** The window's line while the time of day is in doubt. */
export const doubted = (words, { ruling }) => `${words}, if the clock is right${ruling ? `: ${CLOCK_WAY}` : ""}`;

/** All of it, whole. */
export function noticesPanel(acts) {
  const list = make("div", { class: "list notices" });
  const paint = (board) => {
    const told = [board.banner, board.visitor.note].filter(Boolean);
    const troubles = troublesOf(board);
    const alarms = liveAlarms(board.calls);
    const key = JSON.stringify([told, troubles, alarms.map((one) => [one.id, one.state, one.text]), board.writable]);
    refill(list, key, () => [
      ...told.map((words) => make("p", {}, words)),
      ...troubles.map((one) => troubleOf(one, board, acts)),
      ...alarms.map((one) => make("p", {}, `${joined([one])} (${stateOf(one)})`)),
      ...(alarms.length ? [button(`Answer alarms: ${alarms.length}`, () => acts.openAlarms(), { kind: "wide" })] : []),
      ...(told.length || troubles.length || alarms.length ? [] : [make("p", {}, "All is well.")]),
    ]);
  };
  return { title: "Notices", body: list, paint };
}

/** One that a panel can mend is the key to it. */
function troubleOf({ name, words }, board, acts) {
  if (name !== "clock" || !board.ruling) return make("p", {}, `! ${words}`);
  const key = button(`! ${words}`, () => acts.openWindow(), { kind: "wide" });
  attr(key, "disabled", !board.writable);
  return key;
}
