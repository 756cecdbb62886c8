// What was typed and is not saved, kept in this tab over a dead link, a reload or a look elsewhere.

const KEY = "pullcall.notes.";

export class Draft {
  constructor(cook) {
    this.name = KEY + cook;
  }

  read() {
    try {
      return JSON.parse(sessionStorage.getItem(this.name)) ?? {};
    } catch {
      return {};
    }
  }

  /** `typed`: field to what stands in it; an empty object forgets. */
  keep(typed) {
    try {
      if (Object.keys(typed).length) sessionStorage.setItem(this.name, JSON.stringify(typed));
      else sessionStorage.removeItem(this.name);
    } catch {
      // Forbidden or full: it stays in the form as long as the page is open.
    }
  }
}
