// The plan before anything is on: the steps with their times, what is not ready, what to do next.

import { attr, button, make, refill, show, text } from "./dom.js";
import { MORNING, title } from "./acts.js";
import { percent, span, wallTime } from "./words.js";
import { slackWords } from "./lines.js";

const BY_ITSELF = new Set(["cold", "heat_up"]); // begun by the mark of the step before
const FAR_APART_S = 1; // gaps smaller than this are none

/** The step that somebody has to begin next, with the mark that says so; null without a plan. */
export function nextStepOf(plan) {
  const open = (plan?.steps ?? []).filter((one) => one.asks && one.done_t === null && markOf(one) !== null);
  return open.sort((a, b) => a.begin_t - b.begin_t)[0] ?? null;
}

/** The mark that ticks a step, or null. */
export const markOf = ({ name }) => MORNING[name] ?? (name === "cook" ? "on" : null);

export class Plan {
  constructor(acts) {
    this.acts = acts;
    this.step = null;
    this.sums = make("div", { class: "sums" });
    this.ready = make("div", { class: "ready" });
    this.steps = make("ol", { class: "plansteps" });
    this.go = button("", () => this.step && acts.mark(markOf(this.step), this.step.steak), { kind: "go", rest: 1200 });
    this.set = button("Set the turn-in window", () => acts.openWindow());
    this.offset = button("", () => acts.takeOffset());
    this.more = make("div", { class: "sums" });
    this.node = make("div", { class: "plan" },
      make("div", { class: "scroll" }, this.sums, this.ready, this.steps, this.more,
        make("div", { class: "plankeys" }, this.set, this.offset)),
      make("div", { class: "plankeys" }, this.go));
  }

  paint(board, unit, t) {
    const { plan, cook } = board;
    fill(this.sums, sumsOf(board));
    fill(this.more, moreOf(board));
    this.paintReady(board, unit);
    this.paintSteps(board, t);
    this.step = board.stage === "before" ? nextStepOf(plan) : null;
    show(this.go, this.step !== null && board.acting && !board.isReplay);
    if (this.step) text(this.go, this.step.label);
    text(this.set, cook?.window ? "Window and times" : "Set the turn-in window");
    const proposed = plan?.offset?.offset_s ?? 0;
    show(this.set, board.ruling);
    show(this.offset, board.ruling && board.stage === "before" && proposed > 0 && proposed !== cook?.offset_s);
    text(this.offset, offsetWords(board.steaks, proposed));
    attr(this.go, "disabled", !board.writable);
  }

  paintReady({ checks, acting, ruling, isReplay }, unit) {
    show(this.ready, acting && !isReplay);
    const all = checks.every((check) => check.ok);
    refill(this.ready, JSON.stringify([checks, unit.name, ruling]), () => (all
      ? [make("p", { class: "ok" }, "✓ Ready")]
      : checks.map((check) => check.name === "clock" && !check.ok && ruling
        ? button(`! ${check.words}`, () => this.acts.openWindow(), { kind: "notok wide" })
        : make("p", { class: check.ok ? "ok" : "notok" },
        `${check.ok ? "✓" : "!"} ${check.words}${check.celsius === null || check.celsius === undefined ? "" : ` (${unit.say(check.celsius, 0)})`}`))));
  }

  paintSteps(board, t) {
    const steps = board.plan?.steps ?? [];
    const next = nextStepOf(board.plan);
    const key = JSON.stringify([steps, board.cook?.started, Math.floor((t ?? 0) / 60)]);
    refill(this.steps, key, () => [...steps].sort((a, b) => shownAt(a) - shownAt(b)).map((one) => row(one, board, t, one === next)));
  }
}

/** The moment that a step's row shows first: when it was begun, or is to begin. */
const shownAt = ({ done_t: begun, begin_t: begin }) => begun ?? begin;

const fill = (node, lines) =>
  refill(node, JSON.stringify(lines), () => lines.map(([kind, words]) => make("p", { class: kind }, words)));

/** When a step that runs by itself is over at the earliest, or null: its mark is of its beginning. */
function runsUntil({ name, done_t: begun, low_s: low }, t) {
  const isRunning = BY_ITSELF.has(name) && begun !== null && t !== null && t < begun + low;
  return isRunning ? begun + low : null;
}

