// Which steak to turn in: what the numbers say, beside the cook's own notes. The choice is the cook's.

import { attr, button, make, refill, show, text } from "./dom.js";
import { countdown, minutes } from "./clock.js";
import { sureKey } from "./sheet.js";
import { restIn, title } from "./acts.js";

const SAME_C = 0.15; // below what a probe tells apart

export class Choose {
  constructor(acts) {
    this.acts = acts;
    this.says = make("p", { class: "says", role: "status" });
    this.table = make("table", {});
    this.notes = make("div", { class: "plankeys" });
    this.next = sureKey("Start a new cook", "Tap again: this cook ends", () => acts.newCook(), { kind: "go" });
    this.logbook = button("Logbook", () => acts.openLogbook());
    this.leads = make("div", { class: "plankeys leads" }, this.logbook, this.next);
    this.node = make("div", { class: "choose" },
      make("div", { class: "scroll", tabindex: 0, role: "group", "aria-label": "How they compare" }, this.says, this.table, this.notes),
      this.leads);
  }

  paint(board, unit, t) {
    const off = board.steaks.filter((one) => one.off_t !== null);
    text(this.says, board.isBlind ? "Off the grate." : verdict(off, unit));
    show(this.says, off.length > 0);
    show(this.leads, board.acting && !board.isReplay && board.steaks.some((one) => one.phase === "handed_in"));
    show(this.next, board.ruling);
    attr(this.next, "data-early", board.steaks.some((one) => ["on", "resting", "boxed"].includes(one.phase)));
    const rows = t === null ? [] : rowsOf(off, board, unit, t);
    refill(this.table, JSON.stringify([off.map((one) => one.steak), rows]), () => [
      make("tr", {}, make("th", {}), ...off.map((one) => make("th", { class: `lane${board.laneOf(one.steak)}` }, title(one.steak)))),
      ...rows.map(([name, ...values]) => make("tr", {}, make("th", {}, name), ...values.map((value) => make("td", {}, value)))),
    ]);
    show(this.notes, board.ruling);
    refill(this.notes, JSON.stringify(off.map((one) => one.steak)), () =>
      off.map((one) => button(`Note ${one.steak}`, () => this.acts.openLook(one.steak))));
  }
}

function rowsOf(off, board, unit, t) {
  const row = (name, tell) => [name, ...off.map(tell)];
  const rows = [
    row("Peak", (one) => peakWords(one, unit, board.isBlind)),
    row("Target", (one) => (one.target_c === null ? "none" : unit.say(one.target_c))),
    row("Rested", (one) => restedWords(one, board, t)),
    row("Off for", (one) => minutes(Math.max(0, (handedAt(board, one) ?? t) - one.off_t))),
    row("Look", (one) => one.look || "no note"),
  ];
  return board.isBlind ? rows.filter(([name]) => name !== "Target" && name !== "Look") : rows;
}

/** "1:20, 5:40 more": how long it has rested, and while it does, for how long still. */
function restedWords(steak, board, t) {
  const rested = minutes(Math.max(0, (markedAt(board, steak, "boxed") ?? t) - steak.off_t));
  const left = restIn(steak, t);
  if (left === null) return rested;
  return left > 0 ? `${rested}, ${countdown(left)} more` : `${rested}, done`;
}

function markedAt({ marks }, { steak }, kind) {
  const found = marks.findLast((one) => one.mark === kind && (one.steak ?? steak) === steak);
  return found ? found.at ?? found.t : null;
}

const handedAt = (board, steak) => (steak.phase === "handed_in" ? markedAt(board, steak, "handed_in") : null);

/** The highest core temperature: to come as forecast, or as it was. */
function peakOf({ forecast, curve, off_t }) {
  if (forecast?.peak_c) return { celsius: forecast.peak_c.p50, isToCome: (forecast.peak_in_s ?? 0) > 0 };
  const after = curve.filter(([at]) => at >= off_t).map(([, celsius]) => celsius);
  return after.length ? { celsius: Math.max(...after), isToCome: false } : null;
}

function peakWords(steak, unit, isBlind) {
  const peak = peakOf(steak);
  if (peak === null) return "–";
  return `${unit.say(peak.celsius)} ${peak.isToCome ? `in ${minutes(steak.forecast.peak_in_s)}` : isBlind ? "so far" : "reached"}`;
}

/** "Left is nearer its target: 134.6 °F for 135.0"; no more than the numbers say. */
function verdict(off, unit) {
  const told = off.map((one) => ({ one, peak: peakOf(one)?.celsius })).filter(({ one, peak }) => peak !== undefined && one.target_c !== null);
  if (told.length < 2) return told.length ? `${title(told[0].one.steak)} peaks at ${pair(told[0], unit)}.` : "No target to compare with.";
  const [near, far] = told.sort((a, b) => missedBy(a) - missedBy(b));
  const words = `${near.one.steak} ${pair(near, unit)}, ${far.one.steak} ${figures(far, unit)}`;
  if (missedBy(far) - missedBy(near) < SAME_C) return `By the numbers both are as near: ${words}.`;
  return `${title(near.one.steak)} is nearer its target: ${pair(near, unit)}; ${far.one.steak} ${figures(far, unit)}.`;
}

const missedBy = ({ one, peak }) => Math.abs(peak - one.target_c);
const pair = ({ one, peak }, unit) => `${unit.say(peak).replace(" ", "\u00a0")} for ${unit.number(one.target_c, 1)}`;
const figures = ({ one, peak }, unit) => `${unit.number(peak, 1)} for ${unit.number(one.target_c, 1)}`; // the unit stands before

export function choosePanel(acts) {
  const choose = new Choose(acts);
  return { title: "Choose", body: choose.node, paint: (...knowledge) => choose.paint(...knowledge) };
}

/** One line on how a steak looks. */
export function lookPanel(steak, acts) {
  const entry = make("input", { type: "text", maxlength: 200, value: steak.look ?? "", "aria-label": "How it looks", autocomplete: "off" });
  const save = () => acts.setLook(steak.steak, entry.value.trim());
  const body = make("div", { class: "form" },
    make("p", { class: "steplabel" }, "How it looks: crust, fat, shape"), entry,
    button("Keep this note", save, { kind: "go" }));
  return { title: `${title(steak.steak)}: look`, body };
}
