// A file on its way: how much of it has gone, then what the site said.

import { attr, make, show, text } from "../dom.js";

export class Sending {
  constructor() {
    this.meter = make("progress", { max: 1, "aria-label": "Sent" });
    this.words = make("p", { role: "status" });
    this.node = make("div", { class: "sending", hidden: true }, this.words, this.meter);
    this.isBusy = false;
  }

  /** Run `send(progress)` once at a time; `done(answer)` or `refused(sentence)` hears how it ended. */
  async run(send, done, refused) {
    if (this.isBusy) return;
    this.isBusy = true;
    this.progress(0);
    show(this.node, true);
    try {
      done(await send((share) => this.progress(share)));
    } catch (refusal) {
      refused(refusal.message);
    }
    show(this.node, false);
    this.isBusy = false;
  }

  progress(share) {
    attr(this.meter, "value", share);
    text(this.words, share < 1 ? `Sending: ${Math.floor(share * 100)} %` : "Sent. The site is taking it in…");
  }
}
