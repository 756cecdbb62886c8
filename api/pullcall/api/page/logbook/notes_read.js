// The notes of a cook for who may read and not write.

import { make } from "../dom.js";
import { cookFields, steakFields } from "./fields.js";
import { title } from "../acts.js";

const PREFIX = "score.";

export function notesRead({ row, notes }, unit) {
  const names = row.steaks.map((one) => one.steak);
  const said = [...cookFields(names), ...names.flatMap((name) => steakFields(name, unit))].flatMap((field) => {
    const note = notes.find((one) => one.steak === field.steak && one.name === field.name);
    return note ? [[field.steak ? `${title(field.steak)}: ${field.label.toLowerCase()}` : field.label, field.kind.show(note.value)]] : [];
  });
  const scores = notes.filter((one) => one.steak === null && one.name.startsWith(PREFIX)).map((one) => [one.name.slice(PREFIX.length), String(one.value)]);
  const all = [...said, ...scores];
  return [
    make("h2", {}, "Notes"),
    ...(all.length ? [make("dl", { class: "said" }, ...all.flatMap(([label, value]) => [make("dt", {}, label), make("dd", {}, value)]))] : [make("p", {}, "Nothing is written yet.")]),
    make("p", { class: "meaning" }, "A cook's phone can write here."),
  ];
}
