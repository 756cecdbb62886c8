// The top of the screen: one thing at a time, the most urgent first.

import { attr, button, make, refill, show, text } from "./dom.js";
import { isAnswerable, isShelvable, joined, kindOf, liveAlarms, stateOf, unheardOf } from "./alarms.js";
import { minutes } from "./clock.js";
import { deed, nextAct, title } from "./acts.js";
import { nextStepOf } from "./plan.js";
import { wallTime } from "./words.js";

const TOAST_MS = 8000;
const LONG = 24; // letters that fit in large beside two keys on a small phone
const VERY_LONG = 42;
const EARLIER = [["−10 s", 10], ["−30 s", 30], ["−1 min", 60]];
export const SHELF_S = 300;
export const SHELVE = "Put aside 5 min";

/** Shows live calls, the undo of the last mark, the arming tap, or the next act and the clock. */
export class Bar {
  constructor(node, acts) {
    this.node = node;
    this.acts = acts;
    this.toast = null;
    this.waiting = null; // what is said once an undo that stands there is over
    this.arming = "tap"; // "tap" -> "heard" -> "done"; "deaf" after a No
    this.act = make("p", { class: "act" });
    this.time = make("b");
    this.clock = make("p", { class: "cookclock" }, make("span", {}, "since start "), this.time);
  }

  /** Say something for eight seconds, with an undo, and a way to date it back, if there are. */
  say(sentence, ms, undo = null, earlier = null, dating = false) {
    this.toast = { sentence, until: ms + TOAST_MS, undo, earlier, dating };
  }

  /** Say what another phone did, never in the place of an undo that is about to be tapped. */
  tell(sentence, ms, undo, id) {
    const toast = { sentence, undo, earlier: null, dating: false, id };
    if (this.toast?.undo && !this.toast.id) this.waiting = toast;
    else this.toast = { ...toast, until: ms + TOAST_MS };
  }

  /** A mark was taken back by somebody: its undo goes. */
  takeBack(id) {
    if (this.toast?.id === id) this.toast = null;
    if (this.waiting?.id === id) this.waiting = null;
  }

  /** The next in line where a toast is over. */
  turnOver(ms) {
    if (this.toast && ms <= this.toast.until) return;
    this.toast = this.waiting && { ...this.waiting, until: ms + TOAST_MS };
    this.waiting = null;
  }

  /** `meanwhile` are calls of the cook that runs while a replay is looked at. */
  paint(board, calls, sound, t, ms, meanwhile = []) {
    this.turnOver(ms);
    const [unanswered] = this.acts.unanswered();
    if (this.arming === "done" && !sound.armed) this.arming = "tap";
    const [first] = calls;
    const urgency = first ? first.priority : 4;
    if (meanwhile.length) this.paintMeanwhile(meanwhile);
    else if (urgency === 1) this.paintCalls(board, calls, sound);
    else if (unanswered) this.paintUnanswered(unanswered);
    else if (this.toast) this.paintToast(ms);
    else if (urgency === 2) this.paintCalls(board, calls, sound);
    else if (this.arming !== "done" && board.acting && !board.isReplay) this.paintArming(board);
    else if (urgency === 3) this.paintCalls(board, calls, sound);
    else this.paintAct(board, t);
  }

  paintCalls(board, calls, sound) {
    const [first] = calls;
    const others = liveAlarms(board.calls).filter((one) => !calls.some(({ id }) => id === one.id));
    const keys = this.keysOf(board, calls, others, sound);
    // The key beside it says what to do.
    const words = first.call === "unheard" && keys.length ? joined([first]).split(":")[0] : short(calls);
    this.look(`call p${first.priority}${keys.length > 2 ? " full" : ""}${board.isReplay ? " past" : ""}`);
    const key = ["calls", ...calls.map(({ id }) => id), words, ...keys.map(([label]) => label)].join(" ");
    refill(this.node, key, () => {
      const kind = kindOf(first) + (board.isReplay ? " of the replay" : isAnswerable(first) ? `, ${stateOf(first)}` : "");
      const role = first.priority === 1 && !board.isReplay ? "alert" : "status";
      const line = make("p", { class: "act", role, "data-long": lengthOf(words) },
        make("span", { class: "kind" }, kind), words);
      return [line, ...keys.map(([label, act, strong]) => button(label, act, { kind: strong ? "strong" : label === SHELVE ? "aside" : "" }))];
    });
  }

  /** The cook that runs calls while a replay is looked at: one tap leads back to it. */
  paintMeanwhile(calls) {
    const words = joined(calls);
    this.look("meanwhile");
    refill(this.node, `meanwhile ${words}`, () => [
      make("p", { class: "act small", role: "status", "data-long": lengthOf(words) }, make("span", { class: "kind" }, "The cook now"), words),
      button("To the cook", () => this.acts.toCook(), { kind: "strong" }),
    ]);
  }

