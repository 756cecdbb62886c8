// The plan before anything is on: the steps with their times, what is not ready, what to do next.

import { attr, button, make, refill, show, text } from "./dom.js";
import { MORNING, title } from "./acts.js";
import { CHARCOAL } from "./cautions.js";
import { percent, span, wallTime } from "./words.js";
import { slackWords } from "./lines.js";

const BY_ITSELF = new Set(["cold", "heat_up"]); // begun by the mark of the step before
const FIRE_STEPS = new Set(["light", "pour"]);
const FAR_APART_S = 1; // gaps smaller than this are none
const SOON_S = 600; // before the steaks go on

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
    this.caution = make("p", { class: "caution" }, CHARCOAL);
    this.ready = make("div", { class: "ready" });
    this.steps = make("ol", { class: "plansteps" });
    this.go = button("", () => this.step && acts.mark(markOf(this.step), this.step.steak), { kind: "go", rest: 1200 });
    this.set = button("Set the turn-in window", () => acts.openWindow());
    this.offset = button("", () => acts.takeOffset());
    this.figures = make("div", { class: "sums" });
    this.more = make("div", { class: "sums" });
    this.node = make("div", { class: "plan" },
      make("div", { class: "scroll" }, this.sums, this.ready, this.caution, this.figures, this.steps, this.more,
        make("div", { class: "plankeys" }, this.set, this.offset)),
      make("div", { class: "plankeys" }, this.go));
  }

  paint(board, unit, t) {
    const { plan, cook } = board;
    const [window, ...figures] = sumsOf(board);
    const next = nextStepOf(plan);
    fill(this.sums, [window, ...(next ? [["nextline", nextWords(next, board, t)]] : [])]);
    fill(this.figures, figures);
    show(this.caution, FIRE_STEPS.has(next?.name) && !board.isReplay);
    fill(this.more, moreOf(board));
    this.paintReady(board, unit, next !== null, next !== null && isSoon(plan, t));
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

  /** Without a plan all that was looked at; with one only what is wrong, so that the steps are seen. */
  paintReady({ checks, acting, ruling, isReplay }, unit, isFolded, isSoon) {
    show(this.ready, acting && !isReplay);
    const bad = checks.filter((check) => !check.ok);
    const whole = isFolded ? bad.filter((check) => isSoon && isUrgent(check)) : checks;
    const folded = isFolded ? bad.length - whole.length : 0;
    refill(this.ready, JSON.stringify([whole, folded, bad.length, unit.name, ruling]), () => (bad.length
      ? [...whole.map((check) => this.checked(check, unit, ruling)), ...(folded ? [this.fold(folded)] : [])]
      : [make("p", { class: "ok" }, "✓ Ready")]));
  }

  /** One line that opens: "! 2 things to look at". */
  fold(count) {
    const words = `! ${count} ${count === 1 ? "thing" : "things"} to look at`;
    return make("div", { class: "folded" }, make("p", { class: "notok" }, words, make("span", {}, "Read")),
      button("", () => this.acts.openNotices(), { name: `Read: ${words.slice(2)}` }));
  }

  checked({ name, ok, words, celsius }, unit, ruling) {
    if (name === "clock" && !ok && ruling) return button(`! ${words}`, () => this.acts.openWindow(), { kind: "notok wide" });
    const measured = celsius === null || celsius === undefined ? "" : ` (${unit.say(celsius, 0)})`;
    return make("p", { class: ok ? "ok" : "notok" }, `${ok ? "✓" : "!"} ${words}${measured}`);
  }

  paintSteps(board, t) {
    const steps = board.plan?.steps ?? [];
    const next = nextStepOf(board.plan);
    const key = JSON.stringify([steps, board.cook?.started, Math.floor((t ?? 0) / 60)]);
    refill(this.steps, key, () => [...steps].sort((a, b) => shownAt(a) - shownAt(b)).map((one) => row(one, board, t, one === next)));
  }
}

/** What would spoil the cook itself: nobody hears, no probe, no fire. */
const isUrgent = ({ name }) => name === "heard" || name === "fire" || name.startsWith("probe");

/** Whether the steaks go on so soon that this is urgent. */
function isSoon(plan, t) {
  const on = plan.steps.filter(({ name, done_t: done }) => name === "cook" && done === null).map((one) => one.begin_t);
  return t !== null && on.length > 0 && Math.min(...on) - t < SOON_S;
}

/** "▶ 13:20–13:28 Light the chimney, sets the pace": the first row of the plan that somebody has to do. */
function nextWords(step, board, t) {
  const [from, to] = [step.begin_t, step.latest_t].map((moment) => wallTime(board.wall(moment)));
  const how = t !== null && t > step.latest_t ? ", late" : step.critical ? ", sets the pace" : "";
  return `▶ ${from}–${to} ${step.label}${how}`;
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
