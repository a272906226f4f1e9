import type { Link } from "../link/link.ts";
import type { Exchange } from "./exchange.ts";

/** A connection that is lent: `onEnd` says that the work on it must end now, and why. */
export interface LentLink {
  link: Link;
  onEnd: (listener: (why: string) => void) => void;
}

/** The connection of a session in the hands of something that reads more than lines, one at a time. */
export class Loan {
  #listeners: ((why: string) => void)[] | null = null;

  /** True while it is lent. */
  get isOut(): boolean {
    return this.#listeners !== null;
  }

  /** Lends the link to `work` until that settles, an instrument's gap before it and after it; lines are read from it again then. */
  async give<T>(exchange: Exchange, gapMs: number, work: (lent: LentLink) => Promise<T>): Promise<T> {
    const { link } = exchange;
    const listeners: ((why: string) => void)[] = [];
    this.#listeners = listeners;
    try {
      await exchange.gap();
      return await work({ link, onEnd: (listener) => void listeners.push(listener) });
    } finally {
      this.#listeners = null;
      link.divert(null);
      if (gapMs > 0) await exchange.pause(gapMs);
    }
  }

  /** Tells whoever has it that it is over. */
  end(why: string): void {
    for (const listener of this.#listeners ?? []) listener(why);
  }
}
