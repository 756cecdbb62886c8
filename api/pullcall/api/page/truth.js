// What came true of a cook that is replayed, to be said and drawn beside what was forecast.

import { countdown, minutes } from "./clock.js";

export class Truth {
  constructor(tape) {
    this.tape = tape;
    this.bySteak = new Map(tape.truth.map((one) => [one.steak, one]));
  }

  /** Beside the forecast at `t`: "Came true: 38 s", "Pulled at 129.4 °F", "Peak 134.1 °F". */
  words(steak, unit, t) {
    const { cross_t: cross, off_c: off, peak_t: peakT, peak_c: peak } = this.of(steak);
    if (steak.phase === "waiting" || t === null) return [];
    const toPeak = steak.phase !== "on" && peakT > t ? ` in ${minutes(peakT - t)}` : "";
    return [
      steak.phase === "on" && cross !== null ? crossWords(cross - t) : null,
      off === null ? null : `Pulled at ${unit.say(off)}`,
      peak === null ? null : `Peak ${unit.say(peak)}${toPeak}`,
    ].filter(Boolean);
  }

  /** The readings still to come at `t`, up to `until`. */
  rest(steak, t, until) {
    return this.tape.curveBetween(steak.steak, t, until);
  }

  /** Until when the readings still to come are worth a look: the peak, or the pull; else null. */
  until({ phase, steak }) {
    const { cross_t: cross, off_t: off, peak_t: peak } = this.of({ steak });
    if (phase === "on") return peak ?? off ?? cross;
    return phase === "resting" ? peak : null;
  }

  /** `[time, core, note]` in words, for the table. */
  rows(steak, unit) {
    const { cross_t: cross, off_t: off, off_c: offC, peak_t: peak, peak_c: peakC } = this.of(steak);
    const pull = steak.forecast?.pull_c ?? steak.pull_c;
    const rows = [
      [cross, pull, "Reached its pull temperature"],
      [off, offC, "Pulled"],
      [peak, peakC, "Peak"],
    ];
    return rows.filter(([t]) => t !== null).map(([t, celsius, note]) => [minutes(t), unit.say(celsius), note]);
  }

  of({ steak }) {
    return this.bySteak.get(steak) ?? { cross_t: null, off_t: null, off_c: null, peak_t: null, peak_c: null };
  }
}

/** What was truly left to the pull temperature. */
function crossWords(in_s) {
  const span = countdown(Math.abs(in_s));
  return in_s >= 0 ? `Came true: ${span}` : `Came true ${span} ago`;
}
