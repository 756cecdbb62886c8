// The worker that keeps the page's own files, so that a reload with a dead link still shows it.

const QUIET_MS = 4000; // the first seconds belong to the cook, not to copying files
let isDone = false;

/** Once the page shows the cook. Only where browsers allow it: over TLS that the phone trusts. */
export function install() {
  if (isDone || !navigator.serviceWorker) return;
  isDone = true;
  setTimeout(() => {
    navigator.serviceWorker.register(new URL("worker.js", document.baseURI)).catch(() => {
      // An untrusted certificate, or a private window: the page works without.
    });
  }, QUIET_MS);
}
