// The strip at the top while meat is on: this page sounds nothing, so it leads back to the cook.

import { attr, make, refill, show } from "../dom.js";
import { site } from "../api.js";

const LOOK_EVERY_MS = 5000;
const WITH_MEAT = ["on", "resting", "boxed"];
const SILENT = "A cook is running, and this page sounds no calls.";
const UNKNOWN = "The site does not answer: whether the cook still runs is not known here.";

export class Strip {
  constructor(node) {
    this.node = node;
    this.isRunning = false;
  }

  /** Look now and every few seconds; resolves with the first snapshot, or null. */
  begin() {
    setInterval(() => this.look(), LOOK_EVERY_MS);
    document.addEventListener("visibilitychange", () => this.look());
    return this.look();
  }

  async look() {
    if (document.visibilityState !== "visible") return null;
    const snapshot = await site.snapshot().catch(() => null);
    if (snapshot !== null) this.paint(snapshot);
    else if (this.isRunning) this.say(UNKNOWN, false);
    return snapshot;
  }

  paint({ steaks = [], calls = [] }) {
    this.isRunning = steaks.some((one) => WITH_MEAT.includes(one.phase));
    const urgent = calls.find((one) => one.priority === 1 && one.state === "unacknowledged");
    show(this.node, this.isRunning);
    if (this.isRunning) this.say(urgent ? urgent.text : SILENT, Boolean(urgent));
  }

  say(words, isUrgent) {
    attr(this.node, "data-urgent", isUrgent);
    refill(this.node, `${isUrgent} ${words}`, () => [
      make("p", isUrgent ? { role: "alert" } : {}, words),
      make("a", { class: "key", href: "./" }, "Back to it"),
    ]);
  }
}
