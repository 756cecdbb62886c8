// The notes of a cook, to be written: only what changed is sent, and nothing typed is ever lost.

import { attr, button, make, show, text } from "../dom.js";
import { cookFields, keyOf, noteOf, steakFields } from "./fields.js";
import { Draft } from "./drafts.js";
import { Scores } from "./scores.js";
import { book } from "./book.js";
import { title } from "../acts.js";

const same = (one, other) => JSON.stringify(one ?? null) === JSON.stringify(other ?? null);

export class NotesForm {
  /** `saved(answer)` hears the cook as it is after a save. */
  constructor(page, { row, notes }, saved) {
    Object.assign(this, { page, saved, cook: row.cook, isSaving: false });
    this.draft = new Draft(row.cook);
    const names = row.steaks.map((one) => one.steak);
    this.scores = new Scores(() => this.changed());
    const ofCook = cookFields(names);
    const ofSteaks = names.map((name) => [name, steakFields(name, page.unit)]);
    this.fields = [...ofCook, ...ofSteaks.flatMap(([, fields]) => fields), this.scores];
    this.node = make("form", { class: "notesform", autocomplete: "off" },
      make("h2", {}, "Notes"), ...ofCook.map((one) => one.node), this.scores.node,
      ...ofSteaks.map(([name, fields], i) => make("fieldset", { class: `lane${i % 2}` },
        make("legend", {}, make("span", { class: "name" }, title(name))), ...fields.map((one) => one.node))),
      this.makeBar());
    this.node.addEventListener("input", () => this.changed());
    this.node.addEventListener("submit", (event) => { event.preventDefault(); this.save(); });
    this.take(notes);
    this.takeUp();
  }

  makeBar() {
    this.refused = make("p", { class: "refused", role: "alert", hidden: true });
    this.words = make("p", { role: "status" });
    this.key = button("Save", () => this.save(), { kind: "go" });
    this.bar = make("div", { class: "bar", hidden: true }, this.refused, this.words,
      button("Discard", () => this.discard()), this.key);
    return this.bar;
  }

  /** The notes as they stand in the log; `known` is what the form would read of them. */
  take(notes) {
    for (const field of this.fields) {
      if (field === this.scores) field.take(notes);
      else field.take(notes.find((one) => one.steak === field.steak && one.name === field.name)?.value ?? null);
    }
    this.stood = Object.fromEntries(this.fields.map((one) => [one.key, one.raw]));
    this.known = this.read();
    this.notes = notes;
  }

  /** What was typed before and never saved. */
  takeUp() {
    const typed = this.draft.read();
    for (const field of this.fields) if (field.key in typed) field.raw = typed[field.key];
    this.changed();
  }

  offer(categories) {
    this.scores.offer(categories);
  }

  read() {
    return Object.assign({}, ...this.fields.map((one) => one.read()));
  }

  /** The notes that differ from the log: a value, or null for what was taken out. */
  changes() {
    const now = this.read();
    const keys = [...new Set([...Object.keys(this.known), ...Object.keys(now)])];
    return keys.filter((key) => !same(this.known[key], now[key])).map((key) => noteOf(key, now[key] ?? null));
  }

  changed() {
    this.draft.keep(Object.fromEntries(this.fields.filter((one) => one.raw !== this.stood[one.key]).map((one) => [one.key, one.raw])));
    this.scores.paintOffers();
    const count = this.changes().length;
    show(this.bar, count > 0 || this.isSaving);
    if (!this.isSaving) text(this.words, count === 1 ? "1 change, not saved yet" : `${count} changes, not saved yet`);
  }

  say(sentence) {
    text(this.refused, sentence ?? "");
    show(this.refused, Boolean(sentence));
  }

  async save() {
    const trouble = this.fields.map((one) => one.trouble).find(Boolean);
    const sent = this.changes();
    if (trouble || this.isSaving || !sent.length) return this.say(trouble);
    this.busy(true);
    try {
      const answer = await book.write(this.cook, sent);
      this.say(null);
      this.settle(answer.notes, sent);
      this.page.say("Saved");
      this.saved(answer);
    } catch (refusal) {
      this.say(`${refusal.message} What you typed is kept here${refusal.isAnswer ? "." : ": save it when the link is back."}`);
    }
    return this.busy(false);
  }

  busy(isSaving) {
    this.isSaving = isSaving;
    attr(this.key, "disabled", isSaving);
    if (isSaving) text(this.words, "Saving…");
    this.changed();
  }

  /** What was sent is known now; what was typed meanwhile stays a change. */
  settle(notes, sent) {
    if (same(this.changes(), sent)) this.take(notes);
    else for (const { steak, name, value } of sent) this.known[keyOf(steak, name)] = value;
    this.notes = notes;
  }

  discard() {
    this.say(null);
    this.take(this.notes);
    this.changed();
    this.page.say("Back to what was saved");
    this.node.querySelector("input").focus({ preventScroll: true });
  }

  forget() {
    this.draft.keep({});
  }
}
