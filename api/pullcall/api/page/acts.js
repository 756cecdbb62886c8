// What comes next, in words: the step of each steak and the next act of the whole cook.

import { isPullDue } from "./alarms.js";
import { countdown } from "./clock.js";

export const WORDS = {
  on: "On",
  turn: "Turn",
  flip: "Flip",
  baste: "Baste",
  lid_open: "Lid open",
  lid_close: "Lid closed",
  off: "Off",
  boxed: "Boxed",
  handed_in: "Handed in",
  seasoned: "Steaks seasoned",
  lit: "Chimney lit",
  poured: "Coal poured",
  fetched: "Steaks fetched",
};

const LAPSE_S = 20; // a turn or flip this late is not asked for any more

/** Steps of the plan and the mark that ticks each: deeds of the morning, of no one steak. */
export const MORNING = { season: "seasoned", light: "lit", pour: "poured", fetch: "fetched" };

export const PHASES = {
  waiting: "waiting",
  on: "cooking",
  resting: "resting",
  boxed: "boxed",
  handed_in: "handed in",
};

export const TWINS_S = 10; // acts this close are called together
const FAR_S = 1800; // beyond this a pull is only "over 30 min"
const NEAR_S = 90; // below this seconds are counted however wide the band is

/** "left" as a name people read: "Left". */
export function title(name) {
  return name.charAt(0).toUpperCase() + name.slice(1);
}

/** A planned act as it is announced: "turn" alone reads as a direction, or as handing in. */
export const actWords = (verb) => (verb === "turn" ? "Quarter-turn" : title(verb));

/** A mark in words, with whose it is: "Left: turn", "Grill: lid open", "Chimney lit". */
export function deed(mark, steak) {
  const words = WORDS[mark] ?? mark;
  if (Object.values(MORNING).includes(mark)) return words;
  const who = steak !== null ? title(steak) : mark.startsWith("lid") ? "Grill" : "Both";
  return `${who}: ${words.toLowerCase()}`;
}

/** The temperature a steak is really pulled at, Celsius: what is forecast for, or as set; null where it is not shown. */
export function pullAt({ forecast, pull_c: pull, shift_c: shift }) {
  const set = pull === undefined ? null : pull + (shift ?? 0);
  return forecast?.pull_c ?? set;
}

/** When it comes off, plainly: "Pull 129 °F for 135, +1 °F by choice", "Pull 129 °F (128 °F reaches 135)". */
export function aimWords(steak, unit) {
  const { target_c: target, pull_by: by, shift_c: shift, forecast } = steak;
  if (pullAt(steak) === null) return "";
  const pull = `Pull ${unit.sayDegrees(pullAt(steak))}`;
  const chosen = shift ? `, ${unit.sayDifference(unit.difference(shift))} by choice` : "";
  if (target === null) return pull + chosen;
  if (by === "target") return `${pull} for ${unit.degrees(target)}${chosen}`;
  // Where another pull would reach the target, that one is said beside it.
  const aim = shift ? null : forecast?.aim_c;
  const isOther = aim && unit.degrees(aim.p50) !== unit.degrees(pullAt(steak));
  return pull + (isOther ? ` (${unit.sayDegrees(aim.p50)} reaches ${unit.degrees(target)})` : `, target ${unit.degrees(target)}`) + chosen;
}

/** The mark its big button takes next, or null when it is handed in: a pull that is called is next. */
export function nextStep(steak, calls) {
  if (steak.phase === "waiting") return "on";
  if (isPullDue(steak, calls)) return "off";
  if (steak.phase === "on") return steak.next?.mark ?? "off";
  return { resting: "boxed", boxed: "handed_in" }[steak.phase] ?? null;
}

/** The forecast of the pull counted from `t`, or null. */
export function pullIn(steak, t) {
  const forecast = steak.phase === "on" ? steak.forecast : null;
  if (!forecast?.pull_in_s) return null;
  const passed = t - forecast.t;
  const { p10, p50, p90 } = forecast.pull_in_s;
  return { p10: p10 - passed, p50: p50 - passed, p90: p90 - passed };
}

/** Whether a forecast is too far or too wide to be counted in seconds. */
export function isVague({ p10, p50, p90 }) {
  return p50 > FAR_S || (p50 > NEAR_S && p90 - p10 > p50);
}

