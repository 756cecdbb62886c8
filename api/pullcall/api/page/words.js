// Figures of the plan as people read them.

/** A chance in words: never "100 %" or "0 %" for what was only estimated. */
export function percent(share) {
  if (share > 0.99) return "over 99 %";
  return share < 0.01 ? "under 1 %" : `${Math.round(share * 100)} %`;
}

/** A span in whole minutes, rounded down, below two minutes in seconds: "6 min", "1 h 13 min". */
export function span(seconds) {
  if (seconds < 120) return `${Math.floor(seconds)} s`;
  const all = Math.floor(seconds / 60);
  return all < 60 ? `${all} min` : `${Math.floor(all / 60)} h ${all % 60} min`;
}

/** How late a watcher is shown the cook: "2 min late". */
export const lateWords = (seconds) => `${Math.round(seconds / 60)} min late`;

/** Wall time on this phone: "14:05"; nothing for no date. */
export function wallTime(date) {
  if (date === null) return "–";
  return [date.getHours(), date.getMinutes()].map((part) => String(part).padStart(2, "0")).join(":");
}

/** A duration as it is typed: "7-10 min", "90-120 s", "30 min". */
export function rangeText({ low_s: low, high_s: high }) {
  const [unit, by] = high < 180 ? ["s", 1] : ["min", 60];
  const number = (seconds) => String(Math.round((seconds / by) * 10) / 10);
  return low === high ? `${number(low)} ${unit}` : `${number(low)}-${number(high)} ${unit}`;
}

const OUTLET_STATES = { ok: "works", off: "off", failing: "fails" };

/** How an outlet is: "Loudspeaker fails. The folder is not there". */
export function outletWords({ name, state, note }) {
  const how = `${name.charAt(0).toUpperCase()}${name.slice(1)} ${OUTLET_STATES[state] ?? state}`;
  return note ? `${how}. ${note.replace(/\.$/, "")}` : how;
}
