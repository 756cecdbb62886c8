// Entering a spot: opens at the temperature the forecast expects, so most spots need few taps.

import { button, make, show, text } from "./dom.js";
import { title } from "./acts.js";
import { stepper } from "./sheet.js";

const USUAL_C = 40; // where the entry opens when nothing is known
const KEYS = ["7", "8", "9", "4", "5", "6", "1", "2", "3", ".", "0", "Clear"];
const LONGEST = 5;
/** Beyond these it is a slip of the thumb. */
const STEAK = { label: "Core temperature", what: "a core", limits: [-30, 105], steps: [1, 5] };
const GRATE = { label: "Grate temperature", what: "a grate", limits: [-30, 900], steps: [10, 50], usual_c: 260 };

/** The panel for one steak, or for the grate (`steak` null). `take(celsius)` sends it; its answer is a refusal's sentence or null. */
export function spotPanel(steak, fire, unit, take) {
  const place = steak === null ? GRATE : STEAK;
  const expected = steak === null
    ? fire?.celsius ?? GRATE.usual_c
    : steak.forecast?.core_c ?? steak.reading?.celsius ?? USUAL_C;
  let shown = Math.round(unit.show(expected));
  let typed = "";
  const entry = stepper(place.label, place.steps, {
    read: () => shown,
    write: (value) => { shown = value; typed = ""; refuse(null); },
    say: (value) => `${typed || (Number.isInteger(value) ? value : value.toFixed(1))} °${unit.name}`,
  });
  const press = (key) => {
    refuse(null);
    typed = key === "Clear" ? "" : typedAfter(typed, key);
    shown = key === "Clear" ? Math.round(unit.show(expected)) : Number(typed) || 0;
    entry.refresh();
  };
  const keys = make("div", { class: "keypad" },
    ...KEYS.map((key) => button(key, () => press(key), { rest: 0 })));
  const refused = make("p", { class: "refused", role: "alert", hidden: true });
  const refuse = (sentence) => {
    text(refused, sentence ?? "");
    show(refused, sentence !== null);
  };
  let sending = false;
  const submit = async () => {
    if (sending) return;
    sending = true;
    refuse(beyond(unit.read(shown), place, unit) ?? (await take(unit.read(shown))));
    sending = false;
  };
  const send = button("Take this spot", submit, { kind: "go", rest: 0 });
  const body = make("div", { class: "spot" }, entry.node, refused, send, keys);
  return { title: `${steak === null ? "Grate" : title(steak.steak)}: spot`, body, kind: "spotsheet" };
}

/** What to say of a temperature that the place cannot have, in the shown unit; null within the limits. */
function beyond(celsius, { what, limits: [low, high] }, unit) {
  if (celsius >= low - 1e-9 && celsius <= high + 1e-9) return null;
  return `Type ${what} temperature from ${unit.number(low)} to ${unit.say(high, 0)}.`;
}

function typedAfter(typed, key) {
  if (typed.length >= LONGEST || (key === "." && typed.includes("."))) return typed;
  return typed === "" && key === "." ? "0." : typed + key;
}
