// The same chart drawn on a canvas by uPlot, where the site carries it.

import { Pens } from "./pens.js";
import { ground, outlook } from "./curve_layout.js";
import { make } from "./dom.js";

const SERIES = ["low", "high", "ahead", "truth", "trace"]; // of each lane, in the order they are drawn
const HATCH = 6; // pixels between two strokes across the fan

export class CanvasCurve {
  constructor() {
    this.pens = new Pens();
    this.node = make("div", { class: "drawing", "aria-hidden": "true" }, this.pens.node);
    this.plot = null;
    this.made = "";
    this.hatches = new WeakMap();
  }

  draw(chart, scale, unit) {
    this.shown = { chart, scale, unit };
    const data = dataOf(chart);
    const wanted = [scale.left, chart.lanes.map(({ index }) => index), devicePixelRatio].join(" ");
    if (wanted !== this.made) {
      this.made = wanted;
      this.hatches = new WeakMap();
      this.plot?.destroy();
      this.plot = new globalThis.uPlot(this.options(), data, this.node);
      return;
    }
    const { width, height } = this.plot;
    if (width !== scale.width || height !== scale.height) this.plot.setSize({ width: scale.width, height: scale.height });
    this.plot.setData(data);
  }

  options() {
    const { chart: { lanes }, scale } = this.shown;
    const room = (of) => () => of(this.shown.scale); // around the plot; another one in another size
    const hidden = { show: false };
    const band = (i) => ({ series: [i * SERIES.length + 2, i * SERIES.length + 1], fill: (plot) => this.hatch(plot.ctx, lanes[i].index) });
    return {
      width: scale.width,
      height: scale.height,
      padding: [
        room(({ top }) => top), room(({ width, right }) => width - right),
        room(({ height, bottom }) => height - bottom), room(({ left }) => left),
      ],
      pxAlign: 0,
      cursor: hidden,
      legend: hidden,
      select: hidden,
      axes: [hidden, hidden],
      scales: {
        x: { time: false, range: () => [this.shown.chart.from, this.shown.chart.to] },
        y: { range: () => [this.shown.chart.low, this.shown.chart.high] },
      },
      series: [{}, ...lanes.flatMap(({ index }) => SERIES.map((role) => this.series(role, index)))],
      bands: lanes.map((_, i) => band(i)),
      hooks: {
        drawClear: [(plot) => this.shapes(plot, ground)],
        draw: [(plot) => this.shapes(plot, outlook)],
      },
    };
  }

  series(role, lane) {
    const pen = () => this.pens.of(role === "low" || role === "high" ? "edge" : role, lane);
    const { width, dash } = pen();
    return {
      width,
      dash: dash.map((length) => length * devicePixelRatio),
      stroke: () => pen().stroke,
      spanGaps: true,
      points: { show: false },
    };
  }

  /** Strokes across the fan, leaning the other way in the second lane. */
  hatch(ctx, lane) {
    const pen = this.pens.of("hatch", lane); // another one in another theme
    if (!this.hatches.has(pen)) this.hatches.set(pen, patternOf(ctx, pen, lane % 2 ? -45 : 45));
    return this.hatches.get(pen);
  }

  shapes({ ctx }, layout) {
    const { chart, scale, unit } = this.shown;
    ctx.save();
    ctx.scale(devicePixelRatio, devicePixelRatio);
    for (const one of layout(chart, scale, unit)) shape(ctx, one, this.pens.of(one.role, one.lane));
    ctx.restore();
  }
}

function patternOf(ctx, { stroke, width, opacity }, lean) {
  const tile = document.createElement("canvas");
  tile.width = tile.height = HATCH * devicePixelRatio;
  const pen = tile.getContext("2d");
  pen.scale(devicePixelRatio, devicePixelRatio);
  Object.assign(pen, { strokeStyle: stroke, lineWidth: width, globalAlpha: opacity });
  pen.moveTo(0, HATCH / 2);
  pen.lineTo(HATCH, HATCH / 2);
  pen.stroke();
  const pattern = ctx.createPattern(tile, "repeat");
  pattern.setTransform(new DOMMatrix().rotate(lean));
  return pattern;
}

/** One table for all lanes: times in order, and each lane's series at the times it has. */
function dataOf({ lanes }) {
  const rows = lanes.flatMap(({ trace, truth, fan }, lane) => [
    ...trace.map(([t, celsius]) => ({ lane, t, trace: celsius })),
    ...truth.map(([t, celsius]) => ({ lane, t, truth: celsius })),
    ...fan.map(({ t, low, middle, high }) => ({ lane, t, low, high, ahead: middle })),
  ]).sort((a, b) => a.t - b.t);
  const column = (lane, role) => rows.map((row) => (row.lane === lane ? row[role] : undefined));
  return [rows.map(({ t }) => t), ...lanes.flatMap((_, lane) => SERIES.map((role) => column(lane, role)))];
}

/** Draw a line, a word or a dot of the layout. */
function shape(ctx, { kind, x1, y1, x2, y2, x, y, r, words, anchor }, { stroke, width, dash, shift, fill, opacity, font }) {
  Object.assign(ctx, { strokeStyle: stroke, lineWidth: width, fillStyle: fill, globalAlpha: opacity, lineJoin: "round", lineDashOffset: shift });
  ctx.setLineDash(dash);
  if (kind === "word") {
    Object.assign(ctx, { font, textAlign: anchor === "middle" ? "center" : anchor });
    if (stroke) ctx.strokeText(words, x, y);
    ctx.fillText(words, x, y);
    return;
  }
  ctx.beginPath();
  if (kind === "dot") ctx.arc(x, y, r, 0, 2 * Math.PI);
  else {
    ctx.moveTo(x1, y1);
    ctx.lineTo(x2, y2);
  }
  if (kind === "dot" && fill) ctx.fill();
  if (stroke) ctx.stroke();
}
