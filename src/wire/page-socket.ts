import type { WebSocket } from "ws";
import type { Clock } from "../../shared/clock.ts";
import type { WireDown } from "../../shared/wire.ts";
import type { PageSession } from "./access.ts";
import { MessageBudget } from "./message-budget.ts";

/** Above this a reader is slow: frames are thinned to the latest. */
const SLOW_BYTES = 256 * 1024;
/** Above this, or slow for this long, the connection is ended. */
const MOST_BYTES = 1024 * 1024;
const SLOW_MS = 5_000;
const PING_MS = 10_000;
const PINGS_MISSED = 2;

/**
 * One connected page: what it has shown of itself, and a way out to it that is bounded whatever its reader does. A
 * figure that waits in a queue is a stale figure, so a slow reader gets the latest frame and is told of the gap.
 */
export class PageSocket {
  readonly id: string;
  readonly session: PageSession;
  readonly budget: MessageBudget;
  /** True once its hello was accepted; before that it gets and gives nothing else. */
  greeted = false;
  readonly #socket: WebSocket;
  readonly #clock: Clock;
  #slowSinceMs: number | null = null;
  #held: Extract<WireDown, { type: "frame" }> | null = null;
  #pingedAtMs: number;
  #missed = 0;

  constructor(options: { id: string; session: PageSession; socket: WebSocket; clock: Clock }) {
    this.id = options.id;
    this.session = options.session;
    this.#socket = options.socket;
    this.#clock = options.clock;
    this.budget = new MessageBudget(options.clock);
    this.#pingedAtMs = options.clock.nowMs();
    options.socket.on("pong", () => {
      this.#missed = 0;
    });
  }

  /** Sends a message; `text` is the message as JSON where the caller has it already, for many pages at once. */
  send(message: WireDown, text?: string): void {
    if (this.#socket.readyState !== this.#socket.OPEN) return;
    const slow = this.#lookAtQueue();
    if (slow === "ended") return;
    if (message.type !== "frame") return this.#write(text ?? JSON.stringify(message));
    if (slow === "slow") {
      this.#held = { ...message, gap: true };
      return;
    }
    const gap = this.#held !== null;
    this.#held = null;
    this.#write(gap ? JSON.stringify({ ...message, gap }) : (text ?? JSON.stringify(message)));
  }

  /** Called about once a second: pings, and ends a connection that reads too slowly or answers no ping. */
  tick(): void {
    if (this.#lookAtQueue() === "ended") return;
    const nowMs = this.#clock.nowMs();
    if (nowMs - this.#pingedAtMs < PING_MS) return;
    if (this.#missed >= PINGS_MISSED) return this.end();
    this.#missed += 1;
    this.#pingedAtMs = nowMs;
    this.#socket.ping();
  }

  close(code: number, because: string): void {
    this.#socket.close(code, because);
  }

  /** Ends the connection at once, without the closing handshake that a hostile end would not do. */
  end(): void {
    this.#socket.terminate();
  }

  #write(text: string): void {
    this.#socket.send(text, () => {
      const held = this.#held;
      if (held !== null && this.#socket.bufferedAmount <= SLOW_BYTES / 2) {
        this.#held = null;
        this.#write(JSON.stringify(held));
      }
    });
  }

  #lookAtQueue(): "good" | "slow" | "ended" {
    const nowMs = this.#clock.nowMs();
    if (this.#socket.bufferedAmount <= SLOW_BYTES) {
      this.#slowSinceMs = null;
      return "good";
    }
    this.#slowSinceMs ??= nowMs;
    if (this.#socket.bufferedAmount <= MOST_BYTES && nowMs - this.#slowSinceMs <= SLOW_MS) return "slow";
    this.end();
    return "ended";
  }
}
