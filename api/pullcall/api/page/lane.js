// One steak: its countdown, its numbers, and the button for its next step.

import { attr, button, make, refill, show, text } from "./dom.js";
import { isPullDue, liveAlarms } from "./alarms.js";
import { PHASES, WORDS, actWords, aimWords, isVague, nextStep, plannedIn, pullIn, pullWords, roughly, title } from "./acts.js";
import { STALE_S, ageOf, isCarriedOn, riseWords } from "./measured.js";
import { band, countdown, minutes } from "./clock.js";
import { span } from "./words.js";
import { Fit } from "./fit.js";
import { LaneCurve } from "./lane_curve.js";

const CLOSE_S = 40; // the pull call's lead: the lane turns inside out
const CHANGING_MS = 600;
const CARRIED_ON = /^no reading for .* carried on/i; // the forecast's note: the age of the last one says it
const BOUNCE_MS = 1200; // a second knock must not take the step after

export class Lane {
  constructor(name, index, acts) {
    this.name = name;
    this.acts = acts;
    this.step = null;
    this.proposal = null; // the mark proposed from the readings, which keys of its own answer
    this.seen = null; // the one that the big key answers
    this.askedSince = -Infinity;
    const say = title(name);
    const line = (kind) => make("p", { class: kind });
    this.tab = line("name");
    this.phase = line("phase");
    for (const part of ["label", "digits", "pull", "spread", "core", "rise", "peak", "aim", "cametrue", "why", "flagged", "asked"]) {
      this[part] = line(part);
    }
    [this.asks, this.until, this.because] = ["b", "span", "span"].map((tag) => make(tag));
    attr(this.because, "class", "because");
    this.asked.append(this.asks, this.until, this.because);
    this.curve = new LaneCurve(name, acts);
    this.spot = button("Spot", () => acts.openSpot(name), { kind: "side", name: `${say}: enter a spot temperature` });
    this.more = button("More", () => acts.openMore(name), { kind: "more", name: `${say}: more marks` });
    this.yes = button("", () => this.answer(true), { kind: "yes" });
    this.no = button("", () => this.answer(false), { kind: "no" });
    this.go = button("", () => this.goOn(), { kind: "go", rest: BOUNCE_MS });
    this.keys = make("div", { class: "keys" }, this.yes, this.no, this.spot, this.more, this.go);
    const face = make("div", { class: "face" },
      make("div", { class: "time" }, this.label, this.digits, this.pull, this.spread),
      make("div", { class: "figures" }, this.core, this.rise, this.peak, this.aim),
      this.cametrue, this.why, this.flagged);
    this.node = make("section", { class: `lane lane${index}`, "aria-label": say },
      make("div", { class: "head" }, this.tab, this.phase), face,
      this.curve.node, this.curve.unseen, this.asked, this.keys);
    text(this.tab, say);
    this.fit = new Fit(this.node, face, this);
  }

  paint(steak, board, unit, t, lost) {
    text(this.phase, PHASES[steak.phase] ?? steak.phase);
    const shown = t === null ? { label: "", digits: "–", state: "idle" } : this.timeOf(steak, t, isPullDue(steak, board.calls));
    attr(this.node, "data-state", shown.state);
    text(this.label, shown.label);
    this.paintDigits(shown.digits);
    this.paintPull(steak, t, shown);
    const isSilent = this.paintFigures(steak, board, unit, t, lost);
    this.paintTruth(steak, board, unit, t);
    this.paintWords(steak, board, isSilent);
    this.paintProposal(steak, board, t);
    this.paintKeys(steak, board);
    this.fit.paint();
    this.curve.paint(steak, board, unit, t);
  }

  /** Large digits, and the unit of bare seconds small beside them. */
  paintDigits(digits) {
    const [, number, seconds] = /^(.+?)( s)?$/.exec(digits);
    refill(this.digits, digits, () => (seconds ? [number, make("small", {}, seconds)] : [number]));
    attr(this.digits, "data-chars", number === "NOW" ? 5 : Math.min(5, number.length));
  }

