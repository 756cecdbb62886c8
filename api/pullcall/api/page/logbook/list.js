// All cooks, the latest first: found by words, chosen for a comparison, taken away as a table.

import { attr, button, make, refill, show, text } from "../dom.js";
import { book, files } from "./book.js";
import { climbWords, dayOf, handInWords, nameOf, scoreWords, timeOf, whereOf } from "./cook_words.js";
import { compareHref, cookHref } from "./route.js";
import { title } from "../acts.js";

const TYPED_MS = 300;
const [FEWEST, MOST] = [2, 6];
const TABLES = [["csv", "CSV"], ["jsonl", "JSON Lines"], ["parquet", "Parquet"], ["schema", "Schema"]];

export function listView(page) {
  const list = new List(page);
  const search = make("input", { type: "search", id: "words", autocomplete: "off", placeholder: "place, tag, note" });
  search.value = page.words;
  let timer = 0;
  search.addEventListener("input", () => {
    page.words = search.value.trim();
    clearTimeout(timer);
    timer = setTimeout(() => list.load(), TYPED_MS);
  });
  list.load();
  const node = make("div", { class: "listview" },
    make("nav", { class: "keys2", "aria-label": "More of the logbook" },
      make("a", { class: "key", href: "#learned" }, "Learned"),
      make("a", { class: "key", href: "#moving" }, "Moving in and out")),
    make("div", { class: "search" }, make("label", { for: "words" }, "Find"), search),
    list.node, list.bar,
    make("section", { class: "tables", "aria-label": "All cooks as a table" },
      make("h2", {}, "All cooks as a table"),
      make("p", { class: "meaning" }, "One line per steak, for a spreadsheet. The schema says what each column means. Parquet is there where the site was installed with it."),
      make("div", { class: "keys4" }, ...TABLES.map(([kind, words]) => make("a", { class: "key", href: files.table(kind), download: true }, words)))));
  return { title: "Logbook", node, back: { href: "./", words: "← Cook" }, leave: () => clearTimeout(timer) };
}

class List {
  constructor(page) {
    this.page = page;
    this.asked = 0;
    this.count = make("p", { class: "count", role: "status" }, "Looking…");
    this.refused = make("div", { hidden: true });
    this.cooks = make("ol", { class: "cooks" });
    this.node = make("div", {}, this.count, this.refused, this.cooks);
    this.words = make("p", {});
    this.go = make("a", { class: "key go" }, "Compare");
    this.none = button("None", () => this.chooseNone());
    this.bar = make("div", { class: "bar", role: "group", "aria-label": "Comparison", hidden: true }, this.words, this.none, this.go);
  }

  async load() {
    const asked = (this.asked += 1);
    const { words } = this.page;
    try {
      const rows = await book.cooks(words);
      if (asked !== this.asked) return;
      if (!words) this.page.rows = rows;
      this.paint([...rows].reverse(), words);
    } catch (refusal) {
      if (asked === this.asked) this.refuse(refusal.message);
    }
  }

  refuse(sentence) {
    text(this.count, "");
    show(this.refused, true);
    refill(this.refused, sentence, () => [
      make("p", { class: "refused", role: "alert" }, sentence), button("Try again", () => this.load())]);
  }

  paint(rows, words) {
    show(this.refused, false);
    text(this.count, countWords(rows.length, words));
    this.boxes = [];
    const { unit } = this.page;
    refill(this.cooks, JSON.stringify([rows, unit.name]), () => rows.map((row) => this.entry(row, unit)));
    this.paintBar();
    this.page.shown(this.cooks);
  }

  /** One cook: the whole of it leads to its page, but for the box that chooses it. */
  entry(row, unit) {
    const came = handInWords(row);
    const flags = [row.running && "running", row.simulated && "simulated"].filter(Boolean);
    return make("li", { class: "entry", "data-cook": row.cook },
      make("div", { class: "entryhead" },
        make("h2", {}, make("a", { href: cookHref(row.cook) }, make("span", { class: "day" }, dayOf(row.started)), ` ${timeOf(row.started)}`)),
        ...flags.map((one) => make("span", { class: "flagtag" }, one))),
      ...(whereOf(row) ? [make("p", { class: "where" }, whereOf(row))] : []),
      make("ul", { class: "climbs" }, ...row.steaks.map((steak, i) =>
        make("li", { class: `lane${i % 2}` }, make("span", { class: "name" }, title(steak.steak)), make("span", { class: "climb" }, climbWords(steak, unit))))),
      ...(came ? [make("p", { class: "handin" }, make("b", { "aria-hidden": "true" }, came.sign), ` ${came.words}`)] : []),
      ...(scoreWords(row) ? [make("p", { class: "scores" }, scoreWords(row))] : []),
      ...(row.tags.length ? [make("p", { class: "tags" }, ...row.tags.map((one) => make("span", {}, one)))] : []),
      ...(row.over ? [this.pick(row)] : []));
  }

  /** The box that chooses a cook that is over. */
  pick(row) {
    const box = make("input", { type: "checkbox", "aria-label": `Compare ${nameOf(row)}` });
    box.checked = this.page.chosen.has(row.cook);
    box.addEventListener("change", () => this.choose(row.cook, box));
    return make("label", { class: "pick" }, box, make("span", { "aria-hidden": "true" }, "compare"));
  }

  choose(id, box) {
    const { chosen } = this.page;
    if (box.checked) chosen.add(id);
    else chosen.delete(id);
    this.paintBar();
  }

  chooseNone() {
    this.page.chosen.clear();
    for (const box of this.cooks.querySelectorAll("input")) box.checked = false;
    this.paintBar();
    document.querySelector("#words").focus();
  }

  paintBar() {
    const ids = [...this.page.chosen];
    show(this.bar, ids.length > 0);
    show(this.go, ids.length >= FEWEST && ids.length <= MOST);
    attr(this.go, "href", compareHref(ids));
    text(this.words, barWords(ids.length));
  }
}

function barWords(count) {
  if (count < FEWEST) return "1 chosen: choose one more";
  return count > MOST ? `${count} chosen: six at most` : `${count} chosen`;
}

function countWords(count, words) {
  const cooks = count === 1 ? "1 cook" : `${count} cooks`;
  if (words) return count ? `${cooks} with “${words}”` : `No cook has “${words}” in it.`;
  return count ? cooks : "No cook is logged yet: the first one you cook stands here.";
}
