// Our own drawing of a chart, as SVG: for a site that carries no chart library.

import { attr, draw, refill } from "./dom.js";
import { ground, outlook } from "./curve_layout.js";
import { CELL, thinned } from "./curve_data.js";

const LINES = { low: "edge", high: "edge", middle: "ahead", trace: "trace" }; // and their pens

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
    const below = ground(chart, scale, unit);
    refill(still, JSON.stringify(below), () => below.map(shape));
    chart.lanes.forEach((lane, i) => this.drawLane(lane, this.lanes[i], chart, scale));
    const above = outlook(chart, scale, unit);
    refill(moving, JSON.stringify(above), () => above.map(shape));
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
    return this.lanes.flatMap(({ fan, low, high, middle, trace }) => [fan, low, high, middle, trace]);
  }

  drawLane({ trace, fan }, nodes, { from, to }, { x, y, left, right }) {
    const place = (t, celsius) => `${x(t).toFixed(1)},${y(celsius).toFixed(1)}`;
    const measured = thinned(trace, from, to, (right - left) / CELL).map(([t, celsius]) => place(t, celsius));
    const [low, middle, high] = ["low", "middle", "high"].map((way) => fan.map((one) => place(one.t, one[way])));
    attr(nodes.trace, "points", measured.join(" "));
    attr(nodes.middle, "points", middle.join(" "));
    attr(nodes.low, "points", low.join(" "));
    attr(nodes.high, "points", high.join(" "));
    attr(nodes.fan, "points", [...high, ...low.reverse()].join(" "));
  }
}

const laned = (role, lane) => (lane === null ? role : `${role} lane${lane}`);

/** A line, a word or a dot of the layout as a node. */
function shape({ kind, role, lane, words, anchor, ...place }) {
  if (kind === "line") return draw("line", { class: laned(role, lane), ...place });
  if (kind === "word") return draw("text", { class: laned(role, lane), "text-anchor": anchor, ...place }, words);
  return draw("circle", { class: laned(role, lane), cx: place.x, cy: place.y, r: place.r });
}
