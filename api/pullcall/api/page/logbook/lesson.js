// One lesson: its words, the figure in force, the keys that choose another, and the evidence.

import { attr, button, make, refill, show, text } from "../dom.js";
import { cookHref } from "./route.js";
import { dayOf } from "./cook_words.js";
import { figure } from "./fields.js";
import { title } from "../acts.js";

const DIGITS = { C: 1, s: 0, x: 2, "": 2 };
const IN_WORDS = { default: "the default", learned: "learned from your cooks", own: "your own" };

export class Lesson {
  /** `use(choice)` puts a figure in force and returns a refusal's sentence, or null. */
  constructor({ name, label, unit }, page, rows, use) {
    Object.assign(this, { name, label, unit, page, rows, use });
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
    text(this.force, `In force: ${this.say(lesson.in_force)}, ${IN_WORDS[lesson.mode]}`);
    text(this.words, capital(lesson.words));
    text(this.why, lesson.why);
    text(this.range, `Your own, between ${this.say(lesson.least)} and ${this.say(lesson.most)}`);
    const options = [["default", lesson.default], ["learned", lesson.learned], ["own", lesson.own]]
      .filter(([mode, value]) => mode !== "learned" || value !== null);
    refill(this.keys, JSON.stringify(options.map(([mode]) => mode)), () => options.map(([mode]) => button("", () => this.choose(mode), { kind: mode })));
    options.forEach(([mode, value], i) => {
      const key = this.keys.children[i];
      text(key, value === null ? capital(mode) : `${capital(mode)} ${this.say(value)}`);
      attr(key, "aria-pressed", String(lesson.mode === mode));
    });
    show(this.form, lesson.mode === "own" || this.isTyping === true);
    if (!this.isTyping) this.entry.value = this.number(lesson.own ?? lesson.in_force);
    refill(this.evidence, JSON.stringify([lesson.evidence, this.unit]), () => this.evidenceOf(lesson.evidence));
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
    const value = typeof shown === "number" ? this.read(shown) : null;
    const slack = 0.5 * 10 ** -DIGITS[this.unit]; // the ends as they are shown count as inside
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

  /** A lesson's degrees are differences. */
  shown(value) {
    return this.unit === "C" ? this.page.unit.difference(value) : value;
  }

  read(shown) {
    return this.unit === "C" ? this.page.unit.readDifference(shown) : shown;
  }

  number(value) {
    return this.shown(value).toFixed(DIGITS[this.unit] ?? 2);
  }

  say(value) {
    if (this.unit === "x") return `×\u00a0${this.number(value)}`;
    const words = { C: `\u00a0°${this.page.unit.name}`, s: "\u00a0s" }[this.unit] ?? "";
    return this.number(value) + words;
  }

  evidenceOf(evidence) {
    if (!evidence.length) return [make("p", { class: "meaning" }, "No cook has shown it yet.")];
    const head = make("tr", {}, ...["Cook", "Steak", "Seen", "Weight"].map((one) => make("th", { scope: "col" }, one)));
    return [make("details", {}, make("summary", {}, evidence.length === 1 ? "The evidence: 1 steak" : `The evidence: ${evidence.length} steaks`),
      make("table", { class: "figures" }, make("thead", {}, head), make("tbody", {}, ...evidence.map((one) => this.seen(one)))))];
  }

  seen({ cook, steak, value, weight }) {
    const row = this.rows.find((one) => one.cook === cook);
    return make("tr", {}, make("td", {}, make("a", { href: cookHref(cook) }, row ? dayOf(row.started) : cook)),
      make("td", {}, steak ? title(steak) : "–"), make("td", {}, this.say(value)), make("td", {}, `${Math.round(weight * 100)} %`));
  }
}

const capital = (words) => words.charAt(0).toUpperCase() + words.slice(1);
