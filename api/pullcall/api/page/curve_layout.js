// Where things of a chart lie on its pixels: lines, words and dots that both engines draw alike.
// No page in here.

import { minutes } from "./clock.js";
import { title } from "./acts.js";

const HEAD = 18; // room for the words over the pull line
const ROW = 16; // room for a row of words at the foot
const SIDE = 7; // room for half a dot
const GUTTER = 50; // large: the column of temperatures and names, at least
const LETTER = 8; // width of one letter of a word, amply
const APART = 3; // between two words
const TALL = 160; // a chart as high and not as wide has two rows for its marks' words
const WIDE = 400;
const TOP_Y = 13; // the highest words
const EDGE_Y = 8; // a spot above the scale
const CAP = 4; // half the cross-stroke of the peak's line
const TICK_S = [30, 60, 120, 300, 600, 900, 1800, 3600];
const TICK_DEGREES = [1, 2, 5, 10, 20, 50, 100];
const TICK_APART = { time: 52, degrees: 24 };

/** Pixels of a chart: `x(t)`, `y(celsius)`, and the edges of the plot. */
export function scaleOf({ from, to, low, high, lanes }, width, height, isLarge) {
  const left = isLarge ? Math.max(GUTTER, ...lanes.map(({ name }) => nameWidth(name) + SIDE)) : SIDE;
  const right = width - SIDE;
  const rows = width < WIDE && height >= TALL ? 2 : 1; // of words for each lane's marks
  const bottom = height - ROW * (isLarge ? rows * lanes.length + 1 : rows);
  const top = lanes.some(({ spots }) => spots.some(({ celsius }) => celsius > high)) ? HEAD + ROW : HEAD; // a row for those
  return {
    width, height, isLarge, left, right, bottom, rows, top,
    x: (t) => left + ((t - from) / (to - from)) * (right - left),
    y: (celsius) => top + (1 - (celsius - low) / (high - low)) * (bottom - top),
  };
}

/** What stands still while the core moves: `{kind, role, lane, …}` of lines, words and dots. */
export function ground(chart, scale, unit) {
  const { lanes } = chart;
  const marked = lanes.flatMap((lane, order) => marks(lane, order, scale));
  const edged = (celsius) => (celsius > chart.high ? EDGE_Y : Math.min(scale.bottom, scale.y(celsius)));
  const empty = lanes.every(({ trace, spots }) => !trace.length && !spots.length);
  return [
    ...(scale.isLarge ? [...timeTicks(chart, scale), ...degreeTicks(chart, scale, unit)] : []),
    ...marked.filter(({ kind }) => kind === "line"),
    ...marked.filter(({ kind }) => kind === "word"),
    ...pulls(lanes, scale, unit),
    ...lanes.flatMap(({ index, spots }) => spots.map(({ t, celsius }) =>
      ({ kind: "dot", role: "spotdot", lane: index, x: scale.x(t), y: edged(celsius), r: 5 }))),
    ...lanes.flatMap(({ spots }) => spots.flatMap((spot) => beyond(spot, chart, scale, unit))),
    ...(empty ? [word("note", null, scale.right, scale.bottom - 6, "No readings yet", "end")] : []),
  ];
}

/** A spot off the scale, named at the edge it lies beyond: "199° ↑". */
function beyond({ t, celsius }, { low, high }, { x, bottom, width }, unit) {
  const isAbove = celsius > high;
  if (!isAbove && celsius >= low) return [];
  const words = `${unit.number(celsius)}° ${isAbove ? "↑" : "↓"}`;
  const isLeft = x(t) + SIDE + words.length * LETTER > width; // no room on its right
  return [word("note", null, x(t) + (isLeft ? -SIDE : SIDE), isAbove ? TOP_Y : bottom - 2, words, isLeft ? "end" : "start")];
}

/** What moves with every forecast: now's core, and the peak with the span it should lie in. */
export function outlook({ lanes, to }, scale, unit) {
  return lanes.flatMap(({ index, now, peak }) => [
    ...(now ? [{ kind: "dot", role: "nowdot", lane: index, x: scale.x(now.t), y: scale.y(now.celsius), r: 4 }] : []),
    ...(peak && peak.t <= to ? peakLine(peak, index, scale, unit) : []),
  ]);
}

