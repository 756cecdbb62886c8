// One cook: how it went, its report and replay, what people wrote of it, and its end.

import { button, make, refill, show, text } from "../dom.js";
import { book, files } from "./book.js";
import { handInWords, nameOf, dayOf, timeOf, whereOf } from "./cook_words.js";
import { LIST } from "./route.js";
import { NotesForm } from "./notes_form.js";
import { factsTable, remarks, troubleWords } from "./facts.js";
import { notesRead } from "./notes_read.js";
import { sureKey } from "../sheet.js";

const AGAIN_MS = 2000;
const WORKING = "Being worked out…";
const NOT_YET = "How it went is worked out when the cook is over.";

export function cookView(page, [id]) {
  const cook = new Cook(page, id ?? "");
  cook.load();
  return { title: "One cook", node: cook.node, back: { href: LIST, words: "← Logbook" }, leave: () => cook.leave() };
}

class Cook {
  constructor(page, id) {
    Object.assign(this, { page, id, timer: 0, hasLeft: false, form: null });
    this.head = make("div", { class: "cookhead" });
    this.refused = make("div", { hidden: true });
    this.status = make("p", { class: "working", role: "status" }, "Looking…");
    this.facts = make("div", {});
    this.keys = make("div", {});
    this.notes = make("div", {});
    this.end = make("div", {});
    this.node = make("div", { class: "cookview" }, this.head, this.refused,
      make("section", { "aria-label": "How it went" }, this.keys, this.status, this.facts),
      make("section", { "aria-label": "Notes" }, this.notes), this.end);
  }

  leave() {
    this.hasLeft = true;
    clearTimeout(this.timer);
  }

  async load() {
    clearTimeout(this.timer);
    try {
      this.paint(await book.cook(this.id));
    } catch (refusal) {
      this.refuse(refusal);
    }
  }

  refuse(refusal) {
    text(this.status, "");
    show(this.refused, true);
    refill(this.refused, refusal.message, () => [
      make("p", { class: "refused", role: "alert" }, refusal.message), button("Try again", () => this.load())]);
  }

  paint(answer) {
    if (this.hasLeft) return;
    const { row, facts, working, trouble } = answer;
    show(this.refused, false);
    refill(this.head, JSON.stringify(row), () => headOf(row));
    refill(this.keys, JSON.stringify([row.over, working, trouble]), () => (!row.over || working ? [] : keysOf(this.id, this.page.unit, !trouble)));
    const words = working ? WORKING : troubleWords(trouble) ?? (facts ? "" : NOT_YET);
    text(this.status, words);
    show(this.status, Boolean(words));
    refill(this.facts, JSON.stringify(facts), () => (facts ? [factsTable(facts, this.page.unit), ...remarks(facts, this.page.unit)] : []));
    this.paintNotes(answer);
    refill(this.end, String(row.running), () => (this.page.visitor.may("rule") ? [this.endOf(row)] : []));
    if (working) this.timer = setTimeout(() => this.load(), AGAIN_MS);
  }

  /** Once: what somebody types is never drawn over. */
  async paintNotes(answer) {
    if (!this.page.visitor.may("rule")) {
      refill(this.notes, JSON.stringify(answer.notes), () => notesRead(answer, this.page.unit));
    } else if (this.form === null) {
      this.form = new NotesForm(this.page, answer, (again) => this.paint(again));
      this.notes.replaceChildren(this.form.node);
      this.form.offer(await categories(this.page));
    }
  }

  endOf(row) {
    const words = row.running
      ? "This cook is running: start a new one first, then it can be deleted."
      : "Deleting takes the whole cook away: its readings, marks, calls, notes and scores, and what it taught. A backup made before still has it.";
    const keys = row.running ? [] : [sureKey("Delete for good", "Tap again: all of it goes", () => this.remove(row), { kind: "wide" })];
    return make("section", { class: "end", "aria-label": "Delete" }, make("h2", {}, "Delete"), make("p", { class: "meaning" }, words), ...keys);
  }

  async remove(row) {
    try {
      await book.remove(this.id);
      this.form?.forget();
      this.page.chosen.delete(this.id);
      this.page.say(`Deleted: ${nameOf(row)}`);
      window.location.hash = LIST;
    } catch (refusal) {
      this.page.say(refusal.message);
    }
  }
}

function headOf(row) {
  const came = handInWords(row);
  return [
    make("p", { class: "day" }, `${dayOf(row.started)} ${timeOf(row.started)}`),
    ...(whereOf(row) ? [make("p", { class: "where" }, whereOf(row))] : []),
    ...(came ? [make("p", { class: "handin" }, make("b", { "aria-hidden": "true" }, came.sign), ` ${came.words}`)] : []),
    ...(row.simulated ? [make("p", {}, "A simulated cook.")] : []),
  ];
}

/** What a cook that is over can be seen again by; without facts there is no report. */
function keysOf(id, unit, hasReport) {
  const report = files.report(id, unit.name);
  const reports = [
    make("a", { class: "key", href: report, target: "_blank", rel: "noopener" }, "Report"),
    make("a", { class: "key", href: report, download: `pullcall-${id}.html` }, "Save report"),
  ];
  return [make("nav", { class: "keys3", "aria-label": "See it again" },
    ...(hasReport ? reports : []),
    make("a", { class: "key", href: `./#replay=${encodeURIComponent(id)}&from=logbook` }, "Replay"))];
}

/** The categories that earlier cooks were scored in, to be offered. */
async function categories(page) {
  const rows = page.rows ?? (await book.cooks().catch(() => []));
  return [...new Set(rows.flatMap((row) => Object.keys(row.scores ?? {})))];
}
