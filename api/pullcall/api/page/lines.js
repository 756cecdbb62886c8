// The lines below the top: the link, the other alarms, what is not ready, and the window.

import { attr, make, show, text } from "./dom.js";
import { joined, liveAlarms, stateOf, unheardOf } from "./alarms.js";
import { lateWords, percent, span } from "./words.js";

const LONG_NOTICE = 50; // letters: more than one line on a small phone

export class Lines {
  constructor(node, notice) {
    this.notice = notice;
    this.others = make("p", { class: "others", role: "status" });
    this.unready = make("p", { class: "unready" });
    this.window = make("p", { class: "window" });
    node.append(this.others, this.unready, this.window);
  }

  /** `calls` are those that stand at the top already. */
  paint(board, link, calls, t) {
    const sentence = noticeOf(board, link, t);
    attr(this.notice, "class", isLost(board, link) ? "lost" : board.mode);
    attr(this.notice, "data-long", sentence !== null && sentence.length > LONG_NOTICE);
    line(this.notice, sentence);
    line(this.others, othersOf(board, calls));
    line(this.unready, board.stage === "before" ? null : unreadyOf(board));
    line(this.window, board.stage === "before" ? null : windowOf(board, t));
  }
}

function line(node, sentence) {
  text(node, sentence ?? "");
  show(node, Boolean(sentence));
}

/** Whether what is shown has no news: the link is dead, or a board does not hear the site. */
export const isLost = ({ visitor }, link) => link.lost || (visitor.board && link.untold);

function noticeOf(board, link, t) {
  if (!link.greeted) return `Looking for the ${board.visitor.board ? "board" : "site"}…${board.ready && board.acting ? " Known calls sound." : ""}`;
  if (link.lost && board.visitor.board) return `No answer from the board for ${span(link.quietMs() / 1000)}.`;
  if (isLost(board, link) && board.visitor.board) return `Not heard from the site for ${span(link.untoldMs() / 1000)}.`;
  if (link.lost && !board.acting) return `Link lost ${Math.floor(link.quietMs() / 1000)} s.`;
  if (link.lost) return `Link lost ${Math.floor(link.quietMs() / 1000)} s: known calls sound.`;
  if (!board.ready) return board.visitor.delay_s ? `Shown ${lateWords(board.visitor.delay_s)}: wait, it begins by itself.` : "Looking for the site…";
  if (board.isReplay) return null; // its own keys say so
  const faster = board.speed === 1 ? "" : `, ${board.speed} times life`;
  const parts = [];
  if (board.mode === "demo") parts.push(`Demo${faster}.`);
  if (board.visitor.note) parts.push(board.visitor.note);
  if (board.banner) parts.push(board.banner);
  return parts.length ? parts.join(" ") : null;
}

function othersOf(board, calls) {
  const isOver = (one) => board.stage === "after" && one.call.startsWith("fire");
  const others = liveAlarms(board.calls).filter((one) => !calls.some(({ id }) => id === one.id) && !isOver(one));
  const unheard = unheardOf(others); // said first: the calls are missed until it is mended
  const ordered = unheard ? [unheard, ...others.filter((one) => one !== unheard)] : others;
  return ordered.map((one) => `${joined([one])} (${stateOf(one)})`).join(" · ");
}

function unreadyOf({ readiness, stage, calls, acting }) {
  if (!acting) return null; // nothing that a watcher could mend
  const isSaid = ({ name }) => name === "heard" && unheardOf(calls) !== null; // by its alarm
  const bad = readiness.filter((check) => !check.ok && !isSaid(check) && !(stage === "after" && isOfCooking(check)));
  if (!bad.length) return null;
  return `! ${bad[0].words}${bad.length > 1 ? ` (+${bad.length - 1})` : ""}`;
}

/** Fire and probes: nothing to mend once no steak is waiting or on. */
const isOfCooking = ({ name }) => name === "fire" || name.startsWith("probe");

/** "Opens in 12 min · chance 95 % · slack 6 min": one line on the smallest phone. */
function windowOf(board, t) {
  const span_t = board.cook?.window_t;
  if (!span_t || t === null) return null;
  const handed = board.steaks.some((one) => one.phase === "handed_in");
  const parts = [clockOf(span_t, t)];
  const { chance, slack_s: slack } = board.plan ?? {};
  if (!handed && typeof chance === "number") parts.push(`chance ${percent(chance).replace("over ", ">").replace("under ", "<")}`);
  if (!handed && typeof slack === "number") parts.push(slack < 0 ? `${span(-slack)} late` : `slack ${span(slack)}`);
  return parts.join(" · ");
}

/** "Opens in 12 min", of `[opens, closes]`. */
export function clockOf([opens, closes], t) {
  if (t < opens) return `Opens in ${span(opens - t)}`;
  return t < closes ? `Closes in ${span(closes - t)}` : "Turn-in is closed";
}

export const slackWords = (seconds) =>
  seconds < 0 ? `${span(-seconds)} too late` : `${span(seconds)} of slack`;
