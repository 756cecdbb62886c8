// An invitation as it is handed over: the QR, the code and the link that let a phone in.

import { attr, button, make, show, text } from "./dom.js";
import { qrPicture } from "./qr.js";
import { lateWords } from "./words.js";
import { site } from "./api.js";

const LOOK_EVERY_MS = 2000;

export function invitationPanel(invitation, acts) {
  const { code, code_expires_in_s: lasts, qr, links: [link, ...others], id, role } = invitation;
  const seen = make("p", { class: "meaning", hidden: role !== "watcher" }, sightOf(invitation));
  const until = performance.now() + lasts * 1000;
  const left = make("p", { class: "codeleft" });
  const digits = make("p", { class: "code" }, `${code.slice(0, 4)} ${code.slice(4)}`);
  const came = make("p", { class: "came", role: "status", hidden: true });
  const count = () => {
    const seconds = Math.max(0, Math.ceil((until - performance.now()) / 1000));
    text(left, seconds ? `This code lives ${seconds} s more. Type it on the phone's page.` : "The code has run out; the QR is still good.");
    attr(digits, "data-over", seconds === 0);
  };
  const look = () => site.pairings().then((phones) => {
    const own = phones.filter((one) => one.invitation === id);
    text(came, `${own.map((one) => one.name).join(", ")}: paired as a ${role}.`);
    show(came, own.length > 0);
  }, () => {}); // it is only a look: the list of phones says what is wrong
  count();
  const clocks = [setInterval(count, 250), setInterval(look, LOOK_EVERY_MS)];
  const body = make("div", { class: "invitation" },
    make("div", { class: "qrbox" }, qrPicture(qr, "QR of the link: scan it with the other phone")),
    make("div", { class: "handover" }, came, seen, digits, left,
      make("p", { class: "steplabel" }, "Or its link, to send. Whoever has it gets in."),
      make("p", { class: "link", tabindex: 0 }, link),
      make("div", { class: "plankeys" }, ...sendKeys(link), button("All phones", () => acts.openPhones())),
      ...(others.length ? [make("p", { class: "steplabel" }, "If the phone cannot reach it"), ...others.map((one) => make("p", { class: "link", tabindex: 0 }, one))] : [])));
  return { title: `A ${role}'s link`, body, leave: () => clocks.forEach(clearInterval) };
}

/** What a watcher will see: "Shown 2 min late; pulls and targets hidden." */
function sightOf({ delay_s: delay, hides_targets: hides }) {
  return `Shown ${delay > 0 ? lateWords(delay) : "at once"}; pulls and targets ${hides ? "hidden" : "shown"}.`;
}

/** Copy and Share, where the browser has them; the link can be selected anyway. */
function sendKeys(link) {
  const keys = [];
  if (navigator.clipboard?.writeText) {
    const copy = button("Copy link", () => navigator.clipboard.writeText(link).then(
      () => text(copy, "Copied"), () => text(copy, "Select it above")));
    keys.push(copy);
  }
  if (navigator.share) keys.push(button("Share link", () => navigator.share({ title: "Pullcall", url: link }).catch(() => {})));
  return keys;
}
