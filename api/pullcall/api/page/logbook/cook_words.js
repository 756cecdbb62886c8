// A cook of the logbook in words: its day, its steaks, how the box came in.

import { title } from "../acts.js";
import { wallTime } from "../words.js";

const dateOf = (iso) => {
  const date = iso ? new Date(iso) : null;
  return date === null || Number.isNaN(date.getTime()) ? null : date;
};

/** "Sat 13 Jun 2026". */
export function dayOf(iso) {
  const date = dateOf(iso);
  if (date === null) return "No date";
  return date.toLocaleDateString("en-GB", { weekday: "short", day: "numeric", month: "short", year: "numeric" }).replace(",", "");
}

/** "13:40" on this phone. */
export const timeOf = (iso) => wallTime(dateOf(iso));

/** "Spring Cup, Lake Park"; nothing where nobody wrote it. */
export const whereOf = ({ contest, place }) => [contest, place].filter(Boolean).join(", ");

/** "Sat 13 Jun 2026, 13:40": what a cook is called where its place may be missing. */
export const nameOf = (row) => [`${dayOf(row.started)}, ${timeOf(row.started)}`, whereOf(row)].filter(Boolean).join(", ");

/** "129.4 → 135.1 °F": off the grate, and the peak after; before that the pull that was set. */
export function climbWords({ off_c: off, peak_c: peak, pull_c: pull }, unit) {
  if ((off ?? peak ?? null) === null) return `pull ${unit.degrees(pull)} °${unit.name}`;
  const shown = (celsius) => (celsius === null || celsius === undefined ? "–" : unit.number(celsius, 1));
  return `${shown(off)} → ${shown(peak)} °${unit.name}`;
}

/** How the box came in: `{sign, words}`, or null for a cook that handed nothing in. */
export function handInWords({ hand_in_wall: wall, in_window: inside, handed_in: which }) {
  if (!wall) return null;
  const what = which ? `${which} handed in` : "handed in";
  const words = `${title(what)} ${timeOf(wall)}`;
  if (inside === null || inside === undefined) return { sign: "", words };
  return inside ? { sign: "✓", words: `${words}, inside the window` } : { sign: "✗", words: `${words}, outside the window` };
}

/** "taste 8.5 · texture 9". */
export const scoreWords = ({ scores = {} }) => Object.entries(scores).map(([name, value]) => `${name} ${value}`).join(" · ");