function row(step, board, t, isNext) {
  const until = runsUntil(step, t);
  const done = step.done_t !== null && until === null;
  const begun = step.done_t !== null;
  const at = (moment) => wallTime(board.wall(moment));
  const late = !begun && t !== null && t > step.latest_t;
  const when = begun ? at(step.done_t) : `${at(step.begin_t)}–${at(step.latest_t)}`;
  const words = [done ? "done" : null, until === null ? null : `running until ${at(until)}`, isNext ? "next" : null, !begun && step.critical ? "sets the pace" : null, late ? "late" : null];
  const kinds = [done && "done", isNext && "next", step.critical && !begun && "critical", !step.asks && "waits"];
  return make("li", { class: kinds.filter(Boolean).join(" ") },
    make("span", { class: "tick", "aria-hidden": "true" }, done ? "✓" : isNext ? "▶" : step.critical ? "!" : "·"),
    make("span", { class: "when" }, when),
    make("span", { class: "what" }, step.label, make("i", {}, words.filter(Boolean).map((word) => ` ${word}`).join(","))));
}

/** "Put right on 40 s later". */
const offsetWords = ([, second], seconds) => (second ? `Put ${second.steak} on ${Math.round(seconds)} s later` : "");

/** The figures of the plan as lines, each with a class. */
function sumsOf(board) {
  const { plan, cook } = board;
  const at = (moment) => wallTime(board.wall(moment));
  if (board.isBlind) return [["turnin", cook?.window_t ? `Turn-in ${cook.window_t.map(at).join("–")}.` : "Nothing is on yet."]];
  if (!cook?.window_t) return [["none", "No turn-in window is set: there is no plan of times yet."]];
  const lines = [["turnin", `Turn-in ${cook.window_t.map(at).join("–")}${plan?.hand_in_t ? `, hand in about ${at(plan.hand_in_t.p50)}` : ""}`]];
  if (typeof plan?.chance === "number") {
    lines.push(["chance", `Chance ${percent(plan.chance)}${typeof plan.slack_s === "number" ? `, ${slackWords(plan.slack_s)}` : ""}`]);
  }
  for (const words of plan?.advice ?? []) lines.push(["advice", words]);
  return lines;
}

/** What is good to know of the plan besides: last moments, and how far apart the pulls come. */
function moreOf(board) {
  const { plan, steaks } = board;
  const at = (moment) => wallTime(board.wall(moment));
  const last = Object.entries(plan?.last_on_t ?? {}).map(([name, moment]) => `${name} ${at(moment)}`);
  const lines = last.length ? [["last", `On at the latest: ${last.join(", ")}`]] : [];
  return [...lines, ...gaps(plan, steaks)];
}

/** How far apart the pulls come, and with which offset they would be apart. */
function gaps(plan, steaks) {
  if (!plan?.gap_s || steaks.length < 2) return [];
  const [first, second] = steaks.map((one) => one.steak);
  const { p10, p50, p90 } = plan.gap_s;
  const order = p50 < 0 ? [second, first] : [first, second];
  const middle = Math.abs(p50);
  const [low, high] = p50 < 0 ? [-p90, -p10] : [p10, p90];
  const words = middle < FAR_APART_S ? "Both pulls come together"
    : `${title(order[1])} pulls about ${span(middle)} after ${order[0]}`;
  const lines = [["gap", `${words} (${order[1]} between ${sideOf(low)} and ${sideOf(high)} ${order[0]})`]];
  const offset = plan.offset;
  if (offset?.offset_s > 0) {
    lines.push(["gap", `${title(second)} on ${Math.round(offset.offset_s)} s after ${first}: both pulls apart with a chance of ${percent(offset.apart)}`]);
  }
  return lines;
}

/** "60 s before", "84 s after". */
const sideOf = (seconds) => `${Math.abs(Math.round(seconds))} s ${seconds < 0 ? "before" : "after"}`;

export function planPanel(acts) {
  const plan = new Plan(acts);
  return { title: "Plan", body: plan.node, paint: (...knowledge) => plan.paint(...knowledge) };
}
