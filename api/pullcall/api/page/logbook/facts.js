// How a cook went, short: a column per steak, from the facts that were worked out from its log.

import { make } from "../dom.js";
import { span } from "../words.js";
import { title } from "../acts.js";

const FORECASTS = "Forecasts: how much sooner or later than told the pull temperature came, and whether in the band that was told.";

/** The facts of each steak as a table that scrolls by itself where it is too wide. */
export function factsTable({ steaks }, unit) {
  const rows = [
    row("Pulled at", steaks, (one) => unit.say(one.off_c)),
    row("Pull was", steaks, (one) => unit.say(one.pull_c)),
    row("Carry-over told", steaks, (one) => climbTold(one.climb_told_c, unit)),
    row("Carry-over measured", steaks, ({ peak_c: peak, off_c: off }) => (isNone(peak) || isNone(off) ? "–" : change(peak - off, unit))),
    row("Peak", steaks, (one) => unit.say(one.peak_c)),
    row("Pull called to off", steaks, reaction),
    ...leadRows(steaks),
  ];
  const head = make("tr", {}, make("td", {}), ...steaks.map(({ steak }, i) =>
    make("th", { scope: "col", class: `lane${i % 2}` }, make("span", { class: "name" }, title(steak)))));
  return make("div", { class: "scrolls", role: "region", tabindex: 0, "aria-label": "Each steak in figures" },
    make("table", { class: "figures" }, make("thead", {}, head), make("tbody", {}, ...rows)));
}

/** What else is worth a line: how to read the forecasts, the grate, and whether the program calls the same today. */
export function remarks({ steaks, fire, as_called: asCalled }, unit) {
  const words = steaks.some((one) => one.leads.length) ? [FORECASTS] : [];
  if (!isNone(fire?.at_on_c)) words.push(`Grate ${unit.say(fire.at_on_c, 0)} as the first steak went on${isNone(fire.low_c) ? "" : `, ${unit.say(fire.low_c, 0)} at its lowest`}.`);
  if (asCalled === false) words.push("Worked out anew, this cook gives other calls than it did then: the program or what it learned has changed.");
  return words.map((one) => make("p", { class: "meaning" }, one));
}

export const troubleWords = (trouble) => (trouble ? `How it went could not be worked out: ${trouble}` : null);

const isNone = (value) => value === null || value === undefined;
const row = (label, steaks, tell) => make("tr", {}, make("th", { scope: "row" }, label), ...steaks.map((one) => make("td", {}, tell(one))));
const change = (celsius, unit) => unit.sayDifference(unit.difference(celsius));

function climbTold(told, unit) {
  if (isNone(told)) return "–";
  const [low, high] = [told.p10, told.p90].map((one) => (Math.round(unit.difference(one) * 10) / 10).toFixed(1));
  return `${change(told.p50, unit)} (${low} to ${high})`;
}

/** From "pull now" to off: how quick the hand was. */
function reaction({ now_t: now, off_t: off }) {
  if (isNone(off) || isNone(now)) return "–";
  return off < now ? "off before the call" : `${Math.round(off - now)} s`;
}

/** One row per lead at which the forecasts were held against the truth, the longest first. */
function leadRows(steaks) {
  const leads = [...new Set(steaks.flatMap((one) => one.leads.map((lead) => lead.lead_s)))].sort((a, b) => b - a);
  return leads.map((lead) => row(`Forecast ${span(lead)} before`, steaks, (one) => leadWords(one.leads.find((score) => score.lead_s === lead))));
}

/** How it came against the forecast: "8 s sooner, in band". */
function leadWords(score) {
  if (!score) return "–";
  const { p10, p50, p90 } = score.pull_in_s;
  const early = Math.round(p50 - score.true_in_s);
  const came = early === 0 ? "to the second" : `${Math.abs(early)} s ${early > 0 ? "sooner" : "later"}`;
  return `${came}, ${p10 <= score.true_in_s && score.true_in_s <= p90 ? "in" : "outside its"} band`;
}
