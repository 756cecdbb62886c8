// The curve as a table, for those who hear the page, and under the large chart for all.

import { WORDS, title } from "./acts.js";
import { attr, make, show, text } from "./dom.js";
import { marksOf, waysOf } from "./curve_data.js";
import { minutes } from "./clock.js";

const EVERY_S = 30;
const NEAR_S = 15; // a reading this old still stands for its row
const REFRESH_MS = 10_000; // who has the table read out is not flooded
const BEFORE_ON_S = 30;

/** `[time, core, note]` in words: a row every half minute, and one for each mark and spot. */
export function pastRows(steak, { marks, spots }, unit) {
  const own = marksOf(steak, marks);
  const rows = [
    ...everyHalfMinute(steak),
    ...own.map(({ t, mark }) => ({ t, celsius: coreAt(steak.curve, t), note: WORDS[mark] ?? mark })),
    ...spots.filter((one) => one.steak === steak.steak).map(({ t, celsius }) => ({ t, celsius, note: "Spot" })),
  ];
  return rows.sort((a, b) => a.t - b.t).map(({ t, celsius, note }) => [minutes(t), unit.say(celsius), note]);
}

function everyHalfMinute({ curve, on_t: on }) {
  if (!curve.length) return [];
  const from = Math.max(curve[0][0], (on ?? -Infinity) - BEFORE_ON_S);
  const rows = [];
  for (let t = Math.ceil(from / EVERY_S) * EVERY_S; t <= curve.at(-1)[0]; t += EVERY_S) {
    rows.push({ t, celsius: coreAt(curve, t), note: "" });
  }
  return rows;
}

/** The last reading up to `t`, or null where the probe was silent. */
function coreAt(curve, t) {
  let [first, last] = [0, curve.length];
  while (first < last) {
    const middle = (first + last) >> 1;
    if (curve[middle][0] <= t) first = middle + 1;
    else last = middle;
  }
  const found = curve[first - 1];
  return found && t - found[0] <= NEAR_S ? found[1] : null;
}

/** The forecast in the same columns: the pull early, likely and late, and the peak. */
export function aheadRows(steak, unit) {
  const ways = waysOf(steak);
  if (!ways) return [];
  const at = (seconds) => minutes(ways.start + seconds);
  const pull = (note, { pull_s }) => [at(pull_s), unit.say(ways.pull_c), `Pull ${note}`];
  const rows = steak.phase === "on"
    ? [pull("at the earliest: 1 in 10 is sooner", ways.early), pull("most likely", ways.middle), pull("at the latest: 1 in 10 is later", ways.late)]
    : [];
  if (!ways.peak) return rows;
  const { p10, p50, p90 } = ways.peak;
  const about = steak.phase === "on" ? "about " : ""; // its time is only drawn, not forecast
  const span = `Peak forecast, ${unit.number(p10)} to ${unit.number(p90)}`;
  return [...rows, [about + at(ways.middle.pull_s + ways.middle.climb_s), unit.say(p50), span]];
}

export class CurveTable {
  constructor(name) {
    this.name = name;
    this.ahead = new Rows("Forecast");
    this.truth = new Rows("What came true");
    this.past = new Rows("So far");
    this.caption = make("caption", {}, `${title(name)}: core temperature`);
    this.shown = null;
    const heads = ["Time", "Core", "Note"].map((head) => make("th", { scope: "col" }, head));
    this.node = make("table", { class: "curvetable" }, this.caption,
      make("thead", {}, make("tr", {}, ...heads)), this.ahead.node, this.truth.node, this.past.node);
  }

  paint(steak, board, unit) {
    const ms = performance.now();
    const isSame = this.shown?.unit === unit.name && this.shown.curve === steak.curve; // a snapshot brings another
    if (isSame && ms < this.shown.at + REFRESH_MS) return;
    this.shown = { unit: unit.name, curve: steak.curve, at: ms };
    this.past.paint(pastRows(steak, board, unit));
    this.ahead.paint(aheadRows(steak, unit));
    this.truth.paint(board.truth?.rows(steak, unit) ?? []);
  }
}

/** Rows of a table, of which only those that changed are written. */
class Rows {
  constructor(title) {
    this.head = make("tr", {}, make("th", { scope: "rowgroup", colspan: 3 }, title));
    this.node = make("tbody", {}, this.head);
    this.kept = [];
  }

  paint(rows) {
    show(this.node, rows.length > 0);
    rows.forEach((cells, i) => {
      const row = (this.kept[i] ??= this.add());
      show(row.node, true);
      cells.forEach((words, k) => text(row.cells[k], words));
      attr(row.node, "class", cells[2] ? "noted" : null);
    });
    this.kept.slice(rows.length).forEach(({ node }) => show(node, false));
  }

  add() {
    const cells = [make("th", { scope: "row" }), make("td"), make("td")];
    const node = make("tr", {}, ...cells);
    this.node.append(node);
    return { node, cells };
  }
}
