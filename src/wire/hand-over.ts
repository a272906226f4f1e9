import type { Clock } from "../../shared/clock.ts";
import type { WireAnswer } from "../../shared/wire.ts";
import type { PageBench } from "./bench-facade.ts";
import type { Sender } from "./command-gate.ts";
import type { OperatorLease } from "./operator-lease.ts";

/** A page that does not answer is not waited for longer. */
const ASKED_FOR_MS = 60_000;
/** Nor is one that was offered the watch: whoever asked may have gone away from it meanwhile. */
const OFFERED_FOR_MS = 20_000;

export interface HandOverOptions {
  lease: OperatorLease;
  facade: PageBench;
  clock: Clock;
  /** The connection in control is asked for it by another page, or no more (null). */
  onAsked: (holder: string, by: string | null) => void;
  /** The connection that asked is offered control of something that is on, or no more (null). */
  onOffered: (connection: string, by: string | null) => void;
}

/** A page that asked for control, until it is answered. */
interface Asking {
  connection: string;
  name: string;
  settle: (answer: WireAnswer) => void;
  callOff: () => void;
  /** Set once control of something that is on was offered to it: settles the answer of the page that offers. */
  giver: ((answer: WireAnswer) => void) | null;
}

/**
 * The ways by which control leaves a page that is there. With nothing on it is handed back, or over to a page that asks. While
 * something is on it goes only to a page that asked for it and says once more that it takes the watch; until then the page
 * in control keeps it.
 */
export class HandOver {
  readonly #options: HandOverOptions;
  #asking: Asking | null = null;

  constructor(options: HandOverOptions) {
    this.#options = options;
  }

  giveUp(connection: string, lease: number): WireAnswer {
    const held = this.#options.lease;
    if (!held.holds(connection, lease)) return noLease();
    if (this.#needsWatch) {
      return refused(
        "still-on",
        "Something is on, or about to come on, and this page watches it. Switch off first, or hand control over to a page that asks for it. Control stays here; the outputs are unchanged.",
      );
    }
    held.release(connection, lease);
    return { result: "done" };
  }

  /** Answered once the page in control has answered: with the lease, or that it keeps it. */
  ask(from: Sender, take: () => WireAnswer): Promise<WireAnswer> | WireAnswer {
    const { holder } = this.#options.lease;
    if (holder === null || holder === from.connection) return take();
    if (this.#asking !== null)
      return refused("asked-already", "Another page has already asked for control; wait for the answer.");
    return new Promise((resolve) => {
      this.#asking = {
        connection: from.connection,
        name: from.session.name,
        settle: resolve,
        callOff: this.#after(ASKED_FOR_MS, "no-answer", "The page in control did not answer; it keeps control."),
        giver: null,
      };
      this.#options.onAsked(holder, from.session.name);
    });
  }

  /** The page in control answers. While something is on, its yes is an offer, answered once the other page has answered. */
  answer(message: { lease: number; yes: boolean }, from: Sender): Promise<WireAnswer> | WireAnswer {
    const { lease, onAsked, onOffered } = this.#options;
    if (!lease.holds(from.connection, message.lease)) return noLease();
    const asking = this.#asking;
    if (asking === null) return refused("not-asked", "Nobody is asking for control any more.");
    if (!message.yes) {
      this.#refuse("lease-kept", "The page in control keeps control.");
      return { result: "done" };
    }
    if (!this.#needsWatch) return this.#give(asking) ? { result: "done" } : noLease();
    if (asking.giver !== null)
      return refused("offered-already", `${asking.name} has not answered yet; this page stays in control.`);
    return new Promise((resolve) => {
      asking.giver = resolve;
      asking.callOff();
      asking.callOff = this.#after(OFFERED_FOR_MS, "not-taken", "The watch was not taken over in time.");
      onAsked(from.connection, null);
      onOffered(asking.connection, from.session.name);
    });
  }

  /** The page that asked says whether it takes the watch that it was offered. */
  accept({ yes }: { yes: boolean }, from: Sender): WireAnswer {
    const asking = this.#asking;
    if (asking === null || asking.connection !== from.connection || asking.giver === null)
      return refused("not-offered", "Control is not offered any more. Look at the outputs, then ask again.");
    if (!yes) {
      this.#refuse("not-taken", "The watch was not taken over.");
      return { result: "done" };
    }
    const { giver, name } = asking;
    if (!this.#give(asking)) return noLease();
    giver({ result: "done" });
    this.#options.facade.watchTaken?.(name);
    return { result: "done" };
  }

  /** A connection is gone, and with it what it asked for. What it held is not given up here. */
  gone(connection: string): void {
    if (this.#asking?.connection === connection || this.#options.lease.holder === connection)
      this.#refuse("gone", "The page in control has closed. Look at the outputs, then take control.");
  }

  get #needsWatch(): boolean {
    return this.#options.facade.needsWatch?.() === true;
  }

  #give(asking: Asking): boolean {
    const { lease, onOffered } = this.#options;
    const { holder, number } = lease;
    const given = holder === null ? null : lease.handOver(holder, number, asking.connection);
    if (given === null) return false;
    this.#asking = null;
    asking.callOff();
    if (asking.giver !== null) onOffered(asking.connection, null);
    asking.settle({ result: "lease", lease: given });
    return true;
  }

  #after(ms: number, code: string, because: string): () => void {
    return this.#options.clock.after(ms, () => this.#refuse(code, because));
  }

  /** Control stays where it is; both pages are told. */
  #refuse(code: string, because: string): void {
    const asking = this.#asking;
    if (asking === null) return;
    this.#asking = null;
    asking.callOff();
    const { lease, onAsked, onOffered } = this.#options;
    if (lease.holder !== null) onAsked(lease.holder, null);
    asking.settle(refused(code, because));
    if (asking.giver === null) return;
    onOffered(asking.connection, null);
    asking.giver(refused("not-taken", `${asking.name} did not take the watch over. This page stays in control.`));
  }
}

const refused = (code: string, because: string): WireAnswer => ({ result: "refused", code, because });
export const noLease = (): WireAnswer =>
  refused("no-lease", "This page is not in control. Take control first; nothing was done.");
