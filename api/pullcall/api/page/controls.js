// The keys of a replay: play, pause, speed, the moment, and the marks and calls to go to.

import { SPEEDS } from "./deck.js";
import { attr, button, make, text } from "./dom.js";
import { deed } from "./acts.js";
import { joined } from "./alarms.js";
import { minutes } from "./clock.js";
import { wallTime } from "./words.js";

const STEPS_S = { ArrowLeft: -5, ArrowDown: -5, ArrowRight: 5, ArrowUp: 5, PageDown: -60, PageUp: 60 };

export class Controls {
  /** `page` has `seek(t)`, `leave()`, `menu()` and the sheet; `backWords` are null where there is no way back. */
  constructor(deck, page, backWords) {
    Object.assign(this, { deck, page });
    const { tape, board, clock } = deck;
    this.time = make("b");
    const title = make("p", { class: "tapetitle" }, make("span", {}, `Replay · ${dateOf(board.wall(0))}`), this.time);
    this.scrub = make("input", { type: "range", class: "scrub", min: tape.startsT, max: tape.endsT, step: "any", "aria-label": "Moment of the cook" });
    this.scrub.addEventListener("input", () => page.seek(Number(this.scrub.value)));
    this.scrub.addEventListener("keydown", (event) => this.stepBy(event));
    this.previous = button("Previous", () => this.go(deck.previous), { rest: 0, name: "Previous mark or call" });
    this.toggle = button("", () => this.playOrPause(), { kind: "go", rest: 0 });
    this.following = button("Next", () => this.go(deck.following), { rest: 0, name: "Next mark or call" });
    this.speed = button("", () => page.sheet.show(this.speeds()));
    const list = button("List", () => this.openStops(), { name: "List of marks and calls" });
    const menu = button("Menu", () => page.menu());
    const back = backWords ? [button(backWords, () => page.leave(), { kind: "strong back" })] : [];
    this.node = make("div", { class: "tape" }, title, this.scrub,
      make("div", { class: "tapekeys" }, this.previous, this.toggle, this.following),
      make("div", { class: "tapekeys" }, this.speed, list, menu, ...back));
    this.clock = clock;
  }

  paint() {
    const { clock, tape } = this.deck;
    const t = clock.t();
    const isOver = t >= tape.endsT;
    if (Number(this.scrub.value) !== t) this.scrub.value = t;
    text(this.time, `${isOver ? "over, " : ""}${minutes(t)} of ${minutes(tape.endsT)}`);
    attr(this.scrub, "aria-valuetext", `${minutes(t)} since start`);
    text(this.toggle, clock.isPlaying ? "Pause" : isOver ? "Again" : "Play");
    text(this.speed, `Speed ${clock.speed}×`);
    attr(this.previous, "disabled", this.deck.previous === null);
    attr(this.following, "disabled", this.deck.following === null);
  }

  playOrPause() {
    if (this.clock.isPlaying) this.deck.pause();
    else this.deck.play();
    this.page.paint();
  }

  go(stop) {
    if (stop !== null) this.page.seek(stop.t);
  }

  stepBy(event) {
    const by = STEPS_S[event.key];
    if (by === undefined) return;
    event.preventDefault();
    this.page.seek(this.clock.t() + by);
  }

  /** The panel of speeds: a tap takes one. */
  speeds() {
    const key = (speed) => {
      const node = button(`${speed}×`, () => {
        this.clock.run(speed);
        this.page.sheet.close();
        this.page.paint();
      });
      attr(node, "aria-pressed", String(speed === this.clock.speed));
      return node;
    };
    return { title: "Speed", body: make("div", { class: "grid" }, ...SPEEDS.map(key)) };
  }

  openStops() {
    const panel = this.stops();
    this.page.sheet.show(panel);
    panel.body.querySelector("[aria-current]")?.scrollIntoView({ block: "center" });
  }

  /** The panel of all marks and calls: a tap goes there. */
  stops() {
    const { tape: { stops, asCalled } } = this.deck;
    const last = stops.findLast(({ t }) => t <= this.clock.t());
    const keys = stops.map((stop) => {
      const node = button("", () => { this.page.sheet.close(); this.page.seek(stop.t); }, { kind: `stop ${stop.kind}` });
      node.append(make("b", {}, minutes(stop.t)), " ", make("span", {}, wordsOf(stop)));
      if (stop === last) attr(node, "aria-current", "step");
      return node;
    });
    const note = asCalled === false ? [make("p", { class: "howto" }, "Worked out anew: on the day the calls were not quite these.")] : [];
    const none = stops.length ? [] : [make("p", {}, "Nothing was marked or called.")];
    return { title: "Marks and calls", kind: "stops", body: make("div", { class: "list" }, ...note, ...none, ...keys) };
  }
}

/** "✓ Left: flip" for what was done, "Left: pull in about 40" for what was called. */
function wordsOf({ kind, label, steak }) {
  return kind === "mark" ? `✓ ${deed(label, steak)}` : joined([{ text: label }]);
}

/** "13 Jun 2026, 13:40". */
function dateOf(date) {
  if (date === null) return "no date";
  const day = date.toLocaleDateString("en-GB", { day: "numeric", month: "short", year: "numeric" });
  return `${day}, ${wallTime(date)}`;
}
