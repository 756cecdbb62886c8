// The last that was known of the cook, kept for a reload while the link is dead: its coming calls
// go on sounding. Only in this tab's own memory, and never a secret.

import { Visitor } from "./visitor.js";

const KEY = "pullcall.last";
const EVERY_MS = 2000;
const SHOWN = ["mode", "speed", "banner", "unit", "cook", "marks", "spots", "calls", "schedule"];

export class Kept {
  constructor() {
    this.keptAt = -Infinity;
  }

  /** Call a few times a second. */
  step(board, clock, ms) {
    if (ms - this.keptAt >= EVERY_MS) this.keep(board, clock, ms);
  }

  keep(board, clock, ms) {
    if (!board.ready || board.isReplay || board.visitor.board || clock.zero() === null) return;
    this.keptAt = ms;
    const shown = Object.fromEntries(SHOWN.map((name) => [name, board[name]]));
    const steaks = board.steaks.map(({ curve, ...steak }) => steak);
    // A reload begins this page's clock anew: only the time of day joins the two.
    const last = { ...shown, steaks, zero: performance.timeOrigin + clock.zero(), heard: performance.timeOrigin + ms, visitor: board.visitor };
    write(JSON.stringify(last));
  }

  /** Take up what the page before the reload knew. Returns when it was heard, in ms here; null if there is nothing. */
  restore(board, clock) {
    const last = read();
    if (!Number.isFinite(last?.heard)) return null;
    const { zero, heard, visitor, steaks, ...shown } = last;
    board.visitor = new Visitor(visitor);
    board.apply({ type: "snapshot", ...shown, steaks: steaks.map((one) => ({ ...one, curve: lastOf(one) })) });
    clock.resume(zero - performance.timeOrigin, shown.speed);
    return heard - performance.timeOrigin;
  }

  forget() {
    write(null);
  }
}

/** Of a curve only the end is kept: there were readings. */
const lastOf = ({ reading }) => (reading ? [[reading.t, reading.celsius]] : []);

function write(text) {
  try {
    if (text === null) sessionStorage.removeItem(KEY);
    else sessionStorage.setItem(KEY, text);
  } catch {
    // Forbidden or full: a reload begins with nothing, as on a first visit.
  }
}

function read() {
  try {
    return JSON.parse(sessionStorage.getItem(KEY));
  } catch {
    return null;
  }
}
