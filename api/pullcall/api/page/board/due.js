// What a site does next and in how long, in words.

import { isVague, roughly, title } from "../acts.js";
import { countdown } from "../clock.js";
import { span } from "../words.js";

const ACTS = { turn: "turn", flip: "flip", pull_soon: "pull", pull_hold: "pull", pull_now: "pull", over: "pull" };
const PULL_IS_DUE = new Set(["pull_now", "over"]);
const FAR_S = 600; // from here on whole minutes are enough
const IDLE = { waiting: "Not on yet", cooking: "No forecast yet", resting: "Resting", over: "Over" };

/** `{label, digits, look}`: "Both: turn in" and "12 s"; `look` is how near it is. */
export function dueOf(row, t) {
  const { alarm, next } = row;
  if (alarm && PULL_IS_DUE.has(alarm.call)) return now(""); // the alarm's own words say what
  if (typeof next?.due_t !== "number" || t === null) return nextPull(row, t) ?? { label: idleWords(row), digits: "", look: "idle" };
  const isPull = ACTS[next.call] === "pull";
  const pull = isPull ? pullOf(next, row, t) : null;
  const in_s = pull ? pull.p50 : next.due_t - t;
  const act = actOf(next, row);
  if (in_s <= 0) return passed(act, in_s, next.call, row);
  if (pull) return comingPull(act, pull);
  return coming(ACTS[next.call] ? `${act} in` : act, clockOf(in_s), in_s);
}

/** The pull that is forecast next, where no call is to come: all were made. Null where none is. */
function nextPull(row, t) {
  const [first] = row.steaks.filter((one) => one.pull_t).sort((one, other) => one.pull_t.p50 - other.pull_t.p50);
  if (!first || t === null || row.state !== "here") return null;
  const pull = pullIn(first, t);
  const act = `${title(first.steak)}: pull`;
  return pull.p50 <= 0 ? now(act) : comingPull(act, pull);
}

function comingPull(act, pull) {
  return coming(`${act} in`, isVague(pull) ? roughly(pull) : `about ${countdown(pull.p50)}`, pull.p50);
}

/** The row with what is to come, and how long alarms stand, in seconds of its cook, which may run
 * faster than life: as its own page counts them. */
export function inCookTime(row, t) {
  if (!row.speed || row.speed === 1 || t === null) return row;
  const at = (moment) => (typeof moment === "number" ? t + (moment - t) * row.speed : moment);
  const all = (times) => times && Object.fromEntries(Object.entries(times).map(([name, moment]) => [name, at(moment)]));
  return {
    ...row,
    alarm: row.alarm && { ...row.alarm, since_t: at(row.alarm.since_t) },
    next: row.next && { ...row.next, due_t: at(row.next.due_t) },
    window: all(row.window),
    steaks: row.steaks.map((steak) => ({ ...steak, pull_t: all(steak.pull_t) })),
  };
}

/** A site that is not heard does nothing that is known; who is shown no pull is not told why. */
function idleWords({ state, stage, steaks }) {
  if (state !== "here") return "";
  if (stage === "cooking" && steaks.every((one) => one.pull_c === null)) return "Cooking";
  return IDLE[stage] ?? "";
}

const now = (act) => ({ label: act, digits: "NOW", look: "now" });

/** The word before the number goes to the label: the digits are digits. */
function coming(label, words, in_s) {
  const [, about, digits] = /^(?:(about|over) )?(.+)$/.exec(words);
  const look = in_s <= 40 ? "close" : in_s <= 120 ? "soon" : "far";
  return { label: about ? `${label} ${about}` : label, digits, look };
}

/** Only a site that is heard can be late: of another it is not known what was done. */
function passed(act, in_s, call, { state }) {
  if (state !== "here") return { label: `${act} was due`, digits: `${clockOf(-in_s)} ago`, look: "idle" };
  if (ACTS[call] === "pull") return now(act);
  if (!ACTS[call]) return { label: act, digits: "now", look: "close" }; // a step of the plan has time
  return { label: `${act} late by`, digits: clockOf(-in_s), look: "late" };
}

function clockOf(seconds) {
  return seconds < FAR_S ? countdown(seconds) : span(seconds);
}

/** "Both: turn", "Left: pull", or what the site itself calls it. */
function actOf({ call, steaks, text }, row) {
  const act = ACTS[call];
  if (!act) return text.replace(/[.\s]+$/, "");
  const isAll = steaks.length > 1 && steaks.length === row.steaks.length;
  const whose = isAll ? (steaks.length === 2 ? "Both" : "All") : title(steaks.join(" and "));
  return whose ? `${whose}: ${act}` : title(act);
}

/** The pull forecast of the first of its steaks, counted from `t`; null where there is none. */
function pullOf({ steaks }, row, t) {
  const known = row.steaks.filter((one) => one.pull_t && steaks.includes(one.steak)).map((one) => pullIn(one, t));
  return known.sort((one, other) => one.p50 - other.p50)[0] ?? null;
}

function pullIn({ pull_t: { p10, p50, p90 } }, t) {
  return { p10: p10 - t, p50: p50 - t, p90: p90 - t };
}

/** When a steak comes off: " in 2:10", " in about 16 min"; nothing where it is not known. */
export function pullWords(steak, t) {
  if (!steak.pull_t || t === null) return "";
  const pull = pullIn(steak, t);
  if (pull.p50 <= 0) return " now";
  return isVague(pull) ? ` in ${roughly(pull)}` : ` in ${clockOf(pull.p50)}`;
}

/** Whether a site is heard, in words; nothing while it is. */
export function stateWords({ state, heard_t: heard, site }, t) {
  if (state === "here") return "";
  const since = heard === null || heard === undefined || t === null ? null : span(Math.max(0, t - heard));
  if (state === "gone") return since === null ? "Switched off" : `Switched off ${since} ago`;
  const words = state === "lost" ? "Lost, not heard" : "Not heard";
  return since === null ? `${words} yet` : `${words} for ${since}`;
}

/** How an alarm stands: that it was answered, or for how long nobody has. */
export function alarmSince({ since_t: since, state }, t) {
  const how = { acknowledged: "answered", shelved: "put aside" }[state];
  if (how) return how;
  return typeof since !== "number" || t === null ? "" : `for ${span(Math.max(0, t - since))}`;
}

/** The sign of a priority: it counts, whatever its colour. */
export const signOf = ({ priority }) => "!".repeat(Math.max(1, 4 - priority));

/** The sign in words. */
export const signWords = ({ priority }) => `Alarm, priority ${priority}: `;

/** "Simulated, 6 times life". */
export function simulatedWords({ simulated, speed }) {
  const faster = speed && speed !== 1 ? `${speed} times life` : "";
  return title([simulated ? "simulated" : "", faster].filter(Boolean).join(", "));
}
