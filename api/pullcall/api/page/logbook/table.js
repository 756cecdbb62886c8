// What a table's columns mean: asked, where its own names do not say it, and never guessed.

import { make } from "../dom.js";
import { title } from "../acts.js";

const STEAKS = ["left", "right"];
const ROLES = [["time", "Time"], ["left", "Left's core"], ["right", "Right's core"], ["grate", "Grate"]];
const MARKS = [["on", "on"], ["flip", "flip"], ["off", "off"]];
const SEPARATES = /,/; // between the columns of the request

export class Table {
  constructor(columns) {
    this.columns = columns;
    this.choices = Object.fromEntries(ROLES.map(([role]) => [role, choice(role, columns)]));
    this.units = ["F", "C"].map((unit) => make("input", { type: "radio", name: "tableunit", value: unit, id: `unit${unit}` }));
    this.marks = STEAKS.flatMap((steak) => MARKS.map(([mark]) => ({ steak, mark, entry: make("input", { type: "text", id: `${mark}-${steak}`, autocomplete: "off", maxlength: 40 }) })));
    this.node = make("div", { class: "tableform" },
      make("p", { class: "meaning" }, `Its columns: ${columns.join(" · ") || "none"}.`),
      ...ROLES.map(([role, label]) => make("div", { class: "field" }, make("label", { for: `column-${role}` }, `${label}: which column`), this.choices[role])),
      make("fieldset", {}, make("legend", {}, "Its temperatures are in"), make("div", { class: "units" },
        ...this.units.map((one) => make("label", {}, one, ` °${one.value}`)))),
      make("fieldset", {}, make("legend", {}, "Marks that it does not have"),
        make("p", { class: "meaning" }, "When a steak went on, was flipped and came off, as the table writes its time. Leave out what you do not know."),
        ...STEAKS.map((steak, i) => make("div", { class: `markrow lane${i}` }, make("span", { class: "name" }, title(steak)),
          ...this.marks.filter((one) => one.steak === steak).map(({ mark, entry }) => make("label", { for: entry.id }, mark, entry))))));
  }

  column(role) {
    return this.choices[role].value;
  }

  /** What is still to be said, as a sentence; null when it can be sent. */
  get trouble() {
    const named = ROLES.map(([role]) => this.column(role)).filter(Boolean);
    if (!this.column("time")) return "Choose the column of the time.";
    if (!STEAKS.some((steak) => this.column(steak))) return "Choose the column of at least one steak's core.";
    const twice = named.find((one, i) => named.indexOf(one) !== i);
    if (twice) return `The column ${twice} is chosen twice: choose another.`;
    if (named.some((one) => SEPARATES.test(one))) return "A column's name has a comma in it: rename it in the file, then choose the file again.";
    if (!this.units.some((one) => one.checked)) return "Say whether its temperatures are °F or °C.";
    const lost = this.marks.find(({ steak, entry }) => entry.value.trim() && !this.column(steak));
    return lost ? `${title(lost.steak)} has a mark and no column: choose one, or empty the mark.` : null;
  }

  /** The pairs of the request's query. */
  query() {
    const columns = ROLES.map(([role]) => [role, this.column(role)]).filter(([, column]) => column);
    return [
      ["columns", columns.map((pair) => pair.join(":")).join(",")],
      ["unit", this.units.find((one) => one.checked).value],
      ...this.marks.filter(({ entry }) => entry.value.trim()).map(({ steak, mark, entry }) => [mark, `${steak}:${entry.value.trim()}`]),
    ];
  }
}

/** The columns to choose from; one that has the very name is chosen. */
function choice(role, columns) {
  const node = make("select", { id: `column-${role}` }, make("option", { value: "" }, role === "time" ? "choose" : "none"),
    ...columns.map((one) => make("option", { value: one }, one)));
  node.value = columns.find((one) => one.toLowerCase() === role) ?? "";
  return node;
}
