// Day, night, or whichever the device is set to.

import { attr } from "./dom.js";

const KEPT = "pullcall.theme";
const THEMES = ["auto", "day", "night"];

export class Theme {
  constructor(storage) {
    this.storage = storage;
  }

  get name() {
    return this.storage.get(KEPT) ?? "auto";
  }

  wear() {
    attr(document.documentElement, "data-theme", this.name);
  }

  /** Take the next one. */
  turn() {
    this.storage.set(KEPT, THEMES[(THEMES.indexOf(this.name) + 1) % THEMES.length]);
    this.wear();
  }
}
