// The judges' scores: rows of a category and what was given, as many as the contest has.

import { button, make, refill, show } from "../dom.js";
import { figure, keyOf } from "./fields.js";

const PREFIX = "score.";

/** Stands among the fields: several notes, one per category. */
export class Scores {
  constructor(changed) {
    this.changed = changed;
    this.key = "scores";
    this.rows = make("div", { class: "scorerows" });
    this.offers = make("div", { class: "offers" });
    this.node = make("fieldset", { class: "scorefield" }, make("legend", {}, "Scores"), this.rows, this.offers);
    this.offer([]);
  }

  take(notes) {
    this.rows.replaceChildren();
    for (const { steak, name, value } of notes) {
      if (steak === null && name.startsWith(PREFIX) && value !== null) this.add(name.slice(PREFIX.length), String(value));
    }
  }

  /** Keys for the categories of earlier cooks, and for another one. */
  offer(categories) {
    this.categories = categories;
    this.paintOffers();
  }

  paintOffers() {
    const there = new Set(this.entries().map(([category]) => category));
    const free = this.categories.filter((one) => !there.has(one));
    refill(this.offers, JSON.stringify(free), () => [
      ...free.map((one) => button(`+ ${one}`, () => this.begin(one), { rest: 0, name: `Add a score: ${one}` })),
      button("+ another category", () => this.begin(""), { rest: 0 })]);
    show(this.rows, this.rows.children.length > 0);
  }

  begin(category) {
    const row = this.add(category, "");
    row.querySelectorAll("input")[category ? 1 : 0].focus();
    this.changed();
  }

  add(category, value) {
    const what = make("input", { type: "text", "aria-label": "Category", placeholder: "category", autocomplete: "off", maxlength: 40 });
    const given = make("input", { type: "text", "aria-label": "Score", placeholder: "score", autocomplete: "off", maxlength: 60 });
    what.value = category;
    given.value = value;
    const row = make("div", { class: "scorerow" }, what, given, button("Remove", () => this.remove(row), { rest: 0 }));
    row.querySelector("button").setAttribute("aria-label", `Remove the score ${category}`.trim());
    this.rows.append(row);
    this.paintOffers();
    return row;
  }

  remove(row) {
    row.remove();
    this.paintOffers();
    this.offers.lastElementChild.focus();
    this.changed();
  }

  entries() {
    return [...this.rows.children].map((row) => [...row.querySelectorAll("input")].map((one) => one.value.trim()));
  }

  get raw() {
    return JSON.stringify(this.entries());
  }

  set raw(kept) {
    this.rows.replaceChildren();
    for (const [category, value] of JSON.parse(kept)) this.add(category, value);
  }

  read() {
    const whole = this.entries().filter(([category, value]) => category && value);
    return Object.fromEntries(whole.map(([category, value]) => [keyOf(null, PREFIX + category), figure(value)]));
  }

  get trouble() {
    const all = this.entries();
    if (all.some(([category, value]) => value && !category)) return "Name the category of each score, or remove it.";
    const named = all.map(([category]) => category).filter(Boolean);
    const twice = named.find((one, i) => named.indexOf(one) !== i);
    return twice ? `Two scores are called ${twice}: give one another name.` : null;
  }
}
