import type { Clock } from "../../shared/clock.ts";

/**
 * Settles as `promise` does, or, once `ms` have passed, as `late` returns or throws. What the promise does after that
 * is dropped, a rejection too: whoever has something to give back looks after it in `late`.
 */
export function within<T>(clock: Clock, ms: number, promise: Promise<T>, late: () => T): Promise<T> {
  return new Promise((resolve, reject) => {
    const cancel = clock.after(ms, () => {
      try {
        resolve(late());
      } catch (error) {
        reject(error);
      }
    });
    promise.then(resolve, reject).finally(cancel);
  });
}
