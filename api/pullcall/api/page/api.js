// What the page asks of the site. A refusal arrives as a sentence a cook can act on.

const PATIENCE_MS = 5000;
const UNPAIRED = 401;

/** A request that failed; its message is for people. `status` is null when there was no answer. */
export class Refusal extends Error {
  constructor(sentence, status = null) {
    super(sentence);
    this.status = status;
  }

  /** Whether the site itself said no: asking again changes nothing. */
  get isAnswer() {
    return this.status !== null && this.status < 500;
  }
}

/** Tell the page that the site does not know this phone (any more). */
export function unpaired() {
  document.dispatchEvent(new CustomEvent("pullcall:unpaired"));
}

/** Ask the site: its answer as JSON. Throws a Refusal. */
export async function ask(method, path, body, patience_ms = PATIENCE_MS) {
  const answer = await send(method, path, body, patience_ms);
  if (answer.ok) return answer.status === 204 ? null : answer.json();
  if (answer.status === UNPAIRED) unpaired();
  throw new Refusal(await reason(answer), answer.status);
}

async function send(method, path, body, patience_ms) {
  const aborter = new AbortController();
  const timer = setTimeout(() => aborter.abort(), patience_ms);
  try {
    return await fetch(address(path), {
      method,
      signal: aborter.signal,
      cache: "no-store",
      headers: body === undefined ? {} : { "content-type": "application/json" },
      body: body === undefined ? undefined : JSON.stringify(body),
    });
  } catch {
    throw new Refusal("No answer: check the Wi-Fi, or whether Pullcall still runs.");
  } finally {
    clearTimeout(timer);
  }
}

/** Why the site refused, as a sentence. */
export async function reason(answer) {
  try {
    const problem = await answer.json();
    if (typeof problem.detail === "string" && problem.detail) return problem.detail;
    if (typeof problem.title === "string" && problem.title) return `${problem.title}.`;
  } catch {
    // Not problem+json: say what is known.
  }
  return `The site refused (${answer.status}): tap again.`;
}

/** The full address of a path below /api/v1/, wherever the site is mounted. */
export function address(path) {
  return new URL(`api/v1/${path}`, document.baseURI);
}

const named = (name) => encodeURIComponent(name);

export const site = {
  visitor: () => ask("GET", "visitor"),
  pair: (proof, name) => ask("POST", "pairings", { ...proof, name }), // {secret} or {code}
  ticket: () => ask("POST", "tickets"),
  pairings: () => ask("GET", "pairings"),
  unpair: (id) => ask("DELETE", `pairings/${named(id)}`), // "me": this phone
  invitations: () => ask("GET", "invitations"),
  invite: (wanted) => ask("POST", "invitations", wanted),
  uninvite: (id) => ask("DELETE", `invitations/${named(id)}`),
  snapshot: () => ask("GET", "snapshot"),
  sites: () => ask("GET", "sites"), // of a board
  mark: (mark, steak, ago_s = 0) => ask("POST", "marks", { mark, steak, ago_s }),
  undoMark: (id) => ask("DELETE", `marks/${named(id)}`),
  spot: (steak, celsius) => ask("POST", "spots", { steak, celsius }),
  undoSpot: (id) => ask("DELETE", `spots/${named(id)}`),
  acknowledge: (call) => ask("POST", "acknowledgements", { call, by: "phone" }),
  shelve: (call, for_s) => ask("POST", "shelvings", { call, by: "phone", for_s }),
  propose: (proposal, is_so) => ask("POST", "proposals", { proposal, is_so }),
  phone: (phone, armed) => ask("POST", "phones", { phone, armed }),
  receipt: (phone, call) => ask("POST", "receipts", { phone, call }),
  steak: (name, change) => ask("PATCH", `steaks/${named(name)}`, change),
  cook: (change) => ask("PATCH", "cook", change),
  newCook: () => ask("POST", "cooks", {}), // with the same steaks
};
