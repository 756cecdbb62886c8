// The top of the screen: one thing at a time, the most urgent first.

import { attr, button, make, refill, show, text } from "./dom.js";
import { isAlarm, isAnswerable } from "./calls.js";
import { minutes } from "./clock.js";
import { nextAct } from "./acts.js";

const TOAST_MS = 8000;
const LONG_NOTICE = 50; // letters: more than one line on a small phone

/** Shows a live call, the undo of the last mark, the arming tap, or the next act and the clock. */
export class Bar {
  constructor(node, acts) {
    this.node = node;
    this.acts = acts;
    this.toast = null;
    this.arming = "tap"; // "tap" -> "heard" -> "done"; "deaf" after a No
    this.act = make("p", { class: "act" });
    this.clock = make("p", { class: "cookclock" });
  }

  /** Say something for eight seconds, with an undo if there is one. */
  say(sentence, ms, undo = null) {
    this.toast = { sentence, until: ms + TOAST_MS, undo };
  }

  paint(board, caller, sound, t, ms) {
    const { call, more } = caller.shown(t, ms);
    if (this.toast && ms > this.toast.until) this.toast = null;
    if (this.arming === "done" && !sound.armed) this.arming = "tap";
    const urgent = call !== null && call.priority === 1;
    if (urgent) this.paintCall(board, call, more);
    else if (this.toast) this.paintToast();
    else if (call !== null) this.paintCall(board, call, more);
    else if (this.arming !== "done") this.paintArming();
    else this.paintAct(board, t);
  }

  paintCall(board, call, more) {
    this.look(`call p${call.priority}`);
    const answer = isAnswerable(call) && (board.writable || call.here);
    refill(this.node, `call ${call.id} ${call.t} ${call.text} ${answer} ${more}`, () => {
      const role = call.priority === 1 ? "alert" : "status";
      const kind = (isAlarm(call) ? "Alarm" : "Call") + (more ? `, ${more} more behind it` : "");
      const line = make("p", { class: "act", role }, make("span", { class: "kind" }, kind), call.text.replaceAll(" °", "\u00a0°"));
      return answer ? [line, button("Got it", () => this.acts.answer(call), { kind: "strong" })] : [line];
    });
  }

  paintToast() {
    const { sentence, undo, until } = this.toast;
    this.look("toast");
    refill(this.node, `toast ${sentence} ${until}`, () => {
      const line = make("p", { class: "act small", role: "status" }, sentence);
      if (!undo) return [line];
      return [line, button("Undo", () => { this.toast = null; undo(); }, { kind: "strong" })];
    });
  }

  paintArming() {
    this.look("arming");
    refill(this.node, `arming ${this.arming}`, () => this.armingParts());
  }

  armingParts() {
    if (this.arming === "heard") {
      return [
        make("p", { class: "act" }, "Heard it?"),
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
    return [button("Tap to hear calls", () => this.acts.arm(), { kind: "strong wide" })];
  }

  paintAct(board, t) {
    this.look("next");
    refill(this.node, "next", () => [this.act, this.clock]);
    text(this.act, nextAct(board.steaks, t));
    text(this.clock, t === null ? "–:––" : minutes(t));
    attr(this.clock, "aria-label", "cook's clock");
  }

  look(kind) {
    attr(this.node, "class", kind);
  }
}

/** The line below: link lost, replay, simulated, or what the site has to say. */
export function paintNotice(node, board, link, t) {
  const sentence = noticeOf(board, link, t);
  attr(node, "class", link.lost ? "lost" : board.mode);
  text(node, sentence ?? "");
  attr(node, "data-long", sentence !== null && sentence.length > LONG_NOTICE);
  show(node, sentence !== null);
}

function noticeOf(board, link, t) {
  if (link.lost) {
    const seconds = Math.floor(link.quietMs() / 1000);
    return `Link lost ${seconds} s: known calls sound.`;
  }
  if (!board.ready) return "Looking for the site…";
  if (board.isOver(t)) return "Replay is over.";
  const faster = board.speed === 1 ? "" : `, ${board.speed} times life`;
  const parts = [];
  if (board.mode === "demo") parts.push(`Demo${faster}.`);
  if (board.mode === "replay") parts.push(`Replay${faster}: only watching.`);
  if (board.banner) parts.push(board.banner);
  return parts.length ? parts.join(" ") : null;
}
