import { SESSION_ENDED, WIRE_PROTOCOL, type WireAnswer, WireDown, type WireUp } from "../../shared/wire.ts";
import { say } from "../words/shell.ts";
import { heardDaemonClock } from "./daemon-clock.ts";
import type { Phase } from "./page-state.ts";
import { askDaemon, liveProtocols, openSession, postJson } from "./session.ts";

/** A command before the connection adds its id, and its deadline where it energises. */
export type Wish =
  | { type: "take-lease" | "ask-lease" | "stop" | "end-phone-code" }
  | { type: "release-lease" }
  | { type: "hand-over" | "accept-lease"; yes: boolean }
  | Omit<Extract<WireUp, { type: "preview" }>, "id">
  | Under<"start-run">
  | Under<"start-sweep">
  | Under<"say-sweep">
  | Under<"null-leads">
  | Under<"mark">
  | Under<"phone-code">
  | Under<"answer">;

type Under<Type extends WireUp["type"]> = Omit<Extract<WireUp, { type: Type }>, "id" | "lease" | "deadlineMs">;

/** Given under the lease, and only for so long after the press. */
const UNDER_LEASE: ReadonlySet<Wish["type"]> = new Set([
  "start-run",
  "start-sweep",
  "say-sweep",
  "null-leads",
  "mark",
  "answer",
  "phone-code",
]);

/** Belongs to the lease, but may be done at any time. */
const OF_LEASE: ReadonlySet<Wish["type"]> = new Set(["release-lease", "hand-over"]);

/** The daemon beats once a second; after this silence the connection counts as lost. */
const SILENCE_MS = 3_000;
/** The time after a press in which something may still begin. Nobody starts what was asked for before a stall. */
const START_WITHIN_MS = 3_000;
const LONGEST_WAIT_MS = 2_000;

/**
 * The page's end of the socket: opens the session with the code of the address, greets, comes back by itself, and
 * renews the operator's lease with every beat. Nothing is sent again after a loss; a start that was not answered is over.
 */
export class BenchConnection {
  readonly #onMessage: (message: WireDown) => void;
  readonly #onPhase: (phase: Exclude<Phase, "live">, heardAtMs: number) => void;
  readonly #page = crypto.randomUUID().slice(0, 8);
  readonly #answers = new Map<string, (answer: WireAnswer) => void>();
  #socket: WebSocket | null = null;
  #heardAtMs = 0;
  #daemonAheadMs = 0;
  #lease: number | null = null;
  #count = 0;
  #waitMs = 250;
  #over = false;

  constructor(options: {
    onMessage: (message: WireDown) => void;
    /** `heardAtMs` is when the daemon was heard last, by the page's own clock. */
    onPhase: (phase: Exclude<Phase, "live">, heardAtMs: number) => void;
  }) {
    this.#onMessage = options.onMessage;
    this.#onPhase = options.onPhase;
  }

