// What is heard over the air, and which steak each channel belongs to.

import { attr, button, make, refill } from "./dom.js";
import { title } from "./acts.js";

export function probesPanel(acts) {
  const adapter = make("p", { class: "steplabel" });
  const list = make("div", { class: "list" });
  const paint = (board, unit) => {
    adapter.textContent = adapterOf(board);
    const key = JSON.stringify([board.probes, unit.name, board.ruling, board.steaks.map((one) => one.steak)]);
    refill(list, key, () => board.probes.length
      ? board.probes.map((probe) => row(probe, board, unit, acts))
      : [make("p", {}, "No probe heard yet: switch one on and hold it near the site.")]);
  };
  return { title: "Probes", body: make("div", {}, adapter, list), paint };
}

function adapterOf({ adapter }) {
  if (!adapter) return "No Bluetooth adapter is used.";
  return [`Bluetooth ${adapter.name ?? ""}: ${adapter.state}.`, adapter.note].filter(Boolean).join(" ");
}

function row(probe, board, unit, acts) {
  const figures = [
    unit.say(probe.celsius),
    probe.state,
    probe.age_s === null || probe.age_s === undefined ? null : `${Math.round(probe.age_s)} s old`,
    probe.battery_percent === null || probe.battery_percent === undefined ? null : `battery ${probe.battery_percent} %`,
    probe.rssi_dbm === null || probe.rssi_dbm === undefined ? null : `signal ${probe.rssi_dbm} dBm`,
    probe.note || null,
  ].filter(Boolean).join(" · ");
  const choices = !board.ruling ? [] : board.steaks.map((steak) => {
    const node = button(title(steak.steak), () => acts.assign(steak.steak, probe.channel), {
      name: `${probe.name ?? probe.channel} belongs to ${steak.steak}`,
    });
    attr(node, "aria-pressed", String(probe.steak === steak.steak));
    return node;
  });
  const grate = button("Grate", () => acts.setCook("grate_channel", probe.is_grate ? null : probe.channel,
    probe.is_grate ? "No probe at the grate" : `Grate: ${probe.name ?? probe.channel}`), {
    name: `${probe.name ?? probe.channel} is at the grate`,
  });
  attr(grate, "aria-pressed", String(Boolean(probe.is_grate)));
  if (board.ruling) choices.push(grate);
  return make("div", { class: "row" },
    make("p", {}, make("b", {}, probe.name ?? probe.device ?? probe.channel), make("span", {}, ` ${probe.channel}`), make("br"), figures),
    make("div", { class: "choices" }, ...choices));
}
