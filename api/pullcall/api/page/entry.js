// How this phone comes in: by its cookie, by the secret of the address it was opened with, or by a
// code; and how it is shut out again.

import { Visitor, kindOfPhone } from "./visitor.js";
import { site } from "./api.js";

const WAITS_S = [0.5, 1, 2, 4, 5];
const SECRET = /^#k=(.+)$/;

/** `admit(visitor, words)` lets the phone in, `words` say how; `shut(sentence)` shows the door. */
export class Entry {
  constructor(door, { admit, shut }) {
    Object.assign(this, { door, admit, shut });
    this.isAsking = false;
    this.wake = () => {};
  }

  /** From the start, and again when another QR was opened in this tab. */
  async enter() {
    const secret = takeSecret();
    if (secret !== null) {
      this.door.wait("Pairing this phone…");
      const sentence = await this.pair({ secret });
      if (sentence === null) return;
      await this.look(sentence);
    } else {
      await this.look(null);
    }
  }

  /** Ask who this phone is; if nobody, show the door with that sentence. */
  async look(sentence) {
    if (this.isAsking) return;
    this.isAsking = true;
    const visitor = new Visitor(await this.asked(() => site.visitor()).catch(() => ({})));
    this.isAsking = false;
    if (visitor.board) this.door.hasCodes = false;
    if (visitor.isPaired) this.admit(visitor, sentence);
    else this.shut(sentence);
  }

  /** Pair by {secret} or {code}; returns the sentence of a refusal, null when paired. */
  async pair(proof) {
    const name = kindOfPhone(navigator);
    try {
      const visitor = new Visitor(await this.asked(() => site.pair(proof, name)));
      this.admit(visitor, `Paired: this is a ${visitor.role}'s phone now`);
      return null;
    } catch (refusal) {
      return refusal.message;
    }
  }

  /** Ask until the site answers; its no is an answer. */
  async asked(request) {
    for (let tries = 0; ; tries += 1) {
      try {
        return await request();
      } catch (refusal) {
        if (refusal.isAnswer) throw refusal;
        await this.pause(WAITS_S[Math.min(tries, WAITS_S.length - 1)]);
      }
    }
  }

  pause(seconds) {
    return new Promise((done) => {
      const timer = setTimeout(done, seconds * 1000);
      this.wake = () => { clearTimeout(timer); done(); };
    });
  }
}

/** The secret of the address, taken out of it at once: nothing keeps it. */
function takeSecret() {
  const found = SECRET.exec(window.location.hash);
  if (!found) return null;
  history.replaceState(null, "", window.location.pathname + window.location.search);
  return found[1];
}
