// The row below both lanes: one tap for both, the last marks, the menu.

import { attr, button, make, show, text } from "./dom.js";
import { FOOD } from "./cautions.js";
import { fireWords } from "./fire.js";
import { WORDS, nextStep } from "./acts.js";

export class Foot {
  constructor(node, caution, acts) {
    this.node = node;
    this.acts = acts;
    this.caution = caution;
    this.step = null;
    this.both = button("", () => this.step && !acts.isResting(null) && acts.mark(this.step, null), { kind: "both", rest: 1200 });
    [this.where, this.heat, this.outlook] = [make("span", {}, "Grate"), make("b"), make("span")];
    this.fire = button("", () => acts.openSpot(null), { kind: "fire" });
    this.fire.append(this.where, " ", this.heat, " ", this.outlook);
    this.marks = button("Marks", () => acts.openMarks(), { name: "Last marks, with undo" });
    this.menu = button("Menu", () => acts.openMenu());
    this.way = make("span", { class: "way" });
    this.menu.append(" ", this.way);
    [this.watching, this.hidden] = [make("b"), make("span")];
    this.words = make("p", { class: "watching" }, this.watching, this.hidden);
    this.all = make("a", { class: "back", href: "../../" }, "All sites"); // below which a board has this page
    node.append(this.all, this.words, this.both, this.fire, this.marks, this.menu);
    text(caution, FOOD);
  }

  paint(board, unit, link) {
    show(this.node, !board.isReplay); // its own keys stand there
    this.paintWay(link);
    this.paintWatching(board.visitor);
    const [heat, outlook] = fireWords(board, unit);
    text(this.heat, heat);
    text(this.outlook, outlook);
    show(this.where, Boolean(board.fire));
    attr(this.fire, "aria-label", `${board.fire ? "Grate " : ""}${heat} ${outlook}: tap in a spot`);
    attr(this.fire, "disabled", !board.writable);
    attr(this.fire, "data-state", board.fire?.state ?? null);
    const steps = new Set(board.steaks.map((steak) => nextStep(steak, board.calls)));
    this.step = board.steaks.length > 1 && steps.size === 1 ? [...steps][0] : null;
    text(this.both, this.step === null ? "Both" : `${WORDS[this.step] ?? this.step} both`);
    attr(this.both, "disabled", this.step === null || !board.writable || this.acts.isResting(null));
    show(this.both, board.steaks.length !== 1 && !board.visitor.isWatching);
    attr(this.node, "class", board.steaks.length === 1 ? "alone" : null);
    for (const key of [this.fire, this.marks]) show(key, !board.visitor.isWatching);
    show(this.caution, board.ready && !board.isReplay && !board.steaks.some((steak) => steak.phase === "on"));
  }

  /** A small sign while the link is not the best one. */
  paintWay({ waySign, wayWords }) {
    text(this.way, waySign ?? "");
    show(this.way, waySign !== null);
    attr(this.menu, "aria-label", waySign && `Menu ${waySign}, link: ${wayWords}`);
  }

  paintWatching(visitor) {
    const [watching, hidden] = visitor.watchingWords;
    text(this.watching, watching);
    text(this.hidden, hidden);
    show(this.words, visitor.isWatching);
    show(this.all, visitor.board);
  }
}
