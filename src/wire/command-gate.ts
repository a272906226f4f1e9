import type { Clock } from "../../shared/clock.ts";
import { messageOf } from "../../shared/message-of.ts";
import type { WireAnswer, WireCommand, WireUp } from "../../shared/wire.ts";
import type { PageSession } from "./access.ts";
import type { PageBench, WireParty } from "./bench-facade.ts";
import { OperatorLease } from "./operator-lease.ts";

/** The connection a command came by; a lease belongs to it. */
export interface Sender {
  connection: string;
  session: PageSession;
}

/** No start may be dated further ahead than this, or its deadline would guard nothing. */
const LONGEST_DEADLINE_MS = 10_000;
const MOST_REMEMBERED = 256;

/**
 * Every command passes here: who may give it, under which lease, by when, and only once. Off is allowed to everybody who
 * is let in, and waits for nothing; whatever lets current flow is allowed to the holder of the one lease.
 */
export class CommandGate {
  readonly lease: OperatorLease;
  readonly #facade: PageBench;
  readonly #clock: Clock;
  #cuts = 0;
  readonly #answers = new Map<string, Promise<WireAnswer>>();

  constructor(options: { facade: PageBench; clock: Clock; onLeaseLost: (connection: string) => void }) {
    this.#facade = options.facade;
    this.#clock = options.clock;
    this.lease = new OperatorLease(options.clock, options.onLeaseLost);
  }

  /** Switches off now. Never remembered, never refused: pressed twice it is done twice. */
  cut(id: string, from: Sender): Promise<WireAnswer> {
    this.#cuts += 1;
    return this.#hand({ type: "cut", id }, from);
  }

  /** Does a command once; the same id again gets the same answer. */
  take(message: Exclude<WireUp, { type: "hello" | "renew-lease" | "cut" }>, from: Sender): Promise<WireAnswer> {
    // Scripts share one session and count their ids each for itself.
    const key = `${from.session.byToken ? from.connection : from.session.id} ${message.id}`;
    const known = this.#answers.get(key);
    if (known !== undefined) return known;
    const answer = this.#do(message, from);
    this.#answers.set(key, answer);
    for (const oldest of this.#answers.keys()) {
      if (this.#answers.size <= MOST_REMEMBERED) break;
      this.#answers.delete(oldest);
    }
    return answer;
  }

  async #do(message: Exclude<WireUp, { type: "hello" | "renew-lease" | "cut" }>, from: Sender): Promise<WireAnswer> {
    switch (message.type) {
      case "take-lease":
        return this.#takeLease(from);
      case "release-lease":
        return this.lease.release(from.connection, message.lease) ? { result: "done" } : noLease();
      case "preview":
      case "stop":
        return this.#hand(message, from);
      case "start-run":
      case "start-sweep":
        return this.#refusal(message, from) ?? (await this.#start(message, from));
      case "answer":
      case "say-sweep":
        return this.#refusal(message, from) ?? (await this.#hand(message, from));
    }
  }

  #takeLease(from: Sender): WireAnswer {
    if (!from.session.mayOperate) {
      return refused("viewer-only", "This page may watch and cut, not start: it was opened by a viewer's address.");
    }
    const lease = this.lease.take(from.connection);
    if (lease === null) return refused("lease-taken", "Another page is in control. It must hand control back first.");
    return { result: "lease", lease };
  }

  /**
   * A start takes a while to prepare. Who cuts in that time means this run too, though it has not begun when the cut
   * arrives; and a run whose starter has gone meanwhile is nobody's.
   */
  async #start(message: Extract<WireUp, { type: "start-run" | "start-sweep" }>, from: Sender): Promise<WireAnswer> {
    const cuts = this.#cuts;
    const answer = await this.#hand(message, from);
    if (answer.result !== "started") return answer;
    if (this.#cuts === cuts && this.lease.holds(from.connection, message.lease)) return answer;
    await this.cut(message.id, from);
    return refused("cut", "It was cut while it was being prepared. Look at the outputs, then prepare again.");
  }

  #refusal(message: { lease: number; deadlineMs: number }, from: Sender): WireAnswer | null {
    if (!this.lease.holds(from.connection, message.lease)) return noLease();
    const nowMs = this.#clock.nowMs();
    if (nowMs > message.deadlineMs) {
      return refused(
        "too-late",
        "This came too late and was not done: nothing was energised. Look at the bench, then ask again.",
      );
    }
    if (message.deadlineMs - nowMs > LONGEST_DEADLINE_MS) {
      return refused("deadline", `A deadline lies at most ${LONGEST_DEADLINE_MS} ms ahead.`);
    }
    return null;
  }

  async #hand(command: WireCommand, from: Sender): Promise<WireAnswer> {
    const party: WireParty = {
      role: this.lease.holder === from.connection ? "operator" : "viewer",
      session: from.session.id,
    };
    try {
      return await this.#facade.command(command, party);
    } catch (error) {
      return refused("failed", messageOf(error));
    }
  }
}

const refused = (code: string, because: string): WireAnswer => ({ result: "refused", code, because });
const noLease = (): WireAnswer =>
  refused("no-lease", "This page is not in control. Take control first; nothing was done.");
