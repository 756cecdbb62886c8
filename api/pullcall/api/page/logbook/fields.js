// The entries of the notes: each knows its name in the log, and what of it is worth keeping.

import { make } from "../dom.js";

const OUNCE_G = 28.349523125; // the international avoirdupois ounce
let made = 0;

const lines = (raw, by) => {
  const parts = raw.split(by).map((one) => one.trim()).filter(Boolean);
  return parts.length ? parts : null;
};

/** "8.5" and "8,5" are numbers; whatever else a judge wrote is text. */
export function figure(raw) {
  const typed = raw.trim();
  if (typed === "") return null;
  return /^-?\d+([.,]\d+)?$/.test(typed) ? Number(typed.replace(",", ".")) : typed;
}

const KINDS = {
  text: { show: (value) => value ?? "", read: (raw) => raw.trim() || null },
  words: { show: (value) => (value ?? []).join(", "), read: (raw) => lines(raw, ",") },
  paths: { show: (value) => (value ?? []).join("\n"), read: (raw) => lines(raw, "\n") },
};

/** Grams in the log; ounces for who reads Fahrenheit. */
const weight = (unit) => {
  const by = unit.name === "F" ? OUNCE_G : 1;
  return {
    show: (grams) => (typeof grams === "number" ? String(Math.round((grams / by) * 10) / 10) : ""),
    read: (raw) => {
      const typed = figure(raw);
      return typeof typed === "number" ? Math.round(typed * by * 10) / 10 : typed;
    },
    trouble: (raw) => (typeof figure(raw) === "string" ? "Write the weight as a number." : null),
  };
};

export class Field {
  /** `control` is an input, a textarea or a select. */
  constructor({ steak = null, name, label, hint = null, control, kind }) {
    Object.assign(this, { steak, name, label, control, kind });
    this.key = keyOf(steak, name);
    made += 1;
    control.id = `field${made}`;
    this.node = make("div", { class: "field" }, make("label", { for: control.id }, hint ? `${label}, ${hint}` : label), control);
  }

  get raw() {
    return this.control.value;
  }

  set raw(value) {
    this.control.value = value;
  }

  take(value) {
    this.raw = this.kind.show(value);
  }

  /** What is kept: name of the note to its value. */
  read() {
    return { [this.key]: this.kind.read(this.raw) };
  }

  get trouble() {
    return this.kind.trouble?.(this.raw) ?? null;
  }
}

/** A note's own place: of a steak (null: of the cook) and by its name. */
export const keyOf = (steak, name) => JSON.stringify([steak, name]);
export const noteOf = (key, value) => {
  const [steak, name] = JSON.parse(key);
  return { steak, name, value };
};

const line = () => make("input", { type: "text", autocomplete: "off", maxlength: 2000 });
const area = (rows) => make("textarea", { rows, maxlength: 2000 });

export function cookFields(steaks) {
  const which = make("select", {}, make("option", { value: "" }, "as it was marked"),
    ...steaks.map((one) => make("option", { value: one }, one)));
  return [
    new Field({ name: "contest", label: "Contest", control: line(), kind: KINDS.text }),
    new Field({ name: "place", label: "Place", control: line(), kind: KINDS.text }),
    new Field({ name: "tags", label: "Tags", hint: "with commas between", control: line(), kind: KINDS.words }),
    new Field({ name: "handed_in", label: "Which steak was handed in", control: which, kind: KINDS.text }),
    new Field({ name: "notes", label: "Notes", control: area(4), kind: KINDS.text }),
    new Field({ name: "rest_board", label: "What it rested on", control: line(), kind: KINDS.text }),
    new Field({ name: "photos", label: "Photos", hint: "where they lie, one per line", control: area(2), kind: KINDS.paths }),
  ];
}

export function steakFields(steak, unit) {
  return [
    new Field({ steak, name: "weight_g", label: `Weight, ${unit.name === "F" ? "oz" : "g"}`,
      control: make("input", { type: "text", inputmode: "decimal", autocomplete: "off", maxlength: 12 }), kind: weight(unit) }),
    new Field({ steak, name: "notes", label: "Notes", control: area(2), kind: KINDS.text }),
    new Field({ steak, name: "photos", label: "Photos", hint: "one per line", control: area(1), kind: KINDS.paths }),
  ];
}
