// Importing one cook: a cook file as it is, or a table whose columns are named first.

import { button, make, refill, show, text } from "../dom.js";
import { Sending } from "./sending.js";
import { Table } from "./table.js";
import { book } from "./book.js";
import { columnsOf } from "./csv.js";
import { cookHref } from "./route.js";

const HEAD_BYTES = 65536;
const MOST_BROKEN = 5;

export class BringIn {
  constructor() {
    this.entry = make("input", { type: "file", id: "cookfile", accept: ".csv,.jsonl,.json,text/csv" });
    this.entry.addEventListener("change", () => this.chosen());
    this.form = make("div", {});
    this.refused = make("p", { class: "refused", role: "alert", hidden: true });
    this.sending = new Sending();
    this.answer = make("div", { role: "status" });
    this.go = button("Import", () => this.send(), { kind: "go wide" });
    show(this.go, false);
    this.node = make("section", { "aria-label": "Import a cook" }, make("h2", {}, "Import a cook"),
      make("p", { class: "meaning" }, "A cook file that another Pullcall exported, or a table of temperatures as CSV."),
      make("label", { for: "cookfile" }, "The file"), this.entry, this.form, this.refused, this.go, this.sending.node, this.answer);
  }

  async chosen() {
    const [file] = this.entry.files;
    this.table = null;
    this.refuse(null);
    this.answer.replaceChildren();
    if (file) {
      const head = (await file.slice(0, HEAD_BYTES).text()).replace(/^\uFEFF/, "");
      if (isTable(file, head)) this.table = new Table(columnsOf(head));
    }
    this.form.replaceChildren(...(this.table ? [this.table.node] : []));
    show(this.go, Boolean(file));
  }

  refuse(sentence) {
    text(this.refused, sentence ?? "");
    show(this.refused, Boolean(sentence));
  }

  async send() {
    const [file] = this.entry.files;
    this.refuse(this.table?.trouble ?? null);
    if (!file || this.table?.trouble) return;
    const query = new URLSearchParams({ name: file.name });
    for (const [name, value] of this.table?.query() ?? []) query.append(name, value);
    await this.sending.run(
      (progress) => book.bringIn(file, query, progress),
      (answer) => refill(this.answer, JSON.stringify(answer), () => told(answer)),
      (sentence) => this.refuse(sentence));
  }
}

const isTable = (file, head) => /\.(csv|tsv|txt)$/i.test(file.name) || !head.trimStart().startsWith("{");

function told({ cook, records, broken }) {
  const more = broken.length - MOST_BROKEN;
  return [
    make("p", { class: "done" }, `Imported: ${records} records. `, make("a", { class: "key", href: cookHref(cook) }, "See the cook")),
    ...(broken.length ? [make("p", {}, "Left out:"), make("ul", { class: "words" }, ...broken.slice(0, MOST_BROKEN).map((one) => make("li", {}, one)),
      ...(more > 0 ? [make("li", {}, `and ${more} more`)] : []))] : []),
  ];
}
