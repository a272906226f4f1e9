/** Keeps the screen from going dark while there is something to watch on it, where the browser can. */
export class LitScreen {
  #lock: WakeLockSentinel | null = null;
  #asking = false;

  /** Called often; asks the browser only where something changed, or where it took the lock back. */
  keepOn(wanted: boolean): void {
    if (!wanted) {
      void this.#lock?.release();
      this.#lock = null;
      return;
    }
    const held = this.#lock !== null && !this.#lock.released;
    if (held || this.#asking || document.visibilityState !== "visible" || !("wakeLock" in navigator)) return;
    this.#asking = true;
    navigator.wakeLock.request("screen").then(
      (lock) => {
        this.#lock = lock;
        this.#asking = false;
      },
      // Refused, as on a low battery: not asked again before the page is loaded anew.
      () => undefined,
    );
  }
}
