// The paired phones and the links that are out, each with the key that ends it.

import { button, make, refill, show, text } from "./dom.js";
import { forgetKey } from "./menu.js";
import { site } from "./api.js";
import { lateWords, span, wallTime } from "./words.js";
import { sureKey } from "./sheet.js";

const LOOK_EVERY_MS = 3000;
const DAY_MS = 86400000;

export function phonesPanel(board, acts) {
  const refused = make("p", { class: "refused", role: "alert", hidden: true });
  const phones = make("div", { class: "list" });
  const links = make("div", { class: "list" });
  const linksLabel = make("p", { class: "steplabel" }, "Invitations that are out");
  const say = (sentence) => {
    text(refused, sentence ?? "");
    show(refused, Boolean(sentence));
  };
  const end = async (request) => {
    say(await request.then(() => null, (refusal) => refusal.message));
    await look();
  };
  const look = async () => {
    try {
      const [paired, all] = await Promise.all([site.pairings(), site.invitations()]);
      const out = all.filter((one) => one.uses_left !== 0); // a used one lets nobody in any more
      refill(phones, JSON.stringify(paired), () => (paired.length
        ? paired.map((one) => phoneRow(one, all, acts, () => end(site.unpair(one.id))))
        : [make("p", {}, "No phone is paired yet.")]));
      refill(links, JSON.stringify(out.map((one) => ({ ...one, expires_in_s: span(one.expires_in_s) }))), () =>
        out.map((one) => linkRow(one, () => end(site.uninvite(one.id)))));
      for (const node of [links, linksLabel]) show(node, out.length > 0);
    } catch (refusal) {
      say(refusal.message);
    }
  };
  for (const node of [links, linksLabel]) show(node, false);
  look();
  const looking = setInterval(look, LOOK_EVERY_MS);
  const body = make("div", {},
    button("Invite a phone", () => acts.openInvite(), { kind: "go wide" }), refused,
    make("p", { class: "steplabel" }, board.visitor.here ? "Paired phones (this machine needs no pairing)" : "Paired phones"),
    phones, linksLabel, links);
  return { title: "Phones", body, leave: () => clearInterval(looking), kind: "phones" };
}

function phoneRow(phone, invitations, acts, revoke) {
  const { label } = invitations.find((one) => one.id === phone.invitation) ?? {};
  const what = [phone.role, label, phone.is_here ? "here now" : "not here", `paired ${since(phone.paired)}`].filter(Boolean).join(" · ");
  const key = phone.is_me ? forgetKey(acts) : sureKey("Revoke", "Tap again: revoke", revoke, { name: phone.name });
  return make("div", { class: "row" },
    make("p", {}, make("b", {}, phone.name + (phone.is_me ? " (this phone)" : "")), make("br"), what),
    make("div", { class: "choices" }, key));
}

function linkRow(link, revoke) {
  const seen = [
    link.delay_s > 0 ? lateWords(link.delay_s) : null,
    link.hides_targets ? "targets hidden" : null,
  ];
  const used = `${link.phones} ${link.phones === 1 ? "phone" : "phones"}`;
  const what = [`good for ${span(link.expires_in_s)}`, used, ...seen].filter(Boolean).join(" · ");
  const name = [`${link.role}'s link`, link.label].filter(Boolean).join(": ");
  return make("div", { class: "row" },
    make("p", {}, make("b", {}, name.charAt(0).toUpperCase() + name.slice(1)), make("br"), what),
    make("div", { class: "choices" },
      sureKey("Revoke", link.phones ? "Tap again: its phones too" : "Tap again: revoke", revoke, { name })));
}

/** "14:03" of today, else "13 Jun 14:03". */
function since(iso) {
  const date = new Date(iso);
  if (Number.isNaN(date.getTime())) return "at an unknown time";
  const day = date.toLocaleDateString("en-GB", { day: "numeric", month: "short" });
  return Date.now() - date.getTime() < DAY_MS ? wallTime(date) : `${day} ${wallTime(date)}`;
}
