// The screen of a phone that is not paired: why, how to get a code, and the keys to type it.

import { attr, button, make, refill, show, text } from "./dom.js";

const DIGITS = 8;
const KEYS = ["1", "2", "3", "4", "5", "6", "7", "8", "9"];
const BY_LINK = "Ask whoever runs this board for a link or a QR, and open it on this phone. Links run out: then ask for a new one.";
const HOW = "Scan a QR: a cook's phone shows one (Menu, Phones), and so does `pullcall pair` at the grill. Or type the code beside it.";

/** `pair(code)` answers with the sentence of a refusal, or null. A board has links and no codes. */
export class Door {
  constructor(node, pair = null) {
    Object.assign(this, { node, pair });
    this.hasCodes = pair !== null;
    this.isSending = false;
    this.heading = make("h1", {}, "");
    this.sentence = make("p", { class: "refused", role: "alert" });
    this.entry = this.makeEntry();
    this.send = button("Pair", () => this.submit(), { kind: "go", rest: 0 });
    const back = button("⌫", () => this.type(digitsOf(this.entry.value).slice(0, -1)), { rest: 0, name: "Take back a digit" });
    const keys = KEYS.map((key) => this.key(key));
    this.form = make("div", { class: "doorform" },
      make("div", { class: "doorwords" },
        make("p", { class: "how" }, ...coded(HOW)),
        make("label", {}, make("span", { class: "steplabel" }, "The 8-digit code"), this.entry)),
      make("div", { class: "keypad code" }, ...keys, back, this.key("0"), this.send));
    this.byLink = make("p", { class: "how bylink" }, BY_LINK);
    this.head = make("div", { class: "doorhead" }, this.heading, this.sentence);
  }

  makeEntry() {
    // The page has keys of its own, so the phone's need not come up; pasting still works.
    const node = make("input", { type: "text", inputmode: "none", autocomplete: "one-time-code", placeholder: "____ ____", spellcheck: "false" });
    node.addEventListener("input", () => this.type(digitsOf(node.value)));
    node.addEventListener("keydown", (event) => { if (event.key === "Enter") this.submit(); });
    return node;
  }

  key(digit) {
    return button(digit, () => this.type(digitsOf(this.entry.value) + digit), { rest: 0 });
  }

  close() {
    show(this.node, false);
    this.node.replaceChildren();
    attr(document.body, "data-door", null);
  }

  /** While the site is asked: only these words. */
  wait(words) {
    this.open(words, false, null);
  }

  /** The keys, with the sentence of a refusal or none. */
  show(sentence) {
    this.type("");
    this.open(this.hasCodes ? "This phone is not paired" : "This phone has no link", true, sentence);
  }

  open(heading, asks, sentence) {
    text(this.heading, heading);
    show(this.form, asks && this.hasCodes);
    show(this.byLink, asks && !this.hasCodes);
    this.say(sentence);
    if (!this.head.isConnected) this.node.append(this.head, this.form, this.byLink);
    show(this.node, true);
    attr(document.body, "data-door", true);
  }

  say(sentence) {
    refill(this.sentence, sentence ?? "", () => coded(sentence ?? ""));
    show(this.sentence, Boolean(sentence));
  }

  type(digits) {
    const kept = digits.slice(0, DIGITS);
    this.entry.value = [kept.slice(0, 4), kept.slice(4)].filter(Boolean).join(" ");
    attr(this.send, "disabled", kept.length < DIGITS || this.isSending);
    if (kept) this.say(null);
  }

  async submit() {
    const code = digitsOf(this.entry.value);
    if (code.length < DIGITS || this.isSending) return;
    this.isSending = true;
    this.type(code);
    const sentence = await this.pair(code);
    this.isSending = false;
    this.type("");
    this.say(sentence);
  }
}

const digitsOf = (words) => words.replace(/\D/g, "");

/** Words with `commands` in a face of their own. */
const coded = (words) => words.split("`").map((part, i) => (i % 2 ? make("code", {}, part) : part));
