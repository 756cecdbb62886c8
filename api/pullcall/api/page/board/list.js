// The list of sites: rows in order, and painted only where somebody can see them.

import { attr, show } from "../dom.js";
import { Row } from "./row.js";

const NEAR = "300px"; // so far beyond the screen a row is kept up to date
const MEANWHILE = 3; // rows beyond that are painted at each beat, one after the other
const FEW = [1, 2, 4, 6, 12]; // so many have larger letters on a large screen

export class List {
  /** `order` hears of touches. */
  constructor(node, order) {
    Object.assign(this, { node, order });
    this.rows = new Map();
    this.near = new Set();
    this.next = 0; // of those beyond
    this.words = "";
    this.found = null; // how many have those words; null: all are shown
    this.watcher = new IntersectionObserver((entries) => this.see(entries), { rootMargin: NEAR });
    this.listen();
  }

  listen() {
    const touch = (isDown) => () => this.order.touch(performance.now(), isDown);
    const listen = (name, act) => document.addEventListener(name, act, { capture: true, passive: true });
    for (const name of ["pointermove", "wheel", "scroll", "keydown"]) listen(name, touch());
    listen("pointerdown", touch(true));
    for (const name of ["pointerup", "pointercancel"]) listen(name, touch(false));
    this.node.addEventListener("click", (event) => {
      if (this.order.hasJustMoved(performance.now()) && event.detail > 0) event.preventDefault();
    });
  }

  see(entries) {
    for (const { target, isIntersecting } of entries) {
      if (isIntersecting) this.near.add(target.dataset.site);
      else this.near.delete(target.dataset.site);
    }
  }

  /** `shown` are the sites' ids in the order they stand in. */
  paint(sites, shown, unit, t, isCut) {
    const fresh = this.lay(shown);
    const far = shown.filter((id) => !this.near.has(id) && !fresh.has(id));
    const some = Array.from({ length: Math.min(MEANWHILE, far.length) }, (_, i) => far[(this.next + i) % far.length]);
    this.next = far.length ? (this.next + MEANWHILE) % far.length : 0;
    for (const id of new Set([...this.near, ...fresh, ...some])) {
      const row = sites.rows.get(id);
      if (row) this.rows.get(id)?.paint(row, unit, t, isCut);
    }
    this.sift(sites);
  }

  /** Put the rows into that order, moving as few as can be; returns the ids of those made now. */
  lay(shown) {
    const fresh = new Set(shown.filter((id) => !this.rows.has(id)));
    for (const id of fresh) this.add(id);
    const kept = new Set(shown);
    for (const id of this.rows.keys()) if (!kept.has(id)) this.remove(id);
    this.sort(shown.map((id) => this.rows.get(id).node));
    attr(this.node, "data-few", FEW.find((count) => shown.length <= count) ?? null);
    show(this.node, shown.length > 0);
    return fresh;
  }

  add(id) {
    const row = new Row(id);
    row.node.dataset.site = id;
    this.rows.set(id, row);
    this.node.append(row.node);
    this.watcher.observe(row.node);
  }

  remove(id) {
    const { node } = this.rows.get(id);
    this.watcher.unobserve(node);
    node.remove();
    this.rows.delete(id);
    this.near.delete(id);
  }

  /** A node that is moved loses the focus: it gets it back. */
  sort(nodes) {
    const focused = document.activeElement;
    let at = this.node.firstElementChild;
    for (const node of nodes) {
      // The one that stands here goes down the list: only it is moved.
      if (at !== node && at.nextElementSibling === node) this.node.append(at);
      else if (at !== node) this.node.insertBefore(node, at);
      at = node.nextElementSibling;
    }
    if (focused !== document.activeElement && this.node.contains(focused)) focused.focus({ preventScroll: true });
  }

  /** Show only the sites whose names have these words. */
  find(words) {
    this.words = words.trim().toLowerCase();
  }

  sift({ rows }) {
    if (!this.words && this.found === null) return;
    this.found = 0;
    for (const [id, { node }] of this.rows) {
      const isFound = isNamed(rows.get(id), this.words);
      this.found += isFound;
      show(node, isFound);
    }
    if (!this.words) this.found = null;
  }
}

const isNamed = (row, words) => !row || `${row.name} ${row.site}`.toLowerCase().includes(words);