  /** What the large digits count, and how the lane looks. */
  timeOf(steak, t, isDue) {
    const planned = plannedIn(steak, t);
    const pull = pullIn(steak, t);
    if (isDue || (pull && pull.p50 <= 0)) return { label: "Pull", digits: "NOW", state: "now", counts: "pull" };
    if (planned && planned.in_s < 0) {
      return { label: `${actWords(planned.mark)} late by`, digits: countdown(-planned.in_s), state: "late", counts: "act" };
    }
    if (planned) {
      return { label: `${actWords(planned.mark)} in`, digits: countdown(planned.in_s), state: "act", counts: "act" };
    }
    if (pull && isVague(pull)) return { ...vague(pull), state: "pull", counts: "pull" };
    if (pull) {
      const state = pull.p50 <= CLOSE_S ? "close" : "pull";
      return { label: "Pull in", digits: countdown(pull.p50), state, counts: "pull" };
    }
    if (steak.phase === "handed_in") return { label: "Handed in", digits: "–", state: "idle" };
    if (steak.off_t !== null && steak.phase !== "waiting") {
      const label = steak.phase === "resting" ? "Resting for" : "Off for";
      return { label, digits: minutes(Math.max(0, t - steak.off_t)), state: "idle" };
    }
    if (steak.phase === "on") return { label: "On for", digits: minutes(Math.max(0, t - (steak.on_t ?? t))), state: "idle" };
    return { label: "Not on yet", digits: "0:00", state: "idle" };
  }

  paintPull(steak, t, shown) {
    const pull = t === null ? null : pullIn(steak, t);
    const second = pull && shown.counts !== "pull";
    const words = second ? pullWords(pull) : restWords(steak);
    text(this.pull, words);
    show(this.pull, words !== "");
    const open = pull !== null && pull.p50 > 0 && !isVague(pull) && shown.state !== "now";
    const likely = open ? band(pull.p10, pull.p90) : "";
    refill(this.spread, likely, () => [make("span", { class: "likely" }, "likely "), likely]);
    show(this.spread, open);
  }

  /** Returns whether it is said how old the last reading is. */
  paintFigures(steak, board, unit, t, lost) {
    const age = board.isOver(t) ? null : ageOf(steak, board, t);
    this.paintCore(steak, board, unit, age);
    attr(this.node, "data-lost", lost);
    const isSilent = age !== null && (lost || age > STALE_S);
    attr(this.node, "data-silent", isSilent);
    text(this.rise, riseWords(steak, unit, age, lost, whyOf(steak)));
    const peak = peakOf(steak);
    text(this.peak, peak
      ? `Peak ${unit.say(peak.p50, 0)} (${unit.number(peak.p10)}–${unit.number(peak.p90)})` : "");
    show(this.peak, peak !== null);
    const aim = aimWords(steak, unit);
    text(this.aim, aim);
    show(this.aim, aim !== "");
    return isSilent;
  }

  /** In a replay: what came true of the forecast. */
  paintTruth(steak, board, unit, t) {
    const words = board.truth?.words(steak, unit, t) ?? [];
    refill(this.cametrue, words.join("\n"), () => words.flatMap((one) => [make("span", {}, one), " "]));
    show(this.cametrue, words.length > 0);
  }

  /** A core that nothing measured of late is only a model's: whole degrees, and said to be estimated. */
  paintCore(steak, board, unit, age) {
    const core = steak.forecast?.core_c ?? steak.reading?.celsius ?? null;
    const isModelled = isCarriedOn(steak, board);
    attr(this.core, "data-modelled", isModelled);
    attr(this.core, "data-old", !isModelled && age > STALE_S);
    const parts = isModelled ? [`about ${unit.say(core, 0)}`, make("span", { class: "unseen" }, ", estimated")] : [unit.say(core)];
    refill(this.core, `${isModelled} ${parts[0]}`, () => parts);
  }

  paintWords(steak, board, isSilent) {
    const said = board.isBlind ? "" : whyOf(steak);
    const why = isSilent && CARRIED_ON.test(said) ? "" : said;
    text(this.why, why);
    show(this.why, why !== "");
    attr(this.node, "data-why", why !== "");
    const own = `${title(steak.steak)}: `; // the lane says whose alarm it is
    const words = liveAlarms(board.calls).filter((call) => call.steaks.includes(steak.steak)).map(({ text: said }) => (said.startsWith(own) ? title(said.slice(own.length)) : said));
    text(this.flagged, words.join(" "));
    show(this.flagged, words.length > 0);
    attr(this.node, "data-flagged", words.length > 0);
  }

