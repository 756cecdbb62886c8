// What is known of all sites. Messages go in; the list reads it. No page.

const ANSWERED = new Set(["acknowledged", "shelved", "cleared"]);

export class Sites {
  constructor() {
    this.forget();
  }

  /** Nothing is known: this phone is not let in, or not yet. */
  forget() {
    this.ready = false;
    this.unit = "F";
    this.broker = null; // {state: "ok" | "connecting" | "lost", note}
    this.rows = new Map(); // by the site's id
    this.order = []; // ids, the site that acts next first
  }

  /** Those where somebody is wanted now, in order. */
  get needing() {
    return this.inOrder.filter(needsSomebody);
  }

  get inOrder() {
    return this.order.map((id) => this.rows.get(id)).filter(Boolean);
  }

  apply(message) {
    if (message.type === "board") this.begin(message);
    else if (message.type === "rows") this.change(message);
    if (message.broker !== undefined) this.broker = message.broker;
  }

  begin({ rows, unit }) {
    this.ready = true;
    this.unit = unit ?? this.unit;
    this.rows = new Map(rows.map((row) => [row.site, row]));
    this.order = rows.map((row) => row.site);
  }

  change({ rows, order }) {
    for (const row of rows) this.rows.set(row.site, row);
    this.order = order;
    if (this.rows.size > order.length) this.drop(new Set(order));
  }

  drop(known) {
    for (const id of this.rows.keys()) if (!known.has(id)) this.rows.delete(id);
  }
}

/** Whether something is wrong or due there that nobody has answered. */
export const isUnanswered = ({ alarm }) => alarm !== null && !ANSWERED.has(alarm.state);

/** A prompt, of priority 3, is for whoever is there: nobody has to run. */
export const needsSomebody = (row) => isUnanswered(row) && row.alarm.priority <= 2;

/** Whether that has to be done within seconds. */
export const isUrgent = (row) => needsSomebody(row) && row.alarm.priority === 1;
