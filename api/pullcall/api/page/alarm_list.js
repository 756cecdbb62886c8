// Every live alarm with its state, and the keys that answer it or put it aside.

import { attr, button, make, refill } from "./dom.js";
import { isAnswerable, isShelvable, joined, kindOf, liveAlarms, stateOf } from "./alarms.js";
import { SHELF_S, SHELVE } from "./bar.js";

export function alarmsPanel(acts) {
  const list = make("div", { class: "list" });
  const paint = (board) => {
    const alarms = liveAlarms(board.calls);
    const key = JSON.stringify([board.writable, alarms.map((one) => [one.id, one.state, one.text])]);
    refill(list, key, () => (alarms.length
      ? alarms.map((one) => row(one, board, acts))
      : [make("p", {}, "No alarm is open.")]));
  };
  return { title: "Alarms", body: list, paint };
}

function row(alarm, board, acts) {
  const keys = [];
  if (isAnswerable(alarm)) {
    if (isShelvable(alarm)) keys.push(button(SHELVE, () => acts.shelve([alarm], SHELF_S), { name: `${SHELVE}: ${alarm.text}` }));
    keys.push(button("Got it", () => acts.answer([alarm]), { kind: "strong", name: `Got it: ${alarm.text}` }));
  }
  for (const key of keys) attr(key, "disabled", !board.writable);
  return make("div", { class: "row" },
    make("p", {}, make("b", {}, joined([alarm])), make("br"), `${kindOf(alarm)}, ${stateOf(alarm)}`),
    make("div", { class: "choices" }, ...keys));
}
