// One replay on the page: its tape is fetched, then played into a board of its own.

import { Controls } from "./controls.js";
import { Deck } from "./deck.js";
import { Top } from "./top.js";
import { fetchTape } from "./tape.js";
import { make, show, text } from "./dom.js";

const BEFORE_ON_S = 30; // a replay begins so shortly before the first steak goes on

export class Replay {
  /** `live` is the cook that runs; `page` has its parts, and `toCook()` leads back to it. */
  constructor(asked, live, page) {
    Object.assign(this, { asked, live, page });
    this.aborter = new AbortController();
    this.shown = null; // until the tape is here
    this.isClosed = false;
  }

  /** Fetch the tape, saying how far it is, and begin; or say why there is none. */
  async load() {
    const { sheet } = this.page;
    const look = wearLook(); // while the tape comes
    const panel = new Loading(() => { if (!this.shown && !this.isClosed) this.leave(); });
    sheet.show(panel);
    try {
      const tape = await fetchTape(this.asked.id, this.aborter.signal, (share) => panel.tell(share));
      await look;
      if (!this.isClosed) this.begin(tape);
    } catch (refusal) {
      if (!this.isClosed) panel.refuse(refusal.message);
    }
  }

  begin(tape) {
    const { node, sheet } = this.page;
    this.deck = new Deck(tape);
    this.anew();
    this.controls = new Controls(this.deck, { ...this.page, leave: () => this.leave(), seek: (t) => this.seek(t) }, this.backWords);
    node.replaceChildren(this.controls.node);
    show(node, true);
    sheet.close();
    this.deck.seek(this.asked.t ?? Math.max(tape.startsT, (tape.onT ?? -Infinity) - BEFORE_ON_S));
    this.deck.clock.run(this.asked.speed);
    this.deck.play();
    this.page.paint();
  }

  /** Of what stood at the top nothing is kept. */
  anew() {
    const { board, clock } = this.deck;
    this.shown = { board, clock, top: new Top(board, clock), replay: this };
  }

  seek(t) {
    this.deck.seek(t);
    this.anew();
    this.page.paint();
  }

  step() {
    if (!this.shown) return;
    this.deck.board.visitor = this.live.board.visitor;
    this.deck.step();
  }

  paint() {
    this.controls.paint(this.page.unit);
  }

  /** What its last key says; null where there is nowhere to go. */
  get backWords() {
    if (this.asked.isFromLogbook) return "To the logbook";
    return this.live.board.isReplay ? null : "Back to the cook";
  }

  /** Back to where it was opened. */
  leave() {
    if (!this.asked.isFromLogbook) this.page.toCook();
    else window.location.assign(new URL(`logbook#cook=${encodeURIComponent(this.asked.id)}`, document.baseURI));
  }

  close() {
    const { node, sheet } = this.page;
    this.isClosed = true;
    this.aborter.abort();
    sheet.close();
    show(node, false);
    node.replaceChildren();
  }
}

/** The panel while the tape comes; closing it gives the replay up. */
class Loading {
  constructor(leave) {
    this.title = "Replay";
    this.words = make("p", { class: "steplabel", role: "status" }, "Loading the cook…");
    this.share = make("progress", { max: 100, "aria-label": "Loaded" });
    this.body = make("div", { class: "form" }, this.words, this.share);
    this.leave = leave;
  }

  tell(share) {
    const percent = Math.floor(share * 100);
    text(this.words, `Loading the cook, ${percent} %`);
    this.share.value = percent;
  }

  refuse(sentence) {
    text(this.words, sentence);
    show(this.share, false);
  }
}

let look = null;

/** The replay's own style sheet, once. */
function wearLook() {
  look ??= new Promise((done) => {
    const link = make("link", { rel: "stylesheet", href: new URL("./replay.css", import.meta.url).href });
    link.onload = link.onerror = done; // without it the keys are plain, but they work
    document.head.append(link);
  });
  return look;
}
