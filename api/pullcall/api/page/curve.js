// Our own drawing of a chart, as SVG: for a site that carries no chart library.

import { attr, draw, refill, text } from "./dom.js";
import { ground, outlook } from "./curve_layout.js";

const LINES = { low: "edge", high: "edge", middle: "ahead", truth: "truth", trace: "trace" }; // and their pens

let drawings = 0; // so that each drawing's hatching has a name of its own

export class Curve {
  constructor() {
    this.node = draw("svg", { class: "drawing", "aria-hidden": "true" });
    this.name = `hatch${(drawings += 1)}`;
    this.groups = ["hatches", "ground", "series", "outlook"].map(() => draw("g"));
    this.node.append(...this.groups);
    this.lanes = [];
  }

  draw(chart, scale, unit) {
    const [hatches, still, series, moving] = this.groups;
    const indices = chart.lanes.map(({ index }) => index);
    attr(this.node, "viewBox", `0 0 ${scale.width} ${scale.height}`);
    refill(hatches, indices.join(" "), () => indices.map((index) => this.hatch(index)));
    refill(series, indices.join(" "), () => this.layLanes(indices));
    lay(still, ground(chart, scale, unit));
    chart.lanes.forEach((lane, i) => drawLane(lane, this.lanes[i], scale));
    lay(moving, outlook(chart, scale, unit));
  }

  /** Strokes across the fan, leaning the other way in the second lane. */
  hatch(index) {
    const lean = index % 2 ? -45 : 45;
    const size = { width: 6, height: 6, patternUnits: "userSpaceOnUse", patternTransform: `rotate(${lean})` };
    return draw("pattern", { id: `${this.name}-${index}`, ...size }, draw("line", { class: laned("hatch", index), x1: 0, y1: 3, x2: 6, y2: 3 }));
  }

  layLanes(indices) {
    this.lanes = indices.map((index) => ({
      fan: draw("polygon", { class: "fan", fill: `url(#${this.name}-${index})` }),
      ...Object.fromEntries(Object.entries(LINES).map(([way, role]) => [way, draw("polyline", { class: laned(role, index) })])),
    }));
    return this.lanes.flatMap(({ fan, low, high, middle, truth, trace }) => [fan, low, high, middle, truth, trace]);
  }
}

function drawLane({ trace, truth, fan }, nodes, { x, y }) {
  const place = (t, celsius) => `${x(t).toFixed(1)},${y(celsius).toFixed(1)}`;
  const [low, middle, high] = ["low", "middle", "high"].map((way) => fan.map((one) => place(one.t, one[way])));
  attr(nodes.trace, "points", trace.map(([t, celsius]) => place(t, celsius)).join(" "));
  attr(nodes.truth, "points", truth.map(([t, celsius]) => place(t, celsius)).join(" "));
  attr(nodes.middle, "points", middle.join(" "));
  attr(nodes.low, "points", low.join(" "));
  attr(nodes.high, "points", high.join(" "));
  attr(nodes.fan, "points", [...high, ...low.reverse()].join(" "));
}

const TAGS = { line: "line", word: "text", dot: "circle" };
const laned = (role, lane) => (lane === null ? role : `${role} lane${lane}`);

/** Lines, words and dots of the layout as nodes; those that stay what they are only move. */
function lay(group, shapes) {
  refill(group, shapes.map(({ kind, role, lane }) => `${kind} ${role} ${lane}`).join(), () =>
    shapes.map(({ kind, role, lane }) => draw(TAGS[kind], { class: laned(role, lane) })));
  shapes.forEach((one, i) => move(group.childNodes[i], one));
}

function move(node, { kind, x, y, r, words, anchor, x1, y1, x2, y2 }) {
  const place = { line: { x1, y1, x2, y2 }, word: { x, y, "text-anchor": anchor }, dot: { cx: x, cy: y, r } }[kind];
  for (const [name, value] of Object.entries(place)) attr(node, name, value);
  if (kind === "word") text(node, words);
}
