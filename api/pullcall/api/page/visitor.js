// Who this phone is to the site, and what it may do.

import { lateWords } from "./words.js";

const NOBODY = { role: null, name: null, rights: [], delay_s: 0, hides_targets: false, here: false, note: null,
  board: false, site: null }; // whether a board shows this site, and which it is: {"id", "name"}

export class Visitor {
  constructor(answer = {}) {
    Object.assign(this, NOBODY, answer);
  }

  get isPaired() {
    return this.role !== null;
  }

  may(right) {
    return this.rights.includes(right);
  }

  /** Whether it only looks on: by its role, or because the page may not act from here. */
  get isWatching() {
    return this.isPaired && !this.may("act");
  }

  /** What it is told once it is not let in any more. */
  get endedWords() {
    if (this.board) return "This phone's link to the board has run out.";
    return "This phone's link was revoked or has expired: ask the cook for a new link.";
  }

  /** "Watching, 2 min late", and what it is not shown; nothing for a phone that acts. */
  get watchingWords() {
    if (!this.isWatching) return ["", ""];
    const late = this.delay_s > 0 ? `Watching, ${lateWords(this.delay_s)}` : "Watching";
    const hidden = this.hides_targets ? "Pulls, targets and forecasts are hidden." : "";
    return this.site ? [this.site.name, [late, hidden].filter(Boolean).join(". ")] : [late, hidden];
  }
}

/** What a phone is called among the others: only its kind, for nobody to type. */
export function kindOfPhone({ userAgent, maxTouchPoints = 0 }) {
  if (/iPhone|iPod/.test(userAgent)) return "iPhone";
  // A tablet of this make says that it is a desk computer, but has no mouse.
  if (/iPad/.test(userAgent) || (/Macintosh/.test(userAgent) && maxTouchPoints > 1)) return "Tablet";
  if (/Android/.test(userAgent)) return /Mobile/.test(userAgent) ? "Android phone" : "Tablet";
  return "Computer";
}
