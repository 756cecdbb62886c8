// Above the list: how many sites, how many need somebody, what is wrong with the way here.

import { attr, make, show, text } from "../dom.js";
import { isUrgent } from "./sites.js";
import { span } from "../words.js";

const MANY = 8; // more sites than this, and one is found by its name
const NAMED = 2; // so many urgent sites are named, the others counted

export class Head {
  /** `find(words)` shows only the sites that are called so. */
  constructor(node, find) {
    this.count = make("h1", {}, "Sites");
    this.need = make("p", { class: "need", role: "status" });
    this.notice = make("p", { id: "notice", role: "status" });
    this.urgent = make("p", { role: "alert" });
    this.entry = make("input", { type: "search", autocomplete: "off", spellcheck: "false", enterkeyhint: "search" });
    this.search = make("label", { class: "search" }, make("span", {}, "Find a site"), this.entry);
    this.none = make("p", { class: "none", role: "status" });
    this.entry.addEventListener("input", () => find(this.entry.value));
    node.append(make("div", { class: "sums" }, this.count, this.need), this.notice, this.urgent);
    node.after(this.search, this.none);
    for (const one of [this.search, this.none, this.notice]) show(one, false);
    this.watchTop(node);
  }

  /** The first rows say what is urgent themselves, while they can be seen. */
  watchTop(node) {
    const top = make("div", { class: "topmark" });
    node.before(top);
    new IntersectionObserver(([{ isIntersecting }]) => attr(this.urgent, "class", isIntersecting ? "unseen" : "urgent")).observe(top);
  }

  paint(sites, list, link, t) {
    const { size } = sites.rows;
    const { length } = sites.needing;
    text(this.count, sites.ready ? `${size} ${size === 1 ? "site" : "sites"}` : "Sites");
    text(this.need, !size ? "" : length ? `${length} ${length === 1 ? "needs" : "need"} somebody` : quietWords([...sites.rows.values()]));
    attr(this.need, "data-some", length > 0);
    text(this.urgent, urgentWords(sites.needing.filter(isUrgent)));
    const words = noticeOf(sites, link);
    text(this.notice, words);
    show(this.notice, words !== "");
    attr(this.notice, "class", link.lost || isCut(sites) ? "lost" : null);
    show(this.search, size > MANY || this.entry.value !== "");
    text(this.none, list.found === 0 ? "No site is called that." : "");
    show(this.none, list.found === 0);
  }
}

/** Nobody is needed; an alarm of a low priority, or an answered one, may stand all the same. */
function quietWords(rows) {
  const { length } = rows.filter(({ alarm }) => alarm !== null);
  return length ? `Nothing urgent: ${length} ${length === 1 ? "alarm stands" : "alarms stand"}` : "No alarm now";
}

/** "Now: North grill, West pit and 2 more". */
function urgentWords(rows) {
  if (!rows.length) return "";
  const names = rows.slice(0, NAMED).map((row) => row.name || row.site).join(", ");
  return `Now: ${names}${rows.length > NAMED ? ` and ${rows.length - NAMED} more` : ""}`;
}

const isCut = ({ broker }) => broker !== null && broker.state !== "ok";

function noticeOf(sites, link) {
  if (!link.greeted) return sites.ready ? "Looking for the board…" : "";
  if (link.lost) return `No answer from the board for ${span(link.quietMs() / 1000)}: times go on as they were last heard.`;
  if (isCut(sites)) return sites.broker.note || "The broker is not reached: what is shown may be old.";
  return "";
}
