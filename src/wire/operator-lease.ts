import type { Clock } from "../../shared/clock.ts";

/** A page renews every 2 s; two renewals may be missed. */
export const LEASE_MS = 6_000;

/**
 * The one operator's lease. It belongs to one connection, not to a session: two pages of one browser are two pairs of
 * hands. It ends when it is handed back, when the connection ends, or unrenewed after `LEASE_MS`.
 */
export class OperatorLease {
  readonly #clock: Clock;
  readonly #onLost: (holder: string) => void;
  #held: { holder: string; lease: number; callOff: () => void } | null = null;
  #last = 0;

  /** `onLost` is told of a lease that ended without being handed back. */
  constructor(clock: Clock, onLost: (holder: string) => void) {
    this.#clock = clock;
    this.#onLost = onLost;
  }

  get holder(): string | null {
    return this.#held?.holder ?? null;
  }

  /** The number of the lease that is held; 0 where none is. */
  get number(): number {
    return this.#held?.lease ?? 0;
  }

  /** The lease's number, or null while another connection holds it. Its holder gets the same number again. */
  take(holder: string): number | null {
    if (this.#held !== null) return this.#held.holder === holder ? this.#held.lease : null;
    const lease = ++this.#last;
    this.#held = { holder, lease, callOff: this.#expire(holder) };
    return lease;
  }

  holds(holder: string, lease: number): boolean {
    return this.#held?.holder === holder && this.#held.lease === lease;
  }

  /** True where the lease was this connection's and goes on. */
  renew(holder: string, lease: number): boolean {
    if (this.#held === null || !this.holds(holder, lease)) return false;
    this.#held.callOff();
    this.#held = { holder, lease, callOff: this.#expire(holder) };
    return true;
  }

  release(holder: string, lease: number): boolean {
    if (this.#held === null || !this.holds(holder, lease)) return false;
    this.#held.callOff();
    this.#held = null;
    return true;
  }

  /** Gives the lease to another connection, without a moment in which nobody holds it: its new number, null where it was not held. */
  handOver(holder: string, lease: number, to: string): number | null {
    if (!this.release(holder, lease)) return null;
    return this.take(to);
  }

  /** The connection is gone. */
  drop(holder: string): void {
    if (this.#held?.holder !== holder) return;
    this.#held.callOff();
    this.#held = null;
    this.#onLost(holder);
  }

  #expire(holder: string): () => void {
    return this.#clock.after(LEASE_MS, () => this.drop(holder));
  }
}