  paintProposal(steak, board, t) {
    const [asked, found] = proposalsOf(steak, board);
    this.seen = asked && !found ? asked : null;
    if (found?.id !== this.proposal?.id) this.askedSince = performance.now();
    this.proposal = found;
    const [asks, until, why] = asked && t !== null ? question(asked, t) : ["", "", ""];
    text(this.asks, asks);
    text(this.until, until);
    text(this.because, why);
    show(this.asked, asked !== null);
    attr(this.node, "data-asked", asked !== null);
    attr(this.keys, "data-answers", found !== null);
    for (const [key, answer] of [[this.yes, "yes"], [this.no, "no"]]) {
      const words = found ? `${WORDS[found.mark] ?? found.mark}: ${answer}` : "";
      text(key, words);
      attr(key, "aria-label", found && `${title(this.name)}: ${words}`);
      show(key, found !== null);
    }
  }

  /** The big key; where the readings show the same already, their moment is the mark's. */
  goOn() {
    if (this.acts.isResting(this.name)) return;
    if (this.seen && this.seen.mark === this.step) this.acts.propose(this.seen, true);
    else if (this.step) this.acts.mark(this.step, this.name);
  }

  /** A tap that was meant for what stood there before says nothing. */
  answer(isSo) {
    if (this.proposal && performance.now() - this.askedSince >= CHANGING_MS) this.acts.propose(this.proposal, isSo);
  }

  paintKeys(steak, board) {
    show(this.keys, !board.visitor.isWatching && !board.isReplay);
    this.step = nextStep(steak, board.calls);
    const asked = board.stage === "after" ? { boxed: `Box ${steak.steak}`, handed_in: "Hand in" }[this.step] : undefined;
    text(this.go, this.step === null ? "Done" : asked ?? WORDS[this.step] ?? title(this.step));
    attr(this.go, "aria-label", this.step === null ? null : `${title(steak.steak)}: ${asked ?? WORDS[this.step] ?? this.step}`);
    attr(this.go, "disabled", this.step === null || !board.writable || this.acts.isResting(this.name));
    for (const key of [this.spot, this.yes, this.no]) attr(key, "disabled", !board.writable);
    attr(this.more, "disabled", !board.ready);
  }
}

/** Why a steak that is on has no pull forecast, or why its band is wide or something looks wrong. */
function whyOf(steak) {
  if (steak.forecast?.note) return title(steak.forecast.note);
  if (steak.phase !== "on" || steak.forecast?.pull_in_s) return "";
  return title(steak.forecast?.why ?? "No forecast yet.");
}

/** What the rest is waiting for: "Peak in 1:20, rest 5:10 more". */
function restWords(steak) {
  const { peak_in_s: peak, rest_in_s: rest } = steak.forecast ?? {};
  if (steak.phase !== "resting" || rest === undefined) return "";
  if (rest <= 0) return "Rest done";
  return peak > 5 ? `Peak in ${minutes(peak)}, rest ${minutes(rest)} more` : `Past its peak, rest ${minutes(rest)} more`;
}

/**
 * [the proposal that is shown, the one that has keys of its own], or nulls. While the pull is due
 * only whether it came off is asked, and the big key says so.
 */
function proposalsOf({ steak, ...rest }, { proposals, calls }) {
  const own = proposals.filter((one) => one.steak === steak);
  if (!isPullDue({ steak, ...rest }, calls)) return [own[0] ?? null, own[0] ?? null];
  return [own.find((one) => one.mark === "off") ?? null, null];
}

/** "Off 20 s ago?", " Marked in 12 s.", " The probe left the meat." */
function question({ mark, happened, confirm_t: confirm, why }, t) {
  return [
    `${WORDS[mark] ?? mark} ${span(Math.max(0, t - happened))} ago?`,
    confirm === null ? "" : ` Marked in ${span(Math.max(0, confirm - t))}.`,
    ` ${title(why)}.`.replace("..", "."),
  ];
}

/** A peak before the pull can be said would only puzzle. */
function peakOf(steak) {
  const said = steak.phase !== "on" || steak.forecast?.pull_in_s;
  return said ? steak.forecast?.peak_c ?? null : null;
}

/** Large digits for a forecast too wide for seconds: "Pull in about", "16 min". */
function vague(pull) {
  const [, label, digits] = /^(over|about) (.+)$/.exec(roughly(pull));
  return { label: `Pull in ${label}`, digits };
}
