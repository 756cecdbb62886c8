// The panel with all steaks in one large chart, and what it shows as a table below.

import { Chart } from "./chart.js";
import { CurveTable } from "./curve_table.js";
import { draw, make, show, text } from "./dom.js";
import { isVague, pullIn, pullWords, title } from "./acts.js";
import { band } from "./clock.js";

const HOW = "Hatched: from the earliest to the latest pull, and from the lowest to the highest peak; each should lie "
  + "inside eight times in ten. Dotted: the likeliest. Until a steak is off, when it peaks is only a guess.";
const TRUE = " Dashes and dots: what came true.";

export function curvePanel(board) {
  const names = board.steaks.map(({ steak }) => steak);
  const chart = new Chart(`${names.map(title).join(" and ")}: core temperature and forecast`, true);
  const keys = names.map((name, i) => new Key(name, i));
  const howto = make("p", { class: "howto" }, board.truth ? HOW + TRUE : HOW);
  const tables = names.map((name) => new CurveTable(name));
  const body = make("div", { class: "curvesheet" }, chart.node,
    make("div", { class: "curvekeys" }, ...keys.map(({ node }) => node),
      howto),
    make("div", { class: "curvetables" }, ...tables.map(({ node }, i) => make("div", { class: `lane${i}` }, node))));
  const paint = (fresh, unit, t) => {
    const steaks = names.map((name) => fresh.steak(name)).filter(Boolean);
    chart.paint(steaks, fresh, unit, t);
    show(howto, !fresh.isBlind);
    for (const steak of steaks) {
      const i = names.indexOf(steak.steak);
      keys[i].paint(steak, fresh, unit, t);
      tables[i].paint(steak, fresh, unit);
    }
  };
  return { title: "Curve", body, paint };
}

/** Which line is whose, and its forecast in words. */
class Key {
  constructor(name, index) {
    this.name = name;
    this.words = make("span");
    const sample = draw("svg", { class: "sample", viewBox: "0 0 44 12", "aria-hidden": "true" },
      draw("line", { class: `trace lane${index}`, x1: 0, x2: 44, y1: 6, y2: 6 }));
    this.node = make("p", { class: `curvekeyline large lane${index}` }, sample, make("b", {}, title(name)), this.words);
  }

  paint(steak, board, unit, t) {
    const pull = t === null ? null : pullIn(steak, t);
    const parts = [pull && pullSaid(pull), (pull || steak.phase !== "on") && peakSaid(steak, unit)].filter(Boolean);
    const none = board.isBlind ? "" : ": no forecast yet";
    text(this.words, parts.length ? `: ${parts.join(", ")}` : none);
  }
}

/** "Peak 137 °F (135–140)", or once it has passed "Peaked at 137 °F"; null where none is forecast. */
function peakSaid({ phase, forecast }, unit) {
  const { peak_c: peak, peak_in_s: peakIn } = forecast ?? {};
  if (!peak) return null;
  const likely = `${unit.number(peak.p50)} °${unit.name}`;
  if (phase !== "on" && !(peakIn > 0)) return `Peaked at ${likely}`;
  return `Peak ${likely} (${unit.number(peak.p10)}–${unit.number(peak.p90)})`;
}

/** "Pull in 2:10 (1:50–2:45)", or its middle only where it is vague. */
function pullSaid(pull) {
  if (pull.p50 <= 0) return "Pull now";
  return pullWords(pull) + (isVague(pull) ? "" : ` (${band(pull.p10, pull.p90)})`);
}