  /** The answer, and before it what else can be done: at most three keys, or two where one of them ends it. */
  keysOf(board, calls, others, sound) {
    const [first] = calls;
    const answerable = calls.filter((call) => isAnswerable(call) && (board.writable || (call.here && board.acting)));
    const keys = [];
    const isUnheard = board.acting && !board.isReplay && unheardOf([...calls, ...others]) && !sound.armed;
    if (others.length) keys.push([counted(liveAlarms(board.calls).length), () => this.acts.openAlarms()]);
    if (isUnheard) keys.push(["Tap to hear calls", () => this.acts.arm(), true]);
    else if (!others.length && answerable.length && isShelvable(first)) keys.push([SHELVE, () => this.acts.shelve(answerable, SHELF_S)]);
    const isInList = isUnheard && others.length > 0 && first.call === "unheard";
    if (answerable.length && !isInList) keys.push(["Got it", () => this.acts.answer(answerable), true]);
    return keys;
  }

  paintToast(ms) {
    const { sentence, undo, earlier, dating } = this.toast;
    this.look("toast");
    refill(this.node, `toast ${sentence} ${this.toast.until} ${dating}`, () => {
      const line = make("p", { class: "act small", role: "status", "data-long": lengthOf(sentence) }, sentence);
      if (dating) return [line, ...EARLIER.map(([label, by]) => button(label, () => earlier(by)))];
      const date = () => Object.assign(this.toast ?? {}, { dating: true, until: ms + 2 * TOAST_MS });
      return [
        line,
        ...(earlier ? [button("Earlier", date)] : []),
        ...(undo ? [button("Undo", () => { this.toast = null; undo(); }, { kind: "strong" })] : []),
      ];
    });
  }

  /** A tap that the site never answered: it is not marked, and only another tap marks it. */
  paintUnanswered(entry) {
    this.look("unanswered");
    refill(this.node, `unanswered ${entry.mark} ${entry.steak} ${entry.since}`, () => [
      make("p", { class: "act", role: "alert" }, `${deed(entry.mark, entry.steak)} NOT marked: no answer`),
      button("Again", () => this.acts.again(entry), { kind: "strong" }),
      button("Drop", () => this.acts.letGo(entry), { name: "Leave it unmarked" }),
    ]);
  }

  paintArming(board) {
    const { length } = liveAlarms(board.calls);
    this.look(`arming ${this.arming}`);
    refill(this.node, `arming ${this.arming} ${length}`, () => this.armingParts(length));
  }

  armingParts(alarms) {
    const all = alarms ? [button(counted(alarms), () => this.acts.openAlarms())] : [];
    if (this.arming === "heard") {
      return [
        make("p", { class: "act" }, "Heard it?"),
        ...all,
        button("Yes", () => { this.arming = "done"; }, { kind: "strong" }),
        button("No", () => { this.arming = "deaf"; }),
      ];
    }
    if (this.arming === "deaf") {
      return [
        make("p", { class: "act small" }, "Turn the volume up and silent mode off."),
        button("Again", () => this.acts.arm(), { kind: "strong" }),
        button("Skip", () => { this.arming = "done"; }),
      ];
    }
    return [button("Tap to hear calls", () => this.acts.arm(), { kind: "strong wide" }), ...all];
  }

  paintAct(board, t) {
    this.look("next");
    refill(this.node, "next", () => [this.act, this.clock]);
    const step = board.stage === "before" ? nextStepOf(board.plan) : null;
    text(this.act, step === null ? nextAct(board, t) : `${wallTime(board.wall(step.begin_t))} ${step.label}`);
    text(this.time, t === null || t < 0 ? "–:––" : minutes(t));
  }

  look(kind) {
    attr(this.node, "class", kind);
  }
}

const counted = (alarms) => (alarms === 1 ? "1 alarm" : `${alarms} alarms`);

/** The words of several calls; long ones that say the same of each steak say it once. */
function short(calls) {
  const words = joined(calls);
  const names = calls.map(({ steaks }) => steaks.join());
  const rests = new Set(calls.map(({ text: said, steaks }) => said.slice(`${steaks.join()}: `.length)));
  const isOneTwice = calls.length > 1 && rests.size === 1 && calls.every(({ text: said }, i) => said.startsWith(`${title(names[i])}: `));
  return isOneTwice && words.length > VERY_LONG ? `${title(names.join(" and "))}: ${[...rests][0]}` : words;
}

/** How a sentence is set so that it stays whole: true for smaller, "very" for smallest. */
function lengthOf({ length }) {
  return length > VERY_LONG ? "very" : length > LONG;
}
