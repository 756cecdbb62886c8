// What the cooks taught: each lesson with its evidence, and which figure is in force.

import { button, make, refill, show, text } from "../dom.js";
import { LIST } from "./route.js";
import { Lesson } from "./lesson.js";
import { book } from "./book.js";
import { sureKey } from "../sheet.js";

const COUNTS = "A change here counts from the next cook. The cook that runs keeps the figures it began with.";
/** All lessons one way: what stands while nobody chose is what was learned. */
const WAYS = [
  { mode: "default", label: "Reset all", sure: "Tap again: all by default", said: "Every figure is the default" },
  { mode: "learned", label: "All as learned", sure: "Tap again: as learned", said: "Every figure is as taught by your cooks" },
];
const READS = "A cook's phone can choose the figures.";

export function learnedView(page) {
  const learned = new Learned(page);
  learned.load();
  return { title: "Learned", node: learned.node, back: { href: LIST, words: "← Logbook" } };
}

function countWords(cooks, working) {
  const from = cooks === 1 ? "From 1 cook." : `From ${cooks || "no"} cooks.`;
  return working ? `${from} ${working} more ${working === 1 ? "is" : "are"} being worked out.` : from;
}

class Learned {
  constructor(page) {
    this.page = page;
    this.lessons = new Map();
    this.status = make("p", { class: "working", role: "status" }, "Looking through the cooks…");
    this.refused = make("div", { hidden: true });
    this.list = make("div", { class: "lessons" });
    this.all = make("div", {});
    this.hindsight = make("section", { "aria-label": "How the forecasts did", hidden: true });
    this.node = make("div", { class: "learnedview" },
      make("p", { class: "counts" }, page.visitor.may("rule") ? COUNTS : `${COUNTS} ${READS}`),
      this.status, this.refused, this.list, this.all, this.hindsight);
  }

  async load() {
    try {
      const { unit } = this.page;
      const [learned, rows] = await Promise.all([book.learned(unit.name), this.page.rows ?? book.cooks().catch(() => [])]);
      this.rows = rows;
      this.paint(learned);
    } catch (refusal) {
      this.refuse(refusal.message);
    }
  }

  refuse(sentence) {
    show(this.status, false);
    show(this.refused, true);
    refill(this.refused, sentence, () => [make("p", { class: "refused", role: "alert" }, sentence), button("Try again", () => this.load())]);
  }

  paint({ lessons, hindsight, cooks, working }) {
    show(this.refused, false);
    text(this.status, countWords(cooks, working));
    show(this.status, true);
    refill(this.list, JSON.stringify(lessons.map((one) => one.name)), () => lessons.map((one) => this.begin(one)));
    for (const one of lessons) this.lessons.get(one.name).paint(one);
    if (this.page.visitor.may("rule")) {
      const ways = WAYS.filter(({ mode }) => lessons.some((one) => one.mode !== mode));
      refill(this.all, JSON.stringify(ways.map(({ mode }) => mode)), () => ways.map((way) => this.allKey(way)));
    }
    show(this.hindsight, hindsight.length > 0);
    refill(this.hindsight, JSON.stringify(hindsight), () => [
      make("h2", {}, "How the forecasts did"),
      make("dl", { class: "said" }, ...hindsight.flatMap(({ label, words }) => [make("dt", {}, label), make("dd", {}, words)]))]);
  }

  begin(one) {
    const lesson = new Lesson(one, this.page, this.rows, (choice) => this.use(one.name, choice));
    this.lessons.set(one.name, lesson);
    return lesson.node;
  }

  /** Put a figure in force; returns a refusal's sentence, or null. */
  async use(name, choice) {
    try {
      this.paint(await book.use(name, choice, this.page.unit.name));
      return null;
    } catch (refusal) {
      return refusal.message;
    }
  }

  /** Every lesson one way at once. */
  allKey({ mode, label, sure, said }) {
    const set = async () => {
      for (const name of this.lessons.keys()) {
        const sentence = await this.use(name, { mode });
        if (sentence !== null) return this.page.say(sentence);
      }
      return this.page.say(said);
    };
    return sureKey(label, sure, set, { kind: "wide" });
  }
}
