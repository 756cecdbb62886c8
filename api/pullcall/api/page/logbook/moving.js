// Everything in and out: a backup, its way back, and cooks from elsewhere.

import { make, refill, show, text } from "../dom.js";
import { BringIn } from "./bring_in.js";
import { LIST } from "./route.js";
import { Sending } from "./sending.js";
import { book, files } from "./book.js";
import { sureKey } from "../sheet.js";

const READS = "Restoring and importing need a cook's phone.";

export function movingView(page) {
  const node = make("div", { class: "movingview" }, backup(),
    ...(page.visitor.may("rule") ? [new Restore().node, new BringIn().node] : [make("p", { class: "meaning" }, READS)]));
  return { title: "Moving in and out", node, back: { href: LIST, words: "← Logbook" } };
}

const backup = () => make("section", { "aria-label": "Back up" }, make("h2", {}, "Back up"),
  make("p", { class: "meaning" }, "Every cook with its notes, and what you chose of what was learned, as one file. It can be taken while a cook runs. Photos stay where they are."),
  make("a", { class: "key go", href: files.backup(), download: true }, "Download a backup"));

class Restore {
  constructor() {
    this.entry = make("input", { type: "file", id: "backupfile" });
    this.entry.addEventListener("change", () => this.chosen());
    this.keys = make("div", {});
    this.refused = make("p", { class: "refused", role: "alert", hidden: true });
    this.sending = new Sending();
    this.done = make("p", { class: "done", role: "status", hidden: true });
    this.node = make("section", { "aria-label": "Restore" }, make("h2", {}, "Restore"),
      make("p", { class: "meaning" }, "Adds the cooks of a backup to this logbook. What is here already stays."),
      make("label", { for: "backupfile" }, "The backup"), this.entry, this.keys, this.refused, this.sending.node, this.done);
  }

  chosen() {
    const [file] = this.entry.files;
    this.refuse(null);
    show(this.done, false);
    refill(this.keys, file?.name ?? "", () => (file ? [sureKey("Restore it", "Tap again: add its cooks", () => this.send(), { kind: "wide", name: file.name })] : []));
  }

  refuse(sentence) {
    text(this.refused, sentence ?? "");
    show(this.refused, Boolean(sentence));
  }

  async send() {
    const [file] = this.entry.files;
    this.refuse(null);
    if (file) await this.sending.run((progress) => book.restore(file, progress), (answer) => this.told(answer), (sentence) => this.refuse(sentence));
  }

  told({ words }) {
    text(this.done, words);
    show(this.done, true);
  }
}
