// Inviting a phone: as what, for how long, and what it is shown.

import { attr, button, make, show, text } from "./dom.js";
import { oneOf } from "./sheet.js";

const ROLES = [["cook", "Cook"], ["hand", "Hand"], ["watcher", "Watcher"]];
const MEANING = {
  cook: "Sees, marks, answers, and changes settings. One phone, within 10 minutes.",
  hand: "Sees, marks and answers calls; changes no setting. One phone, within 10 minutes.",
  watcher: "Only looks on, with any number of phones until the link ends.",
};
const HOUR_S = 3600;
const LASTS = [[4 * HOUR_S, "4 h"], [12 * HOUR_S, "12 h"], [48 * HOUR_S, "2 days"]];
const DELAYS = [[0, "At once"], [60, "1 min"], [120, "2 min"], [300, "5 min"]];
const TARGETS = [[false, "Shown"], [true, "Hidden"]];

/** `acts.invite(wanted)` makes it and shows it; its answer is a refusal's sentence or null. */
export function invitePanel(acts) {
  const wanted = { role: "hand", lasts_s: LASTS[1][0], delay_s: 0, hides_targets: false };
  const refused = make("p", { class: "refused", role: "alert", hidden: true });
  const send = async () => {
    attr(go, "disabled", true);
    const sentence = await acts.invite(bodyOf(wanted, label.value.trim()));
    text(refused, sentence ?? "");
    show(refused, sentence !== null);
    attr(go, "disabled", false);
  };
  const go = button("Make the invitation", send, { kind: "go wide" });
  const label = make("input", { type: "text", maxlength: 40, autocomplete: "off", placeholder: "for example: family" });
  const meaning = make("p", { class: "meaning" });
  const watching = make("div", { class: "form" },
    oneOf("Lasts", LASTS, wanted.lasts_s, (value) => { wanted.lasts_s = value; }),
    oneOf("Shown late by", DELAYS, wanted.delay_s, (value) => { wanted.delay_s = value; }),
    oneOf("Pulls and targets", TARGETS, wanted.hides_targets, (value) => { wanted.hides_targets = value; }));
  const role = oneOf("As", ROLES, wanted.role, (value) => {
    wanted.role = value;
    text(meaning, MEANING[value]);
    show(watching, value === "watcher");
  });
  const body = make("div", {}, role, meaning, watching,
    make("label", { class: "form" }, make("span", { class: "steplabel" }, "Whose (only to know it again)"), label),
    refused, go);
  return { title: "Invite a phone", body };
}

function bodyOf({ role, lasts_s, delay_s, hides_targets }, label) {
  return role === "watcher" ? { role, label, lasts_s, delay_s, hides_targets } : { role, label };
}
