// Entering a spot: opens at the temperature the forecast expects, so most spots need few taps.

import { button, make } from "./dom.js";
import { title } from "./acts.js";
import { stepper } from "./sheet.js";

const USUAL_C = 40; // where the entry opens when nothing is known
const KEYS = ["7", "8", "9", "4", "5", "6", "1", "2", "3", ".", "0", "Clear"];
const LONGEST = 5;

/** The panel for one steak. `take(celsius)` sends it. */
export function spotPanel(steak, unit, take) {
  const expected = steak.forecast?.core_c ?? steak.reading?.celsius ?? USUAL_C;
  let shown = Math.round(unit.show(expected));
  let typed = "";
  const entry = stepper("Core temperature", [1, 5], {
    read: () => shown,
    write: (value) => { shown = value; typed = ""; },
    say: (value) => `${typed || (Number.isInteger(value) ? value : value.toFixed(1))} °${unit.name}`,
  });
  const press = (key) => {
    typed = key === "Clear" ? "" : typedAfter(typed, key);
    shown = key === "Clear" ? Math.round(unit.show(expected)) : Number(typed) || 0;
    entry.refresh();
  };
  const keys = make("div", { class: "keypad" },
    ...KEYS.map((key) => button(key, () => press(key), { rest: 0 })));
  const send = button("Take this spot", () => take(unit.read(shown)), { kind: "go", rest: 1200 });
  const body = make("div", { class: "spot" }, entry.node, send, keys);
  return { title: `${title(steak.steak)}: spot`, body };
}

function typedAfter(typed, key) {
  if (typed.length >= LONGEST || (key === "." && typed.includes("."))) return typed;
  return typed === "" && key === "." ? "0." : typed + key;
}
