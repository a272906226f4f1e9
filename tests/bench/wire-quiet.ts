import type { Link } from "../../src/link/link.ts";

const turn = () => new Promise<void>((resolve) => setImmediate(resolve));
/** A wait that leaves the processor to the process that carries the bytes (socat, for a pty) for a millisecond. */
const rest = () => new Promise<void>((resolve) => setTimeout(resolve, 1));
/** Turns in vain after which what is on its way is left time: a carrier that has a processor needs fewer. */
const TURNS_BEFORE_REST = 30;

/**
 * Knows when nothing is on its way between our links and the simulator that shares this process: what one side wrote
 * the other has read. Only then may a hand-set clock move, so that real sockets and ptys take no time on it.
 */
export class WireQuiet {
  readonly #links: Link[] = [];
  readonly #far: () => { in: number; out: number };
  #opening = 0;
  #lostOut = 0;
  #lostIn = 0;

  constructor(far: () => { in: number; out: number }) {
    this.#far = far;
  }

  /** An opener of links whose bytes are counted here. */
  counting<O>(open: (options: O) => Promise<Link>): (options: O) => Promise<Link> {
    return async (options) => {
      this.#opening += 1;
      try {
        const link = await open(options);
        this.#links.push(link);
        return link;
      } finally {
        this.#opening -= 1;
      }
    };
  }

  #outstanding(): { out: number; in: number } {
    const far = this.#far();
    let written = 0;
    let read = 0;
    for (const { counters } of this.#links) {
      written += counters.bytesWritten;
      read += counters.bytesRead;
    }
    return { out: written - far.in - this.#lostOut, in: far.out - read - this.#lostIn };
  }

  /** Settles when nothing has been on its way for two turns of the event loop. */
  async settled(): Promise<void> {
    let quietTurns = 0;
    let turnsInVain = 0;
    const startedAt = performance.now();
    while (quietTurns < 2) {
      await (turnsInVain < TURNS_BEFORE_REST ? turn() : rest());
      const { out, in: inward } = this.#outstanding();
      if (this.#opening === 0 && out === 0 && inward === 0) {
        quietTurns += 1;
        turnsInVain = 0;
      } else {
        quietTurns = 0;
        turnsInVain += 1;
      }
      const patienceMs = this.#links.some((each) => !each.isOpen) ? 250 : 5000;
      if (performance.now() - startedAt > patienceMs && this.#opening === 0) {
        // Bytes that went down with a closed connection never arrive: they are no longer waited for.
        this.#lostOut += out;
        this.#lostIn += inward;
        return;
      }
    }
  }
}
