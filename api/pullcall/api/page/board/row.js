// One site of the list: its name, what is due there and in how long, its steaks, whether it is heard.

import { PHASES, title } from "../acts.js";
import { attr, make, refill, show, text } from "../dom.js";
import { alarmSince, dueOf, inCookTime, pullWords, signOf, signWords, simulatedWords, stateWords } from "./due.js";
import { clockOf } from "../lines.js";
import { isUnanswered } from "./sites.js";
import { span } from "../words.js";

const STALE_S = 6; // of a reading, as on a site's own page

export class Row {
  constructor(id) {
    const line = (kind, ...children) => make("span", { class: kind }, ...children);
    this.id = id;
    [this.name, this.label, this.digits, this.sign, this.spoken, this.alarm, this.since] =
      ["sitename", "duewords", "duein", "sign", "unseen", "alarmwords", "since"].map((kind) => line(kind));
    attr(this.sign, "aria-hidden", "true");
    this.alarmLine = line("alarmline", this.sign, this.spoken, this.alarm, " ", this.since);
    this.meats = line("meats");
    [this.state, this.window, this.simulated] = ["sitestate", "sitewindow", "sitemade"].map((kind) => line(kind));
    const around = line("around", this.state, " ", this.window, " ", this.simulated);
    this.link = make("a", { class: "sitelink", href: `sites/${encodeURIComponent(id)}/` },
      line("sitehead", this.name, " ", this.label), " ", this.digits, " ", this.alarmLine, " ", this.meats, " ", around);
    this.node = make("li", { class: "site" }, this.link);
    this.steaks = [];
  }

  /** `isCut`: the board does not answer, so nothing is news. */
  paint(told, unit, t, isCut) {
    const row = inCookTime(told, t);
    const due = dueOf(row, t);
    const isUnheard = row.state !== "here";
    attr(this.node, "data-look", due.look);
    attr(this.node, "data-alarm", row.alarm === null ? null : isUnanswered(row) ? `p${row.alarm.priority}` : "answered");
    attr(this.node, "data-unheard", isUnheard || isCut);
    text(this.name, row.name || row.site);
    line(this.label, due.label);
    line(this.digits, due.digits);
    attr(this.digits, "data-long", due.digits.length > 5);
    this.paintAlarm(row.alarm, t);
    this.laySteaks(row.steaks);
    row.steaks.forEach((steak, i) => this.steaks[i].paint(steak, unit, t, isUnheard || isCut));
    line(this.state, stateWords(row, t));
    line(this.window, row.window && t !== null ? clockOf([row.window.opens_t, row.window.closes_t], t) : "");
    line(this.simulated, simulatedWords(row));
  }

  paintAlarm(alarm, t) {
    show(this.alarmLine, alarm !== null);
    if (alarm === null) return;
    text(this.sign, signOf(alarm));
    text(this.spoken, signWords(alarm));
    text(this.alarm, alarm.text.replaceAll(" °", "\u00a0°"));
    text(this.since, alarmSince(alarm, t));
  }

  laySteaks(steaks) {
    refill(this.meats, steaks.map((one) => one.steak).join("\n"), () => {
      this.steaks = steaks.map((one, i) => new Meat(one.steak, i));
      return this.steaks.map((one) => one.node);
    });
  }
}

/** One steak of a site, small. */
class Meat {
  constructor(name, index) {
    [this.core, this.words] = ["meatcore", "meatwords"].map((kind) => make("span", { class: kind }));
    this.node = make("span", { class: `meat lane${index}` },
      make("span", { class: "meattag" }, title(name)), " ", this.core, " ", this.words);
  }

  paint(steak, unit, t, isOld) {
    const age = isOld || steak.phase !== "on" || t === null || steak.reading_t === null ? 0 : t - steak.reading_t;
    text(this.core, steak.celsius === null ? "no reading" : unit.say(steak.celsius));
    attr(this.core, "data-none", steak.celsius === null);
    text(this.words, age > STALE_S ? `probe silent ${span(age)}` : phaseWords(steak, unit, t));
  }
}

/** "pull 129 °F in 2:10", or where that is not known "cooking, pull 129 °F"; "resting". */
function phaseWords(steak, unit, t) {
  const { phase, pull_c: pull } = steak;
  const words = PHASES[phase] ?? phase;
  if ((phase !== "on" && phase !== "waiting") || typeof pull !== "number") return words;
  const when = phase === "on" ? pullWords(steak, t) : "";
  return when ? `pull ${unit.sayDegrees(pull)}${when}` : `${words}, pull ${unit.sayDegrees(pull)}`;
}

function line(node, words) {
  text(node, words);
  show(node, words !== "");
}