function peakLine(peak, lane, scale, unit) {
  const x = scale.x(peak.t);
  const [top, middle, foot] = [peak.p90, peak.p50, peak.p10].map(scale.y);
  const across = (y, half) => line("peakline", lane, x - half, y, x + half, y);
  const words = `Peak ${unit.number(peak.p50)}°`;
  const half = (words.length * LETTER) / 2;
  const at = Math.min(x, scale.width - half);
  return [
    line("peakline", lane, x, top, x, foot), across(top, CAP), across(foot, CAP), across(middle, 2 * CAP),
    ...(scale.isLarge ? [] : [word("note", null, at, Math.max(TOP_Y, top - 5), words, "middle")]),
  ];
}

/** Each pull temperature once, as a chequered line; with two of them it says whose each is. */
function pulls(lanes, { left, right, width, isLarge, y }, unit) {
  const ofEach = [...new Set(lanes.map(({ pull_c }) => pull_c))].filter((one) => one !== null).sort((a, b) => b - a);
  const [from, to] = isLarge ? [left, right] : [0, width];
  return ofEach.flatMap((celsius, i) => {
    const at = y(celsius);
    const whose = ofEach.length > 1 ? `${title(lanes.find(({ pull_c }) => pull_c === celsius).name)} pull` : "Pull";
    return [
      line("pullline", null, from, at - 2, to, at - 2),
      line("pullline odd", null, from, at + 2, to, at + 2),
      word("note", null, from + 3, i ? at + 17 : at - 7, `${whose} ${unit.degrees(celsius)}°`, "start"),
    ];
  });
}

/** A line for every mark; its word too, in the first row where it touches no other. */
function marks({ index, name, marks: list }, order, { x, bottom, top, right, width, isLarge, rows }) {
  const y = (row) => bottom + ROW * (rows * order + row + 1) - 3;
  const free = Array(rows).fill(isLarge ? nameWidth(name) : 0); // where the next word of each row may begin
  const foot = isLarge ? y(0) - ROW + 3 : bottom;
  const drawn = isLarge ? [word("markword", index, 2, y(0), title(name), "start")] : [];
  for (const { t, word: short } of list) {
    drawn.push(line("markline", index, x(t), isLarge ? top : 0, x(t), foot));
    const half = (short.length * LETTER) / 2;
    const middle = Math.min(Math.max(x(t), half), (isLarge ? right + SIDE : width) - half);
    const row = free.findIndex((from) => middle - half >= from);
    if (row < 0) continue;
    free[row] = middle + half + APART;
    drawn.push(word("markword", index, middle, y(row), short, "middle"));
  }
  return drawn;
}

function timeTicks({ from, to }, { x, top, bottom, left, right, height }) {
  const step = stepOf(TICK_S, (to - from) / (right - left), TICK_APART.time);
  const y = height - 3;
  return multiples(from, to, step).flatMap((t) => [
    line("gridline", null, x(t), top, x(t), bottom),
    word("tick", null, Math.min(x(t), right + SIDE - 20), y, minutes(t), "middle"),
  ]);
}

function degreeTicks({ low, high }, { y, top, bottom, left, right }, unit) {
  const [from, to] = [unit.show(low), unit.show(high)];
  const step = stepOf(TICK_DEGREES, (to - from) / (bottom - top), TICK_APART.degrees);
  return multiples(from, to, step).flatMap((degrees) => {
    const at = y(unit.read(degrees));
    return [line("gridline", null, left, at, right, at), word("tick", null, left - SIDE, at + 4, `${degrees}°`, "end")];
  });
}

/** The least of `steps` whose ticks lie far enough apart; `each` is what one pixel is worth. */
const stepOf = (steps, each, apart) => steps.find((step) => step / each >= apart) ?? steps.at(-1);

function multiples(from, to, step) {
  const found = [];
  for (let at = Math.ceil(from / step) * step; at <= to; at += step) found.push(at);
  return found;
}

const nameWidth = (name) => name.length * LETTER + 2;

const line = (role, lane, x1, y1, x2, y2) => ({ kind: "line", role, lane, x1, y1, x2, y2 });
const word = (role, lane, x, y, words, anchor) => ({ kind: "word", role, lane, x, y, words, anchor });
