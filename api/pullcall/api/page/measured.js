// What was measured of a steak, and how long ago. No page in here.

import { span } from "./words.js";

export const STALE_S = 6; // real seconds without a reading: say so

/** Real seconds since its last reading; null where none came, or the time is not known. */
export const ageOf = ({ reading }, { speed }, t) => (reading && t !== null ? Math.max(0, t - reading.t) / speed : null);

/** Whether its core is a model's by now: no reading and no spot is as new as the forecast. */
export function isCarriedOn({ steak, forecast, reading }, { spots, speed }) {
  if ((forecast?.core_c ?? null) === null) return false;
  const measured = [reading, ...spots.filter((one) => one.steak === steak)].filter(Boolean).map((one) => one.t);
  return forecast.t - Math.max(...measured) > STALE_S * speed;
}

/** The rise, or why there is none; `age` is the last reading's, `why` is said besides. */
export function riseWords({ channel, phase, reading, forecast }, unit, age, lost, why) {
  if (!reading && channel === undefined) return ""; // not told to who only looks on
  if (!reading && channel === null) return phase === "on" && why ? "" : "No probe: use spots";
  if (!reading) return "Probe not heard yet";
  if (lost && age !== null) return `Last heard ${span(age)} ago`;
  if (age > STALE_S) return `Probe silent ${span(age)}, last ${unit.say(reading.celsius)}`;
  const rise = phase === "handed_in" ? null : forecast?.rise_c_per_min;
  return rise === null || rise === undefined ? "" : unit.sayRise(rise);
}
