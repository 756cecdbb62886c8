// What the logbook asks of the site. A refusal arrives as a sentence a cook can act on.

import { Refusal, address, ask, reason, unpaired } from "../api.js";

const SLOW_MS = 60000; // a comparison or the lessons may have cooks to work out first
const UNPAIRED = 401;
const named = (name) => encodeURIComponent(name);

export const book = {
  cooks: (words = "") => ask("GET", words ? `cooks?words=${named(words)}` : "cooks"),
  cook: (id) => ask("GET", `cooks/${named(id)}`),
  write: (id, notes) => ask("PATCH", `cooks/${named(id)}`, { notes }),
  remove: (id) => ask("DELETE", `cooks/${named(id)}`),
  comparison: (ids, unit) => ask("GET", `comparison?${sideBySide(ids, unit)}`, undefined, SLOW_MS),
  learned: (unit) => ask("GET", `learned?unit=${unit}`, undefined, SLOW_MS),
  use: (name, choice, unit) => ask("PUT", `learned/${named(name)}?unit=${unit}`, choice, SLOW_MS),
  restore: (file, progress) => upload("restore", file, progress),
  bringIn: (file, query, progress) => upload(`import?${query}`, file, progress),
};

/** Addresses that the browser itself opens or keeps as a file. */
export const files = {
  report: (id, unit) => address(`cooks/${named(id)}/report?unit=${unit}`).href,
  chart: (ids, unit) => address(`comparison/chart?${sideBySide(ids, unit)}`).href,
  table: (kind) => address(`logbook/${kind}`).href,
  backup: () => address("backup").href,
};

const sideBySide = (ids, unit) => [...ids.map((id) => `cook=${named(id)}`), `unit=${unit}`].join("&");

/** Send a file; `progress(share)` hears how much of it is on its way. */
function upload(path, file, progress) {
  return new Promise((done, refuse) => {
    const request = new XMLHttpRequest();
    request.open("POST", address(path));
    request.setRequestHeader("content-type", "application/octet-stream");
    request.upload.addEventListener("progress", ({ loaded, total }) => progress(total ? loaded / total : 1));
    request.addEventListener("load", () => answered(request).then(done, refuse));
    request.addEventListener("error", () => refuse(new Refusal("No answer: check the Wi-Fi, then send the file again.")));
    request.send(file);
  });
}

async function answered({ status, responseText }) {
  if (status >= 200 && status < 300) return JSON.parse(responseText);
  if (status === UNPAIRED) unpaired();
  throw new Refusal(await reason(new Response(responseText, { status })), status);
}
