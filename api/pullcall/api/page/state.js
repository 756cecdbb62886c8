// What is known of the cook. Messages go in; the view and the calls read it. No page, no sound.

import { Visitor } from "./visitor.js";
import { isAlarm } from "./alarms.js";
import { outletWords } from "./words.js";

const CURVE_POINTS = 900;
const KEPT_CALLS = 40;

export class Board {
  constructor() {
    this.visitor = new Visitor(); // who this phone is
    this.ready = false;
    this.mode = "live";
    this.speed = 1;
    this.banner = null;
    this.endsT = null; // a replay's last second; null while live
    this.unit = "F";
    this.cook = null;
    this.steaks = [];
    this.marks = [];
    this.spots = [];
    this.calls = [];
    this.schedule = [];
    this.probes = [];
    this.adapter = null;
    this.fire = null;
    this.plan = null;
    this.proposals = [];
    this.gone = []; // the proposals before the last change: a mark may come after its own went
    this.readiness = [];
    this.outlets = [];
    this.curvePoints = CURVE_POINTS;
    this.truth = null; // what came true, where a replay knows
  }

  /** "before" anything is on, "cooking", or "after" all are off. */
  get stage() {
    const phases = this.steaks.map((one) => one.phase);
    if (phases.every((phase) => phase === "waiting")) return "before";
    return phases.some((phase) => phase === "on" || phase === "waiting") ? "cooking" : "after";
  }

  /** Wall time of a moment of the cook, or null where the log does not say when it started. */
  wall(t) {
    const zero = Date.parse(this.cook?.started ?? "");
    return Number.isNaN(zero) || t === null || t === undefined ? null : new Date(zero + t * 1000);
  }

  steak(name) {
    return this.steaks.find((one) => one.steak === name) ?? null;
  }

  /** 0 for the first steak, 1 for the second: its lane, colour and pitch. */
  laneOf(name) {
    return this.steaks.findIndex((one) => one.steak === name);
  }

  /** Whether this phone may take part: mark, answer, sound. */
  get acting() {
    return this.visitor.may("act");
  }

  /** Whether it is a cook that is over: to be watched only. */
  get isReplay() {
    return this.mode === "replay";
  }

  /** Whether a mark, a spot or an answer can be sent now. */
  get writable() {
    return this.ready && !this.isReplay && this.acting;
  }

  /** Whether a setting of the cook can be changed now. */
  get ruling() {
    return this.writable && this.visitor.may("rule");
  }

  /** Whether this phone is shown no pull, target or forecast. */
  get isBlind() {
    return this.visitor.hides_targets;
  }

  /** Whether a mark that comes at `t` is of a proposal that was to be taken as done by then. */
  isByItself({ mark, steak }, t) {
    const isIt = (one) => one.mark === mark && one.steak === steak && one.confirm_t !== null && t >= one.confirm_t - 1;
    return this.proposals.some(isIt) || this.gone.some(isIt);
  }

  /** What was looked at before the steaks go on, and the outlets that fail and are not told there. */
  get checks() {
    const isTold = ({ name, kind }) => this.readiness.some((one) => !one.ok && [kind, `part ${name}`].includes(one.name));
    const failing = this.outlets.filter((one) => one.state === "failing" && !isTold(one));
    return [...this.readiness, ...failing.map((one) => ({ name: `outlet ${one.name}`, ok: false, words: outletWords(one) }))];
  }

  /** Whether the time of day is in doubt, and with it every time of the window. */
  get isClockDoubted() {
    return this.readiness.some(({ name, ok }) => name === "clock" && !ok);
  }

  /** Forget the cook: this phone is not paired any more. */
  forget() {
    Object.assign(this, new Board());
  }

  /** Whether a replay has played to its end: no time passes after it. */
  isOver(t) {
    return this.endsT !== null && t !== null && t >= this.endsT;
  }

  /** The cook's clock, which stops where the replayed cook does. */
  time(t) {
    return this.isOver(t) ? this.endsT : t;
  }

  apply(message) {
    const take = TAKE[message.type];
    if (take) take(this, message);
  }
}

// Marks of an imported cook may carry no id: those are never taken for one another.
const added = (list, entry) => [...list.filter((one) => !entry.id || one.id !== entry.id), entry];

const TAKE = {
  hello(board, m) {
    board.speed = m.speed ?? 1;
  },

  snapshot(board, m) {
    board.ready = true;
    for (const key of ["mode", "speed", "banner", "unit", "cook"]) board[key] = m[key] ?? board[key];
    board.banner = m.banner ?? null;
    board.endsT = m.ends_t ?? null;
    board.steaks = m.steaks.map((one) => ({ ...one, curve: one.curve ?? [] }));
    for (const key of ["marks", "spots", "calls", "schedule", "probes", "proposals", "readiness", "outlets"]) board[key] = m[key] ?? [];
    for (const key of ["adapter", "fire", "plan"]) board[key] = m[key] ?? null;
    board.gone = [];
  },

  reading(board, m) {
    const steak = m.steak === null ? null : board.steak(m.steak);
    if (!steak) return;
    steak.reading = { t: m.t, celsius: m.celsius };
    steak.curve.push([m.t, m.celsius]);
    // Every second point of the older half goes, so a long cook stays drawable.
    if (steak.curve.length > board.curvePoints) {
      const old = board.curvePoints / 2;
      steak.curve = steak.curve.filter((_, i) => i >= old || i % 2 === 0);
    }
  },

  forecast(board, m) {
    const steak = board.steak(m.steak);
    if (steak) steak.forecast = m;
  },

  steak(board, m) {
    const steak = board.steak(m.steak);
    if (!steak) return;
    const { type, seq, curve, ...fresh } = m;
    Object.assign(steak, fresh);
  },

  mark(board, m) {
    board.marks = added(board.marks, m);
  },

  spot(board, m) {
    board.spots = added(board.spots, m);
  },

  undo(board, m) {
    board.marks = board.marks.filter((one) => one.id !== m.id);
    board.spots = board.spots.filter((one) => one.id !== m.id);
  },

  call(board, m) {
    const calls = [...board.calls.filter((one) => one.id !== m.id), m];
    const old = calls.slice(0, -KEPT_CALLS).filter((one) => isAlarm(one) && one.state !== "cleared");
    board.calls = [...old, ...calls.slice(-KEPT_CALLS)];
  },

  call_state(board, m) {
    board.calls = board.calls.map((one) =>
      one.id === m.id ? { ...one, state: m.state, by: m.by } : one);
  },

  schedule(board, m) {
    board.schedule = m.calls;
  },

  plan(board, m) {
    board.plan = m.plan;
  },

  fire(board, m) {
    board.fire = m.fire;
  },

  proposals(board, m) {
    board.gone = board.proposals;
    board.proposals = m.proposals;
  },

  site(board, m) {
    board.readiness = m.readiness;
    board.outlets = m.outlets;
  },

  banner(board, m) {
    board.banner = m.banner;
  },

  cook(board, m) {
    board.cook = { ...board.cook, ...m.cook };
  },

  probes(board, m) {
    board.probes = m.probes;
    board.adapter = m.adapter ?? null;
  },
};
