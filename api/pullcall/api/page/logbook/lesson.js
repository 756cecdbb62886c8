// One lesson: its words, the figure in force, the keys that choose another, and the evidence.

import { attr, button, make, refill, show, text } from "../dom.js";
import { cookHref } from "./route.js";
import { dayOf } from "./cook_words.js";
import { figure } from "./fields.js";
import { title } from "../acts.js";

const LONG_S = 120; // durations whose default is so long are told in minutes
const MINUTE_S = 60;

export class Lesson {
  /** `use(choice)` puts a figure in force and returns a refusal's sentence, or null. */
  constructor({ name, label, unit, default: usual }, page, rows, use) {
    Object.assign(this, { name, label, page, rows, use, figures: figuresOf(unit, usual, page.unit), canBeOwn: unit !== "" });
    this.force = make("p", { class: "force" });
    this.words = make("p", {});
    this.why = make("p", { class: "meaning" });
    this.refused = make("p", { class: "refused", role: "alert", hidden: true });
    this.keys = make("div", { class: "oneof", role: "group", "aria-label": `${label}: which figure` });
    this.own = this.makeOwn();
    this.evidence = make("div", {});
    this.node = make("section", { class: "lesson", "aria-label": label }, make("h2", {}, label), this.force, this.words,
      ...(page.visitor.may("rule") ? [this.keys, this.own, this.refused] : []), this.why, this.evidence);
  }

  /** The figure of the cook's own, between least and most. */
  makeOwn() {
    this.entry = make("input", { type: "text", inputmode: "decimal", autocomplete: "off", id: `own-${this.name}`, maxlength: 12 });
    this.range = make("label", { for: `own-${this.name}` });
    this.form = make("form", { class: "own", hidden: true }, this.range, make("div", { class: "pair" }, this.entry, button("Use it", () => this.take())));
    this.form.addEventListener("submit", (event) => { event.preventDefault(); this.take(); });
    return this.form;
  }

  paint(lesson) {
    this.lesson = lesson;
    text(this.force, `In force: ${this.say(lesson.in_force)}, ${whose(lesson)}`);
    text(this.words, title(lesson.words));
    text(this.why, lesson.why);
    text(this.range, `Your own, between ${this.say(lesson.least)} and ${this.say(lesson.most)}`);
    const options = [["default", lesson.default], ["learned", lesson.learned], ...(this.canBeOwn ? [["own", lesson.own]] : [])];
    refill(this.keys, "keys", () => options.map(([mode]) => button("", () => this.choose(mode))));
    options.forEach(([mode, value], i) => {
      const key = this.keys.children[i];
      text(key, value === null ? title(mode) : `${title(mode)} ${this.say(value)}`);
      attr(key, "aria-pressed", String(lesson.mode === mode));
    });
    show(this.form, lesson.mode === "own" || this.isTyping === true);
    if (!this.isTyping) this.entry.value = this.number(lesson.own ?? lesson.in_force);
    refill(this.evidence, JSON.stringify(lesson.evidence), () => this.evidenceOf(lesson.evidence));
  }

  /** Its own figure is asked for first; the others are there already. */
  async choose(mode) {
    this.isTyping = mode === "own";
    show(this.form, this.isTyping);
    if (this.isTyping) this.entry.focus();
    else this.refuse(await this.use({ mode }));
  }

  async take() {
    const shown = figure(this.entry.value);
    const { least, most } = this.lesson;
    const value = typeof shown === "number" ? this.figures.read(shown) : null;
    const slack = 0.51 * Math.abs(this.figures.read(10 ** -this.figures.digits) - this.figures.read(0)); // the ends as they are shown count as inside
    if (value === null || value < least - slack || value > most + slack) {
      return this.refuse(`Write a number between ${this.say(least)} and ${this.say(most)}.`);
    }
    this.isTyping = false;
    return this.refuse(await this.use({ mode: "own", value: Math.min(most, Math.max(least, value)) }));
  }

  refuse(sentence) {
    text(this.refused, sentence ?? "");
    show(this.refused, Boolean(sentence));
  }

  number(value) {
    return this.figures.show(value).toFixed(this.figures.digits);
  }

  say(value) {
    return `${this.figures.before}${this.number(value)}${this.figures.after}`;
  }

  evidenceOf(evidence) {
    if (!evidence.length) return [];
    const head = make("tr", {}, ...["Cook", "Steak", "Seen", "Weight"].map((one) => make("th", { scope: "col" }, one)));
    return [make("details", {}, make("summary", {}, `The evidence (${evidence.length})`),
      make("table", { class: "figures" }, make("thead", {}, head), make("tbody", {}, ...evidence.map((one) => this.seen(one)))))];
  }

  seen({ cook, steak, value, weight }) {
    const row = this.rows.find((one) => one.cook === cook);
    return make("tr", {}, make("td", {}, make("a", { href: cookHref(cook) }, row ? dayOf(row.started) : cook)),
      make("td", {}, steak ? title(steak) : "–"), make("td", {}, this.say(value)), make("td", {}, `${Math.round(weight * 100)} %`));
  }
}

/** How a lesson's figures are shown: "C" is a difference, "" the level of the heat from below. */
function figuresOf(unit, usual, reader) {
  const plain = { show: (value) => value, read: (shown) => shown, before: "", after: "" };
  if (unit === "C") return { ...plain, show: (value) => reader.difference(value), read: (shown) => reader.readDifference(shown), digits: 1, after: `\u00a0°${reader.name}` };
  if (unit === "") return { ...plain, show: (value) => reader.show(value), digits: 0, after: `\u00a0°${reader.name}` };
  if (unit === "x") return { ...plain, digits: 2, before: "×\u00a0" };
  if (usual >= LONG_S) return { ...plain, show: (value) => value / MINUTE_S, read: (shown) => shown * MINUTE_S, digits: 1, after: "\u00a0min" };
  return { ...plain, digits: 1, after: "\u00a0s" };
}

/** Whose figure is in force. */
function whose({ mode, learned }) {
  if (mode === "own") return "your own";
  if (mode === "default") return "the default";
  return learned === null ? "the default until your cooks teach one" : "learned from your cooks";
}
