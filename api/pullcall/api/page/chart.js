// A chart on the page: it decides when to draw, and leaves how to uPlot or to our own SVG.

import { CanvasCurve } from "./canvas_curve.js";
import { Curve } from "./curve.js";
import { chartOf, waysOf } from "./curve_data.js";
import { make } from "./dom.js";
import { pullAt } from "./acts.js";
import { scaleOf } from "./curve_layout.js";
import { themeNow } from "./pens.js";

const REDRAW_MS = 1000; // a curve moves no faster, however many readings come
const REPLAY_MS = 400; // but in a replay, where a minute may pass in a second
const TURN_MS = 150; // charts take turns, so that no beat draws two
const CELL = 3; // pixels that share at most two points of a trace
const LEAST = { width: 60, height: 50 };

let freeAt = 0; // when the next chart may draw

export class Chart {
  /** `label` is what the picture shows; `isLarge` gives it axes. */
  constructor(label, isLarge = false) {
    this.engine = globalThis.uPlot ? new CanvasCurve() : new Curve();
    this.node = make("div", { class: isLarge ? "curve large" : "curve", role: "img", "aria-label": label }, this.engine.node);
    this.isLarge = isLarge;
    this.size = { width: 0, height: 0 };
    this.drawn = { steady: null, flowing: "", at: -Infinity };
    this.scale = null; // of the last drawing
    new ResizeObserver(([{ contentRect: { width, height } }]) => { this.size = { width, height }; }).observe(this.node);
  }

  /** Show `steaks` (one, or both in one chart) at `t` on the cook's clock. */
  paint(steaks, board, unit, t) {
    const { width, height } = this.size;
    if (t === null || !steaks.length || width < LEAST.width || height < LEAST.height) return;
    const ms = performance.now();
    const steady = this.steady(steaks, board, unit);
    if (same(steady, this.drawn.steady)) {
      if (ms < this.drawn.at + (board.isReplay ? REPLAY_MS : REDRAW_MS) || ms < freeAt) return;
      if (this.flowing(steaks, t) === this.drawn.flowing) return;
    }
    freeAt = ms + TURN_MS;
    const chart = chartOf(steaks, board, t, width / CELL);
    this.scale = scaleOf(chart, width, height, this.isLarge);
    this.drawn = { steady, flowing: this.flowing(steaks, t), at: ms };
    this.engine.draw(chart, this.scale, unit);
  }

  /** Where what moves would lie, in whole pixels of the last drawing: less than one is not drawn. */
  flowing(steaks, t) {
    const { x, y } = this.scale;
    const places = steaks.flatMap((steak) => {
      const [at, celsius] = steak.curve.at(-1) ?? [];
      const ways = waysOf(steak);
      const last = at === undefined ? [] : [x(at), y(celsius)];
      return ways ? [...last, x(ways.start), y(ways.core), ...ways.edges.map(x), ...ways.tops.map(y)] : last;
    });
    return [x(t), ...places].map(Math.round).join(" ");
  }

  /** What is shown at once when it changes. */
  steady(steaks, { marks, spots }, { name }) {
    const { width, height } = this.size;
    return [width, height, marks, spots, name, themeNow(), ...steaks.flatMap((one) => [one.phase, pullAt(one)])];
  }
}

const same = (some, others) => others !== null && some.length === others.length && some.every((one, i) => one === others[i]);
