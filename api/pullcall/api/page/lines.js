// The lines below the top: the link, the other alarms, what is not ready, and the window.

import { attr, button, make, refill, show, text } from "./dom.js";
import { doubted, lineOf, linedUp, troublesOf } from "./notices.js";
import { joined, liveAlarms, stateOf, unheardOf } from "./alarms.js";
import { lateWords, percent, span } from "./words.js";

const LONG_NOTICE = 50; // letters: more than one line on a small phone
const LONG_WINDOW = 45; // the same, of the line of the window

export class Lines {
  /** `whole` takes the key that lies over `notice` and the lines in `node`. */
  constructor({ whole, notice, node }, acts) {
    this.whole = whole;
    this.notice = notice;
    this.others = make("p", { class: "others", role: "status" });
    this.unready = make("p", { class: "unready" });
    this.window = make("p", { class: "window" });
    whole.append(button("", () => acts.openNotices(), { name: "Read all notices" }));
    whole.firstChild.append(make("span", {}, "Read all"));
    node.append(this.others, this.unready, this.window);
  }

  /** `calls` are those that stand at the top already; `isArmed`: whether this phone sounds. */
  paint(board, link, calls, t, isArmed) {
    const isOn = board.stage !== "before"; // before, the plan says it
    const [others, unready] = [othersOf(board, calls), isOn ? unreadyOf(board) : null];
    this.paintNotice(board, link, isArmed);
    line(this.others, others);
    line(this.unready, unready);
    this.paintWindow(isOn ? windowOf(board, t) : null);
    const isCut = board.stage === "cooking" && toldOf(board) !== "";
    show(this.whole, isOn && board.ready && !board.isReplay && Boolean(isCut || others || unready || board.isClockDoubted));
  }

  /** A narrow phone leaves out a word, and where that is too little the chance. */
  paintWindow(parts) {
    const sentence = parts?.join(" · ") ?? "";
    attr(this.window, "data-long", sentence.replace("opens ", "").length > LONG_WINDOW);
    refill(this.window, sentence, () => (parts ?? []).flatMap((part, i) => [
      ...(i ? [make("span", { class: kindOfPart(part) }, " · ")] : []),
      make("span", { class: kindOfPart(part) }, ...part.split(/(opens )/).map((word) => (word === "opens " ? make("span", { class: "opens" }, word) : word))),
    ]));
    show(this.window, sentence !== "");
  }

  /** While meat is on, what is told has one line: the key over it says it whole. */
  paintNotice(board, link, isArmed) {
    const lost = lostWords(board, link, isArmed && board.acting);
    const [told, mode] = lost === null ? [toldOf(board), modeOf(board)] : [lost, ""];
    const isBrief = lost === null && board.ready && board.stage === "cooking" && told !== "";
    const sentence = [mode, told].filter(Boolean).join(" ");
    attr(this.notice, "class", isLost(board, link) ? "lost" : board.mode);
    attr(this.notice, "data-brief", isBrief);
    attr(this.notice, "data-long", !isBrief && sentence.length > LONG_NOTICE);
    refill(this.notice, `${isBrief} ${sentence}`, () => (isBrief
      ? [make("span", { class: "told" }, told), ...(mode ? [make("span", { class: "mode" }, board.mode === "demo" ? "Demo" : mode)] : [])]
      : [sentence]));
    show(this.notice, sentence !== "");
  }
}

const kindOfPart = (part) => (part.startsWith("chance") ? "chancepart" : null);

function line(node, sentence) {
  text(node, sentence ?? "");
  show(node, Boolean(sentence));
}

/** Whether what is shown has no news: the link is dead, was never there since a reload, or a board does not hear the site. */
export const isLost = ({ visitor }, link) => link.lost || link.recalledMs() !== null || (visitor.board && link.untold);

/** What is said while there is no news, or null. */
export function lostWords(board, link, isSounding) {
  const quiet = span(link.quietMs() / 1000);
  const { visitor } = board;
  if (!link.greeted) return [`Looking for the ${visitor.board ? "board" : "site"}…`, recalledWords(link), board.ready && isSounding && "Known calls sound."].filter(Boolean).join(" ");
  if (link.lost && visitor.board) return `No answer from the board for ${quiet}.`;
  if (isLost(board, link) && visitor.board) return `Not heard from the site for ${span(link.untoldMs() / 1000)}.`;
  if (link.lost) return `Link lost ${quiet}: check Wi-Fi.${isSounding ? " Known calls sound." : ""}`;
  if (!board.ready) return visitor.delay_s ? `Shown ${lateWords(visitor.delay_s)}: wait, it begins by itself.` : "Looking for the site…";
  return null;
}

const recalledWords = (link) => (link.recalledMs() === null ? null : `Last heard ${span(link.recalledMs() / 1000)} ago.`);

/** What is told of this site; a replay's own keys say what it is. */
const toldOf = ({ visitor, banner, isReplay }) => (isReplay ? "" : [banner, visitor.note].filter(Boolean).join(" "));

function modeOf({ mode, speed }) {
  return mode === "demo" ? `Demo${speed === 1 ? "" : `, ${speed} times life`}.` : "";
}

function othersOf(board, calls) {
  const isOver = (one) => board.stage === "after" && one.call.startsWith("fire");
  const others = liveAlarms(board.calls).filter((one) => !calls.some(({ id }) => id === one.id) && !isOver(one));
  const unheard = unheardOf(others); // said first: the calls are missed until it is mended
  const ordered = unheard ? [unheard, ...others.filter((one) => one !== unheard)] : others;
  return linedUp(ordered, board.banner).map((one) => `${joined([one])} (${stateOf(one)})`).join(" · ");
}

function unreadyOf(board) {
  const [first, ...more] = troublesOf(board);
  return first ? `! ${lineOf(first, board)}${more.length ? ` (+${more.length})` : ""}` : null;
}

/** "Turn-in opens in 12 min", "chance 95 %", "slack 6 min": one line on the smallest phone. */
function windowOf(board, t) {
  const span_t = board.cook?.window_t;
  if (!span_t || t === null) return null;
  const handed = board.steaks.some((one) => one.phase === "handed_in");
  if (board.isClockDoubted) return [doubted(clockOf(span_t, t), board)];
  const parts = [clockOf(span_t, t)];
  const { chance, slack_s: slack } = board.plan ?? {};
  if (!handed && typeof chance === "number") parts.push(`chance ${percent(chance).replace("over ", ">").replace("under ", "<")}`);
  if (!handed && typeof slack === "number") parts.push(slack < 0 ? `${span(-slack)} late` : `slack ${span(slack)}`);
  return parts;
}

/** "Turn-in opens in 12 min", of `[opens, closes]`. */
export function clockOf([opens, closes], t) {
  if (t < opens) return `Turn-in opens in ${span(opens - t)}`;
  return t < closes ? `Turn-in closes in ${span(closes - t)}` : "Turn-in is closed";
}

export const slackWords = (seconds) =>
  seconds < 0 ? `${span(-seconds)} too late` : `${span(seconds)} of slack`;
