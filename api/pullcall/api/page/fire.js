// The fire: what its key says, and its floor and ceiling.

import { attr, button, make, text } from "./dom.js";
import { lateStepper } from "./sheet.js";
import { span } from "./words.js";

const STEADY_C_PER_MIN = 0.5;
const STATES = { heating: "heating", ready: "ready", low: "low", high: "high", stale: "old" };

/** [temperature with its trend, what follows from it], for a key. */
export function fireWords({ fire, cook }, unit) {
  if (!fire) return ["Fire", "tap in the grate"];
  const trend = fire.trend_c_per_min;
  const arrow = trend === null ? "" : trend > STEADY_C_PER_MIN ? " ↑" : trend < -STEADY_C_PER_MIN ? " ↓" : " →";
  return [`${unit.say(fire.celsius, 0)}${arrow}`, outlook(fire, cook, unit)];
}

function outlook(fire, cook, unit) {
  const floor = unit.number(cook?.fire?.floor_c ?? 260);
  if (fire.state === "stale") return `${span(fire.age_s)} old: check`;
  if (fire.floor_in_s > 0) return `below ${floor} in about ${span(Math.max(60, fire.floor_in_s))}`;
  if (fire.state === "low") return `below ${floor}`;
  const rise = fire.trend_c_per_min;
  return `${STATES[fire.state] ?? fire.state}${rise === null ? "" : `, ${unit.sayRise(rise)}`}`;
}

export function firePanel(board, unit, acts) {
  const now = make("p", { class: "steplabel" });
  const check = button("Check the grate", () => acts.openSpot(null), { kind: "go" });
  const edge = (label, name, celsius) => lateStepper(label, [5, 25], {
    value: Math.round(unit.show(celsius)),
    say: (value) => `${value} °${unit.name}`,
    send: (value) => acts.setCook(name, unit.read(value), `${label} ${value} °${unit.name}`),
  });
  const { floor_c: floor, ceiling_c: ceiling } = board.cook.fire;
  const edges = board.ruling ? [edge("Fire's floor", "fire_floor_c", floor), edge("Fire's ceiling", "fire_ceiling_c", ceiling)] : [];
  const body = make("div", { class: "form" }, now, check, ...edges);
  const paint = (board_, unit_) => {
    const words = fireWords(board_, unit_);
    text(now, `Grate: ${words.join(", ")}.`);
    attr(check, "disabled", !board_.writable);
  };
  return { title: "Fire", body, paint };
}
