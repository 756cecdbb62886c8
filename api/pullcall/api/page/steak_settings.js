// When one steak comes off: by a pull temperature or by its target, and how much later by choice.

import { attr, button, make, text } from "./dom.js";
import { aimWords, title } from "./acts.js";
import { lateStepper } from "./sheet.js";

const CLIMB_C = 3; // a target that was never set opens this far above the pull

export function steakPanel(steak, unit, acts) {
  const who = title(steak.steak);
  const now = make("p", { class: "steplabel", role: "status" });
  const temperature = (label, key, celsius, isSet = true) => lateStepper(`${who}: ${label}`, [1], {
    value: Math.round(unit.show(celsius) * 10) / 10,
    say: (value, touched) => (isSet || touched ? `${value.toFixed(1)} °${unit.name}` : "none"),
    send: (value) => acts.set(steak.steak, { [key]: unit.read(value) }, `${label} ${value.toFixed(1)} °${unit.name}`),
  });
  const by = (value, label, words) => button(label, () => acts.set(steak.steak, { pull_by: value }, words));
  const ways = {
    temperature: by("temperature", "By pull temperature", "pulled by its temperature"),
    target: by("target", "By target", "pulled for its target"),
  };
  const step = unit.name === "F" ? 1 : 0.5;
  const shift = lateStepper(`${who}: pull later by choice`, [step], {
    value: Math.round(unit.difference(steak.shift_c) / step) * step,
    say: (value) => (value === 0 ? "as set" : unit.sayDifference(value)),
    send: (value) => acts.set(steak.steak, { shift_c: unit.readDifference(value) }, value === 0 ? "pulled as set" : `pull ${unit.sayDifference(value)} ${value < 0 ? "earlier" : "later"}`),
  });
  const body = make("div", { class: "form" }, now,
    make("div", { class: "pair" }, ...Object.values(ways)),
    temperature("pull at", "pull_c", steak.pull_c),
    temperature("target", "target_c", steak.target_c ?? steak.pull_c + CLIMB_C, steak.target_c !== null),
    shift,
    button("Look note", () => acts.openLook(steak.steak)));
  const paint = (board, unit_) => {
    const fresh = board.steak(steak.steak);
    if (!fresh) return;
    text(now, aimWords(fresh, unit_));
    for (const [value, key] of Object.entries(ways)) {
      attr(key, "aria-pressed", String(fresh.pull_by === value));
      attr(key, "disabled", !board.writable || (value === "target" && fresh.target_c === null));
    }
  };
  return { title: `${who}: settings`, body, paint };
}