  async open(): Promise<void> {
    const code = /^#k=([A-Za-z0-9_-]+)$/.exec(location.hash)?.[1];
    if (code !== undefined) {
      history.replaceState(null, "", location.pathname);
      await openSession(code).catch(() => undefined);
    }
    setInterval(() => {
      if (this.#socket !== null && performance.now() - this.#heardAtMs > SILENCE_MS) this.#lose();
    }, 500);
    this.#connect();
  }

  /** Sends a command and waits for what came of it; a connection that is lost meanwhile is a refusal. */
  send(wish: Wish): Promise<WireAnswer> {
    const id = `${this.#page}-${++this.#count}`;
    const socket = this.#socket;
    if (socket?.readyState !== WebSocket.OPEN) return Promise.resolve(unsent());
    const isUnderLease = UNDER_LEASE.has(wish.type);
    const message = {
      ...wish,
      id,
      ...(isUnderLease || OF_LEASE.has(wish.type) ? { lease: this.#lease ?? 0 } : {}),
      ...(isUnderLease ? { deadlineMs: performance.now() + this.#daemonAheadMs + START_WITHIN_MS } : {}),
    };
    return new Promise((resolve) => {
      this.#answers.set(id, resolve);
      socket.send(JSON.stringify(message));
    });
  }

  /**
   * Cuts by every way there is: the socket, and a plain request beside it, since a stuck socket does not tell. `done` is
   * the bench's own word that off is written; every other answer says why that word is missing.
   */
  async cut(): Promise<WireAnswer> {
    const id = `${this.#page}-cut-${++this.#count}`;
    const ways: Promise<WireAnswer>[] = [];
    const socket = this.#socket;
    if (socket?.readyState === WebSocket.OPEN) {
      ways.push(new Promise((resolve) => this.#answers.set(id, resolve)));
      socket.send(JSON.stringify({ type: "cut", id } satisfies WireUp));
    }
    ways.push(
      postJson("/api/cut", { id }).then(
        async (reply) => (reply.ok ? ((await reply.json()) as WireAnswer) : cutLost()),
        () => cutLost(),
      ),
    );
    const words = ways.map(async (way) => {
      const answer = await way;
      if (answer.result !== "done") throw answer;
      return answer;
    });
    return await Promise.any(words).catch(async () => {
      const answers = await Promise.all(ways);
      return answers.find((each) => each.result === "refused" && each.code === "cut-not-taken") ?? cutLost();
    });
  }

  #connect(): void {
    const socket = new WebSocket(`ws://${location.host}/live`, liveProtocols());
    this.#socket = socket;
    this.#heardAtMs = performance.now();
    let isOpen = false;
    socket.addEventListener("open", () => {
      isOpen = true;
      socket.send(JSON.stringify({ type: "hello", protocol: WIRE_PROTOCOL } satisfies WireUp));
    });
    socket.addEventListener("message", (event) => {
      if (socket === this.#socket) this.#hear(String(event.data));
    });
    socket.addEventListener("close", ({ code }) => {
      if (socket !== this.#socket) return;
      if (code === SESSION_ENDED) this.#end("no-session");
      else if (isOpen) this.#lose();
      else void this.#refused(socket);
    });
  }

  /** A refused socket does not say why: whether there is a session is asked then. */
  async #refused(socket: WebSocket): Promise<void> {
    const reply = await askDaemon("/api/session").catch(() => null);
    if (socket !== this.#socket) return;
    if (reply?.status === 401) return this.#end("no-session");
    this.#drop();
    this.#later();
  }

  #hear(text: string): void {
    this.#heardAtMs = performance.now();
    const document = JSON.parse(text) as { type?: unknown; protocol?: unknown };
    if (document.type === "hello" && document.protocol !== WIRE_PROTOCOL) return this.#end("other-protocol");
    const parsed = WireDown.safeParse(document);
    // A daemon that says the right number and then something else is not one this page can steer.
    if (!parsed.success) return this.#end("other-protocol");
    const message = parsed.data;
    if (message.type === "hello" || message.type === "beat") {
      this.#daemonAheadMs = message.nowMs - performance.now();
      if (message.wallMs !== undefined) heardDaemonClock(message.wallMs);
    }
    if (message.type === "beat" && this.#lease !== null) this.#tell({ type: "renew-lease", lease: this.#lease });
    if (message.type === "lease") this.#lease = message.holder === "you" ? (message.lease ?? this.#lease) : null;
    if (message.type === "snapshot") this.#waitMs = 250;
    if (message.type === "answer") {
      if (message.answer.result === "lease") this.#lease = message.answer.lease;
      this.#answers.get(message.id)?.(message.answer);
      this.#answers.delete(message.id);
    }
    this.#onMessage(message);
  }

  #tell(message: WireUp): void {
    this.#socket?.send(JSON.stringify(message));
  }

  #lose(): void {
    this.#drop();
    this.#onPhase("lost", this.#heardAtMs);
    this.#later();
  }

  #later(): void {
    if (this.#over) return;
    setTimeout(() => this.#connect(), this.#waitMs);
    this.#waitMs = Math.min(LONGEST_WAIT_MS, this.#waitMs * 2);
  }

  #end(phase: "no-session" | "other-protocol"): void {
    this.#over = true;
    this.#drop();
    this.#onPhase(phase, this.#heardAtMs);
  }

  #drop(): void {
    const socket = this.#socket;
    this.#socket = null;
    this.#lease = null;
    socket?.close();
    for (const settle of this.#answers.values()) settle(unsent());
    this.#answers.clear();
  }
}

const unsent = (): WireAnswer => ({ result: "refused", code: "no-connection", because: say("send.lost") });
const cutLost = (): WireAnswer => ({ result: "refused", code: "cut-lost", because: say("cut.lost") });
