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
    const last = { ...shown, steaks, zero: performance.timeOrigin + clock.zero(), visitor: board.visitor };
    write(JSON.stringify(last));
  }

  /** Take up what the page before the reload knew; false if there is nothing. */
  restore(board, clock) {
    const last = read();
    if (last === null) return false;
    const { zero, visitor, ...shown } = last;
    board.visitor = new Visitor(visitor);
    board.apply({ type: "snapshot", ...shown });
    clock.resume(zero - performance.timeOrigin, shown.speed);
    return true;
  }

  forget() {
    write(null);
  }
}

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
