// Two to six cooks side by side: what differed in words, their cores over each other, and a table.

import { title } from "../acts.js";
import { minutes } from "../clock.js";
import { button, make, refill, show, text } from "../dom.js";
import { book, files } from "./book.js";
import { dayOf, nameOf } from "./cook_words.js";
import { LIST, cookHref } from "./route.js";

const NO_CHART = "The chart could not be drawn: the table has the figures.";
const UNITS = { C: "°C", F: "°F", s: "s" };
const LONG_S = 120; // from here on minutes and seconds
const LETTERS = "ABCDEF"; // how the words and the chart call the cooks

export function compareView(page, ids) {
  const status = make("p", { class: "working", role: "status" }, "Comparing…");
  const refused = make("div", { hidden: true });
  const found = make("div", {});
  const load = async () => {
    try {
      const [comparison, rows] = await Promise.all([book.comparison(ids, page.unit.name), page.rows ?? book.cooks().catch(() => [])]);
      show(refused, false);
      refill(found, JSON.stringify(comparison), () => sideBySide(comparison, rows, page.unit));
    } catch (refusal) {
      show(refused, true);
      refill(refused, refusal.message, () => [make("p", { class: "refused", role: "alert" }, refusal.message), button("Try again", load)]);
    }
    text(status, "");
    show(status, false);
  };
  load();
  const node = make("div", { class: "compareview" }, status, refused, found);
  return { title: "Side by side", node, back: { href: LIST, words: "← Logbook" } };
}

function sideBySide({ cooks, rows, words }, known, unit) {
  const named = cooks.map((id) => known.find((row) => row.cook === id) ?? { cook: id });
  return [
    ...(words.length ? [make("section", { "aria-label": "What differed" }, make("h2", {}, "What differed"), make("ul", { class: "words" }, ...words.map((one) => make("li", {}, one))))] : []),
    chart(named, unit),
    make("div", { class: "scrolls", role: "region", tabindex: 0, "aria-label": "Figures side by side" },
      make("table", { class: "figures" },
        make("thead", {}, make("tr", {}, make("td", {}), ...named.map(column))),
        make("tbody", {}, ...rows.map(figureRow)))),
  ];
}

function chart(named, unit) {
  const told = named.map((row, i) => `${LETTERS[i]} ${row.started ? nameOf(row) : row.cook}`).join("; ");
  const picture = make("img", { src: files.chart(named.map((row) => row.cook), unit.name), alt: `Core temperatures, each cook from its steaks going on: ${told}` });
  const box = make("div", { class: "picture" }, picture);
  picture.addEventListener("error", () => box.replaceChildren(make("p", {}, NO_CHART)));
  return box;
}

const column = (row, i) => make("th", { scope: "col" }, make("b", { class: "letter" }, LETTERS[i]),
  make("a", { href: cookHref(row.cook) }, row.started ? dayOf(row.started) : row.cook), ...(row.place ? [make("br"), row.place] : []));

function figureRow({ label, unit, values }) {
  const isLong = unit === "s" && values.some((value) => Math.abs(value) >= LONG_S);
  const shown = isLong ? "min:s" : UNITS[unit] ?? unit;
  return make("tr", {}, make("th", { scope: "row" }, title(shown ? `${label}, ${shown}` : label)),
    ...values.map((value) => make("td", {}, value === null ? "–" : isLong ? minutes(value) : String(value))));
}
