// The strip between the lanes: coming acts sink toward the chequered line, which is now.

import { draw, attr, refill } from "./dom.js";
import { plannedIn, pullIn } from "./acts.js";

const SHOWN_S = 120;
const SCALE_S = [30, 60, 90];
const LINE_H = 10; // the chequered line at the foot
const FLAG_H = 18; // kept free at the top, so that the furthest flag is whole
const SCALE_W = 15; // the numbers' own column

const MOVE_MS = 500; // the flags sink a pixel or two meanwhile

export class Spine {
  constructor() {
    this.ground = draw("g");
    this.flags = draw("g");
    this.node = draw("svg", { class: "spine", "aria-hidden": "true" }, this.ground, this.flags);
    this.size = { width: 0, height: 0 };
    this.moved = { key: "", at: -Infinity };
    new ResizeObserver(([{ contentRect: { width, height } }]) => { this.size = { width, height }; }).observe(this.node);
  }

  paint(steaks, t) {
    const { width, height } = this.size;
    if (!height || t === null) return;
    const flags = steaks.slice(0, 2).flatMap((steak, lane) => flagsOf(steak, lane, t));
    const alone = steaks.length === 1;
    const key = [width, height, alone, ...flags.map((one) => `${one.letter}${one.lane}`)].join(" ");
    const ms = performance.now();
    if (key === this.moved.key && ms < this.moved.at + MOVE_MS) return;
    this.moved = { key, at: ms };
    const at = (seconds) => Math.round((height - LINE_H - FLAG_H) * (1 - seconds / SHOWN_S)) + FLAG_H;
    const room = alone ? width - SCALE_W : (width - SCALE_W) / 2;
    attr(this.node, "viewBox", `0 0 ${width} ${height}`);
    refill(this.ground, `${width} ${height} ${alone}`, () => ground(width, height, at, alone ? width - SCALE_W / 2 : width / 2));
    const marks = flags.map((one) => flag(one, one.lane ? width - room : 0, room, at));
    refill(this.flags, JSON.stringify(marks), () => marks.flat().map(([tag, attributes, ...words]) => draw(tag, attributes, ...words)));
  }
}

function flagsOf(steak, lane, t) {
  const planned = plannedIn(steak, t);
  const pull = pullIn(steak, t);
  const flags = [];
  if (pull) flags.push({ lane, letter: "P", in_s: pull.p50, from: pull.p10, to: pull.p90 });
  if (planned) flags.push({ lane, letter: planned.mark.charAt(0).toUpperCase(), in_s: planned.in_s });
  return flags.filter((one) => one.in_s < SHOWN_S);
}

/** The numbers keep a column of their own: between two lanes' flags, or beside the one lane's. */
function ground(width, height, at, middle) {
  const parts = SCALE_S.flatMap((seconds) => [
    draw("line", { class: "rung", x1: 0, x2: width, y1: at(seconds), y2: at(seconds) }),
    draw("text", { class: "scale", x: middle, y: at(seconds) - 3 }, String(seconds)),
  ]);
  const cell = width / 6;
  for (let i = 0; i < 12; i += 1) {
    const row = Math.floor(i / 6);
    if ((i + row) % 2) continue;
    const y = height - LINE_H + (row * LINE_H) / 2;
    parts.push(draw("rect", { class: "cheque", x: (i % 6) * cell, y, width: cell, height: LINE_H / 2 }));
  }
  return parts;
}

/** A coming act as `[tag, attributes, words]`: the span of a pull, its flag and its letter. */
function flag({ lane, letter, in_s, from, to }, x, width, at) {
  const y = at(Math.max(0, in_s));
  const parts = [
    ["rect", { class: `flag lane${lane}`, x, y: y - FLAG_H, width, height: FLAG_H }],
    ["text", { class: "flagletter", x: x + width / 2, y: y - 4 }, letter],
  ];
  if (from === undefined) return parts;
  const top = at(Math.min(SHOWN_S, to));
  const bottom = at(Math.max(0, from));
  const spread = { class: `spread lane${lane}`, x: x + 3, y: top, width: width - 6, height: Math.max(2, bottom - top) };
  return [["rect", spread], ...parts];
}
