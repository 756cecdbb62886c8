// In which order the sites stand: the board's, but never changed under a finger.

const HELD_MS = 3000; // after the last touch, scroll or key
const MOVED_MS = 500; // a tap that comes so soon was meant for what stood there before

export class Order {
  constructor() {
    this.shown = [];
    this.isDown = false;
    this.touchedAt = -Infinity;
    this.movedAt = -Infinity;
  }

  /** Somebody points, scrolls or types; `isDown` while a finger lies on the screen. */
  touch(ms, isDown = this.isDown) {
    this.isDown = isDown;
    this.touchedAt = ms;
  }

  isHeld(ms) {
    return this.isDown || ms - this.touchedAt < HELD_MS;
  }

  /** Whether a tap may still mean the order before. */
  hasJustMoved(ms) {
    return ms - this.movedAt < MOVED_MS;
  }

  /** Take up the order that is wanted, as far as it may change now: what is new comes last meanwhile. */
  settle(wanted, ms) {
    if (this.isHeld(ms)) {
      const known = new Set(this.shown);
      const added = wanted.filter((id) => !known.has(id));
      if (added.length) this.shown = [...this.shown, ...added];
    } else if (!isSame(this.shown, wanted)) {
      if (this.shown.length) this.movedAt = ms;
      this.shown = [...wanted];
    }
    return this.shown;
  }

  /** Begin anew: another board, or none. */
  forget() {
    this.shown = [];
  }
}

const isSame = (one, other) => one.length === other.length && one.every((id, i) => id === other[i]);
