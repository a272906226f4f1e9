import type { Clock } from "../../shared/clock.ts";
import { Epoch } from "../../shared/epoch.ts";
import type { WireAnswer, WireCommand, WireUp } from "../../shared/wire.ts";
import { messageOf } from "../../shared/words/message-of.ts";
import type { PageSession } from "./access.ts";
import type { PageBench, WireParty } from "./bench-facade.ts";
import { HandOver, type HandOverOptions, noLease } from "./hand-over.ts";
import { OperatorLease } from "./operator-lease.ts";
import type { PhoneDesk } from "./phone/phone-desk.ts";

/** The connection a command came by; a lease belongs to it. */
export interface Sender {
  connection: string;
  session: PageSession;
}

/** No start may be dated further ahead than this, or its deadline would guard nothing. */
const LONGEST_DEADLINE_MS = 10_000;
const MOST_REMEMBERED = 256;

export interface CommandGateOptions {
  facade: PageBench;
  clock: Clock;
  onLeaseLost: (connection: string) => void;
  /** Makes the codes by which phones send photographs; left out: none may. */
  phone?: PhoneDesk | null;
  onAsked: HandOverOptions["onAsked"];
  onOffered: HandOverOptions["onOffered"];
}

/**
 * Every command passes here: who may give it, under which lease, by when, and only once. Off is allowed to everybody who
 * is let in, and waits for nothing; whatever lets current flow is allowed to the holder of the one lease.
 */
export class CommandGate {
  readonly lease: OperatorLease;
  readonly #facade: PageBench;
  readonly #clock: Clock;
  readonly #handOver: HandOver;
  readonly #phone: PhoneDesk | null;
  /** Raised by each cut and each stop: a start that was asked for before one does not go on after it. */
  readonly #epoch = new Epoch();
  /** Settles when what prepares a run now is done: starts and previews have their turn one after another. */
  #turn: Promise<unknown> = Promise.resolve();
  readonly #answers = new Map<string, Promise<WireAnswer>>();

  constructor(options: CommandGateOptions) {
    this.#facade = options.facade;
    this.#clock = options.clock;
    this.#phone = options.phone ?? null;
    this.lease = new OperatorLease(options.clock, options.onLeaseLost);
    this.#handOver = new HandOver({ ...options, lease: this.lease });
  }

  /** Switches off now. Never remembered, never refused: pressed twice it is done twice. */
  cut(id: string, from: Sender): Promise<WireAnswer> {
    this.#epoch.raise();
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
        return this.#handOver.giveUp(from.connection, message.lease);
      case "ask-lease":
        return from.session.mayOperate ? this.#handOver.ask(from, () => this.#takeLease(from)) : viewerOnly();
      case "hand-over":
        return this.#handOver.answer(message, from);
      case "accept-lease":
        return this.#handOver.accept(message, from);
      case "phone-code":
        return this.#refusal(message, from) ?? (await this.#phoneCode(message.job));
      case "end-phone-code":
        if (!from.session.mayOperate) return viewerOnly();
        this.#phone?.code.end("withdrawn");
        return { result: "done" };
      case "preview":
        return this.#inTurn(async () => this.#previewRefusal(from) ?? (await this.#hand(message, from)));
      case "stop":
        this.#epoch.raise();
        return this.#hand(message, from);
      case "start-run":
      case "start-sweep":
        return this.#refusal(message, from) ?? (await this.#startInTurn(message, from));
      case "answer":
      case "say-sweep":
      case "null-leads":
      case "mark":
        return this.#refusal(message, from) ?? (await this.#hand(message, from));
    }
  }

  async #phoneCode(job: string): Promise<WireAnswer> {
    if (this.#phone === null)
      return refused("no-phone", "This daemon takes no photographs from phones; start it with --phone-listen.");
    return await this.#phone.make(job);
  }

  #takeLease(from: Sender): WireAnswer {
    if (!from.session.mayOperate) {
      return viewerOnly();
    }
    const lease = this.lease.take(from.connection);
    if (lease === null) return refused("lease-taken", "Another page is in control. It must hand control back first.");
    return { result: "lease", lease };
  }

  /** A preview connects the instruments anew: nobody may do that to the one in control, nor a page that only watches. */
  #previewRefusal(from: Sender): WireAnswer | null {
    if (!from.session.mayOperate) return viewerOnly();
    const { holder } = this.lease;
    return holder === null || holder === from.connection
      ? null
      : refused(
          "lease-taken",
          "Another page is in control, so check the permit there. This page may only look and cut.",
        );
  }

  /** A connection is gone, and with it what it held and what it asked for. */
  gone(connection: string): void {
    this.#handOver.gone(connection);
    this.lease.drop(connection);
  }

  #inTurn<T>(work: () => Promise<T>): Promise<T> {
    const mine = this.#turn.then(work);
    this.#turn = mine.catch(() => undefined);
    return mine;
  }

  /**
   * A start may have to wait for its turn, and takes a while to prepare. Lease and deadline are looked at again when its
   * turn comes. A cut or a stop in all that time means this run too, though it has not begun when the off arrives; and a
   * run whose starter has gone meanwhile is nobody's.
   */
  #startInTurn(message: Extract<WireUp, { type: "start-run" | "start-sweep" }>, from: Sender): Promise<WireAnswer> {
    const asked = this.#epoch.token;
    return this.#inTurn(async () => {
      if (this.#epoch.hasRisenSince(asked))
        return refused("cut", "Off was requested before it began. Nothing was energised; prepare again.");
      const refusal = this.#refusal(message, from);
      if (refusal !== null) return refusal;
      const answer = await this.#hand(message, from);
      if (answer.result !== "started") return answer;
      if (!this.#epoch.hasRisenSince(asked) && this.lease.holds(from.connection, message.lease)) return answer;
      await this.cut(message.id, from);
      return refused("cut", "It was cut during the preparation. Look at the outputs, then prepare again.");
    });
  }

  #refusal(message: { lease: number; deadlineMs: number }, from: Sender): WireAnswer | null {
    if (!this.lease.holds(from.connection, message.lease)) return noLease();
    const nowMs = this.#clock.nowMs();
    if (nowMs > message.deadlineMs) {
      return refused(
        "too-late",
        "This came too late and was not done; nothing was energised. Look at the bench, then ask again.",
      );
    }
    if (message.deadlineMs - nowMs > LONGEST_DEADLINE_MS) {
      return refused("deadline", `A deadline may be at most ${LONGEST_DEADLINE_MS} ms ahead.`);
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
const viewerOnly = (): WireAnswer =>
  refused("viewer-only", "This page was opened with a viewer's address: it may watch and cut, but not start anything.");
