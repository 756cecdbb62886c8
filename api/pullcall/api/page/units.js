// Temperatures as people read them. Celsius everywhere else.

const KEPT = "pullcall.unit";

/** The cook site's unit unless this person chose their own on this phone. */
export class Unit {
  constructor(storage) {
    this.storage = storage;
    this.site = "F";
    this.own = storage.get(KEPT);
  }

  get name() {
    return this.own === "F" || this.own === "C" ? this.own : this.site;
  }

  choose(name) {
    this.own = name;
    this.storage.set(KEPT, name);
  }

  /** Celsius to the shown unit. */
  show(celsius) {
    return this.name === "F" ? (celsius * 9) / 5 + 32 : celsius;
  }

  /** The shown unit to Celsius. */
  read(shown) {
    return this.name === "F" ? ((shown - 32) * 5) / 9 : shown;
  }

  /** A temperature in words: "118.4 °F"; without a value a dash. */
  say(celsius, digits = 1) {
    return celsius === null || celsius === undefined
      ? "–"
      : `${this.show(celsius).toFixed(digits)} °${this.name}`;
  }

  /** A temperature that was typed, as it was typed: "45 °F", "112.5 °F". */
  sayTyped(celsius) {
    return `${Math.round(this.show(celsius) * 100) / 100} °${this.name}`;
  }

  /** Only the number, for lines that carry the unit once. */
  number(celsius, digits = 0) {
    return this.show(celsius).toFixed(digits);
  }

  /** A pull or a target: whole degrees Fahrenheit, tenths Celsius. */
  degrees(celsius) {
    return this.number(celsius, this.name === "F" ? 0 : 1);
  }

  sayDegrees(celsius) {
    return `${this.degrees(celsius)}\u00a0°${this.name}`;
  }

  /** A difference in the shown unit, and back. */
  difference(celsius) {
    return this.name === "F" ? celsius * 1.8 : celsius;
  }

  readDifference(shown) {
    return this.name === "F" ? shown / 1.8 : shown;
  }

  /** A shown difference in words: "+1 °F", "−0.5 °C", "0 °F". */
  sayDifference(shown) {
    const sign = shown > 0 ? "+" : shown < 0 ? "−" : "";
    return `${sign}${Math.round(Math.abs(shown) * 10) / 10} °${this.name}`;
  }

  /** A rise per minute: a difference, so no offset. */
  sayRise(celsiusPerMinute) {
    const rise = this.name === "F" ? celsiusPerMinute * 1.8 : celsiusPerMinute;
    const size = Math.abs(rise).toFixed(1);
    const sign = size === "0.0" ? "" : rise < 0 ? "−" : "+";
    return `${sign}${size} °${this.name}/min`;
  }
}

/** localStorage that may be forbidden: then choices last as long as the page. */
export class Storage {
  constructor() {
    this.here = new Map();
  }

  get(key) {
    try {
      return window.localStorage.getItem(key) ?? this.here.get(key) ?? null;
    } catch {
      return this.here.get(key) ?? null;
    }
  }

  set(key, value) {
    this.here.set(key, value);
    try {
      window.localStorage.setItem(key, value);
    } catch {
      // Private windows forbid it; the choice is kept for this page.
    }
  }
}