/** A vague forecast as one number: "over 30 min", "about 16 min". */
export function roughly({ p50 }) {
  return p50 > FAR_S ? `over ${FAR_S / 60} min` : `about ${Math.max(1, Math.round(p50 / 60))} min`;
}

/** The pull in words: "Pull in 5:10", "Pull in about 16 min". */
export function pullWords(pull) {
  return `Pull in ${isVague(pull) ? roughly(pull) : countdown(pull.p50)}`;
}

/** The next planned turn or flip of a steak that is on, seconds from `t`, or null. */
export function plannedIn(steak, t) {
  if (steak.phase !== "on" || !steak.next || steak.next.mark === "off") return null;
  const in_s = steak.next.due_t - t;
  return in_s < -LAPSE_S ? null : { mark: steak.next.mark, in_s };
}

function comingActs(steaks, t, calls) {
  const acts = [];
  for (const steak of steaks) {
    if (isPullDue(steak, calls)) {
      acts.push({ steak: steak.steak, verb: "pull", in_s: -Infinity });
      continue;
    }
    const planned = plannedIn(steak, t);
    const pull = pullIn(steak, t);
    if (planned) acts.push({ steak: steak.steak, verb: planned.mark, in_s: planned.in_s });
    if (pull) acts.push({ steak: steak.steak, verb: "pull", in_s: pull.p50, rough: isVague(pull) ? roughly(pull) : null });
  }
  return acts.sort((a, b) => a.in_s - b.in_s);
}

/** The next act in words: "Both: flip in 10", "Left: pull in 40". */
export function nextAct({ steaks, calls, acting, isBlind }, t) {
  const acts = t === null ? [] : comingActs(steaks, t, calls);
  if (!acts.length) return idleSentence(steaks, acting, isBlind, t);
  const [first] = acts;
  const together = acts.filter((one) => one.verb === first.verb && one.in_s <= first.in_s + TWINS_S);
  const due = first.in_s <= 0 ? "now" : `in ${first.rough ?? countdown(first.in_s)}`;
  const whose = together.length > 1 && together.length === steaks.length ? "Both" : title(first.steak);
  return `${whose}: ${actWords(first.verb).toLowerCase()} ${due}`;
}

/** How long a steak rests still, counted from `t`; null where it does not, or where that is not known. */
export function restIn({ phase, forecast }, t) {
  if (phase !== "resting" || t === null || typeof forecast?.rest_in_s !== "number") return null;
  return forecast.rest_in_s - (t - forecast.t);
}

/** "Box both in 5:40", "Left: box in 5:40", "Left has rested: box it"; the one that is first done. */
function boxWords(steaks, t) {
  const resting = steaks.map((one) => ({ name: title(one.steak), in_s: restIn(one, t) })).filter((one) => one.in_s !== null);
  if (!resting.length) return "Resting: box next";
  const [first, ...more] = resting.sort((a, b) => a.in_s - b.in_s);
  const isBoth = more.length > 0 && more.length === steaks.length - 1 && more.every((one) => Math.max(0, one.in_s) <= Math.max(0, first.in_s) + TWINS_S);
  if (first.in_s <= 0) return isBoth ? "Both have rested: box them" : `${first.name} has rested: box it`;
  return isBoth ? `Box both in ${countdown(first.in_s)}` : `${first.name}: box in ${countdown(first.in_s)}`;
}

function idleSentence(steaks, acting, isBlind, t) {
  const phases = new Set(steaks.map((one) => one.phase));
  if (!phases.size) return "Waiting for the cook";
  if (phases.has("on")) return isBlind ? "Cooking" : "Cooking: no forecast yet";
  if (phases.has("waiting")) return acting ? "Steaks on? Tap On" : "Not on yet";
  if (phases.has("resting")) return boxWords(steaks, t);
  return phases.has("boxed") ? "Boxed: hand in" : "Handed in";
}

/** What a spot did to the pull forecast: ", pull in 2:10 (was 2:45)". */
export function spotEffect(before, after) {
  if (!after) return "";
  const now = `, pull in ${countdown(after.p50)}`;
  return before ? `${now} (was ${countdown(before.p50)})` : now;
}
