// The core temperature of one steak over time, with its marks and the pull line.

import { attr, draw, refill } from "./dom.js";
import { WORDS, isVague, pullAt, pullIn } from "./acts.js";

const LEAD_S = 30; // shown before the steak went on
const AHEAD_S = 45; // shown after now
const MARGIN_C = 4;
const HEAD = 18; // room for the words over the pull line
const FOOT = 16; // room for the marks' words
const SIDE = 7; // room for half a dot
const LETTER = 7.2; // width of one letter of a mark's word
const APART = 4;
const NOTE_Y = 13; // at the top, clear of the pull line and its words

/** Marks as short words, each unlike the others. */
const SHORT = { on: "on", turn: "turn", flip: "flip", baste: "baste", off: "off", boxed: "box", handed_in: "in" };

export class Curve {
  constructor(label) {
    this.node = draw("svg", { class: "curve", role: "img", "aria-label": label });
  }

  paint(steak, { marks, spots }, unit, t) {
    const width = this.node.clientWidth;
    const height = this.node.clientHeight;
    if (width < 60 || height < 50 || t === null) return;
    const own = spots.filter((one) => one.steak === steak.steak);
    const last = steak.curve.at(-1);
    const key = `${width} ${height} ${last} ${pullAt(steak)} ${marks.length} ${own.length} ${unit.name} ${Math.floor(t)}`;
    attr(this.node, "viewBox", `0 0 ${width} ${height}`);
    refill(this.node, key, () => this.parts(steak, marks, own, unit, t, width, height));
  }

  parts(steak, marks, spots, unit, t, width, height) {
    const scale = scaleOf(steak, spots, t, width, height);
    const empty = !steak.curve.length && !spots.length;
    return [
      ...marksOf(steak, marks, scale, width, height),
      ...pullLine(steak, unit, scale, width),
      ...(steak.curve.length ? [trace(steak, scale)] : []),
      ...ahead(steak, t, scale),
      ...spots.map((spot) => dot(spot, unit, scale)),
      ...(empty ? [draw("text", { class: "note", x: 4, y: NOTE_Y }, "No readings yet")] : []),
    ];
  }
}

function scaleOf(steak, spots, t, width, height) {
  const pull = pullIn(steak, t);
  const first = Math.min(steak.curve[0]?.[0] ?? t, spots[0]?.t ?? t, steak.on_t ?? t);
  const from = steak.on_t === null ? first : Math.max(first, steak.on_t - LEAD_S);
  const to = Math.max(from + 60, t + (pull ? Math.min(Math.max(pull.p50, 20) * 1.15, 300) : AHEAD_S));
  const values = [...steak.curve.filter(([at]) => at >= from).map(([, celsius]) => celsius), ...spots.map((one) => one.celsius)];
  const low = Math.min(pullAt(steak), ...values) - MARGIN_C;
  const high = Math.max(pullAt(steak), steak.target_c ?? -Infinity, ...values) + MARGIN_C;
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

function dot({ t, celsius }, unit, { x, y }) {
  const node = draw("circle", { class: "spotdot", cx: x(t), cy: y(celsius), r: 5 });
  node.append(draw("title", {}, `Spot ${unit.say(celsius)}`));
  return node;
}

function ahead(steak, t, { x, y }) {
  const pull = pullIn(steak, t);
  const core = steak.forecast?.core_c;
  if (!pull || pull.p50 <= 0 || isVague(pull) || core === null || core === undefined) return [];
  const d = `M${x(t).toFixed(1)} ${y(core).toFixed(1)}L${x(t + pull.p50).toFixed(1)} ${y(pullAt(steak)).toFixed(1)}`;
  return [draw("path", { class: "ahead", d })];
}

function pullLine(steak, unit, { y }, width) {
  const at = y(pullAt(steak));
  return [
    draw("line", { class: "pullline", x1: 0, x2: width, y1: at, y2: at }),
    draw("text", { class: "note", x: 3, y: at - 5 }, `Pull ${unit.degrees(pullAt(steak))}°`),
  ];
}

/** A line for every mark; its word too where it does not touch the one before. */
function marksOf(steak, marks, { from, x }, width, height) {
  const own = marks.filter((one) => !one.mark.startsWith("lid") && (one.steak ?? steak.steak) === steak.steak);
  const timed = own.map((one) => ({ mark: one.mark, at: one.at ?? one.t })).filter((one) => one.at >= from);
  let free = 0;
  return timed.sort((a, b) => a.at - b.at).flatMap(({ mark, at }) => {
    const line = draw("line", { class: "markline", x1: x(at), x2: x(at), y1: 0, y2: height - FOOT });
    line.append(draw("title", {}, WORDS[mark] ?? mark));
    const word = SHORT[mark] ?? mark;
    const half = (word.length * LETTER) / 2;
    const middle = Math.min(Math.max(x(at), half), width - half);
    if (middle - half < free) return [line];
    free = middle + half + APART;
    return [line, draw("text", { class: "markword", x: middle, y: height - 3 }, word)];
  });
}
