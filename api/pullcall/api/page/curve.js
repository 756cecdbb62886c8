// The core temperature of one steak over time, with its marks and the pull line.

import { attr, draw, refill } from "./dom.js";
import { WORDS, pullIn } from "./acts.js";

const LEAD_S = 30; // shown before the steak went on
const AHEAD_S = 45; // shown after now
const MARGIN_C = 4;
const HEAD = 18; // room for the words over the pull line
const FOOT = 16; // room for the mark letters
const SIDE = 7; // room for half a letter

export class Curve {
  constructor(label) {
    this.node = draw("svg", { class: "curve", role: "img", "aria-label": label });
  }

  paint(steak, marks, unit, t) {
    const width = this.node.clientWidth;
    const height = this.node.clientHeight;
    if (width < 60 || height < 50 || t === null) return;
    const last = steak.curve.at(-1);
    const key = `${width} ${height} ${last} ${steak.pull_c} ${marks.length} ${unit.name} ${Math.floor(t)}`;
    attr(this.node, "viewBox", `0 0 ${width} ${height}`);
    refill(this.node, key, () => this.parts(steak, marks, unit, t, width, height));
  }

  parts(steak, marks, unit, t, width, height) {
    const scale = scaleOf(steak, t, width, height);
    return [
      ...marksOf(steak, marks, scale, height),
      ...pullLine(steak, unit, scale, width),
      ...(last(steak) ? [trace(steak, scale)] : [draw("text", { class: "note", x: 4, y: height / 2 }, "No readings yet")]),
      ...ahead(steak, t, scale),
    ];
  }
}

const last = (steak) => steak.curve.at(-1);

function scaleOf(steak, t, width, height) {
  const pull = pullIn(steak, t);
  const first = steak.curve[0]?.[0] ?? t;
  const from = steak.on_t === null ? first : Math.max(first, steak.on_t - LEAD_S);
  const to = Math.max(from + 60, t + (pull ? Math.min(Math.max(pull.p50, 20) * 1.15, 300) : AHEAD_S));
  const values = steak.curve.filter(([at]) => at >= from).map(([, celsius]) => celsius);
  const low = Math.min(steak.pull_c, ...values) - MARGIN_C;
  const high = Math.max(steak.pull_c, steak.target_c ?? -Infinity, ...values) + MARGIN_C;
  return {
    from,
    x: (at) => ((at - from) / (to - from)) * (width - 2 * SIDE) + SIDE,
    y: (celsius) => (1 - (celsius - low) / (high - low)) * (height - HEAD - FOOT) + HEAD,
  };
}

function trace(steak, { from, x, y }) {
  const points = steak.curve.filter(([at]) => at >= from);
  const path = points.map(([at, c], i) => `${i ? "L" : "M"}${x(at).toFixed(1)} ${y(c).toFixed(1)}`);
  return draw("path", { class: "trace", d: path.join("") });
}

function ahead(steak, t, { x, y }) {
  const pull = pullIn(steak, t);
  const core = steak.forecast?.core_c;
  if (!pull || pull.p50 <= 0 || core === null || core === undefined) return [];
  const d = `M${x(t).toFixed(1)} ${y(core).toFixed(1)}L${x(t + pull.p50).toFixed(1)} ${y(steak.pull_c).toFixed(1)}`;
  return [draw("path", { class: "ahead", d })];
}

function pullLine(steak, unit, { y }, width) {
  const at = y(steak.pull_c);
  return [
    draw("line", { class: "pullline", x1: 0, x2: width, y1: at, y2: at }),
    draw("text", { class: "note", x: 3, y: at - 5 }, `Pull ${unit.number(steak.pull_c)}°`),
  ];
}

function marksOf(steak, marks, { from, x }, height) {
  const own = marks.filter((one) => !one.mark.startsWith("lid") && (one.steak ?? steak.steak) === steak.steak);
  return own.filter((one) => (one.at ?? one.t) >= from).flatMap((one) => {
    const at = x(one.at ?? one.t);
    const letter = draw("text", { class: "markletter", x: at, y: height - 3 }, WORDS[one.mark]?.charAt(0) ?? "?");
    letter.append(draw("title", {}, WORDS[one.mark] ?? one.mark));
    return [draw("line", { class: "markline", x1: at, x2: at, y1: 0, y2: height - FOOT }), letter];
  });
}
