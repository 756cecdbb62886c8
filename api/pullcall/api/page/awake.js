// Keeping the screen on, and why it does not stay on.

/** Asks while the page is in front; the browser takes the lock away whenever it is not. */
export class Awake {
  constructor() {
    this.lock = null;
    this.isRefused = false;
  }

  get words() {
    if (!navigator.wakeLock) return "not allowed on this address (trust the certificate)";
    if (this.lock) return "yes";
    return this.isRefused ? "no, this phone refuses (its battery saver, perhaps)" : "not yet";
  }

  /** Harmless to call again. */
  async ask() {
    if (!navigator.wakeLock || this.lock || document.visibilityState !== "visible") return;
    try {
      const lock = await navigator.wakeLock.request("screen");
      lock.addEventListener("release", () => { if (this.lock === lock) this.lock = null; });
      this.lock = lock;
      this.isRefused = false;
    } catch {
      this.isRefused = true; // the calls still sound while the page is open
    }
  }

  async release() {
    await this.lock?.release();
  }
}
