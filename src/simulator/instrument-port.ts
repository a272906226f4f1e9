import type { Clock } from "../../shared/clock.ts";
import type { History } from "./history.ts";
import type { Misbehaviour } from "./misbehaviour.ts";
import { faultyReply } from "./reply-fault.ts";
import type { Wire, WireUser } from "./wire.ts";

export interface InstrumentPortOptions {
  name: string;
  clock: Clock;
  terminator: string;
  echo: boolean;
  gapMs: number;
  /** The time from a query until its reply leaves. */
  latencyMs: () => number;
  interrupts: boolean;
  singleConnection: boolean;
  /** Runs a line; null for no reply. */
  run: (line: string) => string | null;
  fileError: (code: number, words: string) => void;
  misbehaviour: Misbehaviour;
  history: History;
  bytes: { in: number; out: number };
}

/** Longest line an instrument takes in; more is dropped and filed as an overrun. */
const longestLine = 4096;
/** Of a reply the history keeps so much: a record of a recorder is long. */
const MOST_NOTED = 4096;

interface Job {
  line: string;
  connection: Connection;
}

interface Connection {
  wire: Wire;
  buffer: string;
  held: Buffer;
  alive: boolean;
}

/**
 * The wire side of an instrument: bytes become lines, lines are run one after the other, replies leave after the
 * instrument's latency, to the connection that asked, through whatever misbehaviour was asked for.
 */
export class InstrumentPort {
  private readonly options: InstrumentPortOptions;
  private readonly connections = new Set<Connection>();
  private readonly queue: Job[] = [];
  private busy = false;
  private lastLineMs = Number.NEGATIVE_INFINITY;
  private cancelReply: (() => void) | undefined;
  private closed = false;
  /** Nothing leaves before this, so that a reply that comes late in order keeps its place. */
  private notBeforeMs = Number.NEGATIVE_INFINITY;

  constructor(options: InstrumentPortOptions) {
    this.options = options;
  }

  /** Takes a new connection, or refuses it where the instrument serves one at a time. */
  serve(wire: Wire): WireUser | "refuse" {
    if (this.options.singleConnection && this.connections.size > 0) {
      this.note("link", "a second connection was refused");
      return "refuse";
    }
    const connection: Connection = { wire, buffer: "", held: Buffer.alloc(0), alive: true };
    this.connections.add(connection);
    this.note("link", "connected");
    this.put(connection, Buffer.from(this.options.misbehaviour.greeting, "latin1"));
    return {
      onBytes: (bytes) => this.takeBytes(connection, bytes),
      onGone: (why) => {
        connection.alive = false;
        this.connections.delete(connection);
        this.note("link", why);
      },
    };
  }

  /** Sends bytes nobody asked for to every connection. */
  blurt(bytes: string): void {
    for (const connection of this.connections) this.put(connection, Buffer.from(bytes, "latin1"));
  }

  /** Ends every connection, in order or with a reset. */
  drop(how: "end" | "reset"): void {
    for (const connection of [...this.connections]) connection.wire[how]();
  }

  /** Forgets what was asked and not yet answered, as a power cycle does. */
  forget(): void {
    this.queue.length = 0;
    this.cancelReply?.();
    this.cancelReply = undefined;
    this.busy = false;
    for (const connection of this.connections) {
      connection.buffer = "";
      connection.held = Buffer.alloc(0);
    }
  }

  close(): void {
    this.closed = true;
    this.forget();
  }

  private note(kind: "command" | "reply" | "ignored" | "link", text: string): void {
    this.options.history.add({ atMs: this.options.clock.nowMs(), instrument: this.options.name, kind, text });
  }

  private put(connection: Connection, bytes: Buffer): void {
    if (!connection.alive || bytes.length === 0) return;
    this.options.bytes.out += bytes.length;
    connection.wire.write(bytes);
  }

  private takeBytes(connection: Connection, bytes: Buffer): void {
    this.options.bytes.in += bytes.length;
    if (this.closed) return;
    if (this.options.echo && !this.options.misbehaviour.stalled) this.put(connection, bytes);
    connection.buffer += bytes.toString("latin1");
    const lines = connection.buffer.split(/[\r\n]+/);
    connection.buffer = lines.pop() ?? "";
    if (connection.buffer.length > longestLine) {
      connection.buffer = "";
      this.options.fileError(-363, "Input buffer overrun");
    }
    for (const line of lines) if (line.trim() !== "") this.takeLine(connection, line);
  }

  private takeLine(connection: Connection, line: string): void {
    const nowMs = this.options.clock.nowMs();
    const tooSoon = nowMs - this.lastLineMs < this.options.gapMs;
    this.lastLineMs = nowMs;
    if (tooSoon) {
      this.note("ignored", line);
      return;
    }
    if (this.busy && this.options.interrupts && line.includes("?")) {
      this.cancelReply?.();
      this.cancelReply = undefined;
      this.busy = false;
      this.options.fileError(-410, "Query INTERRUPTED");
    }
    this.queue.push({ line, connection });
    this.runNext();
  }

  private runNext(): void {
    while (!this.busy && !this.closed) {
      const job = this.queue.shift();
      if (job === undefined) return;
      this.note("command", job.line);
      const asks = job.line.includes("?");
      // A query's values are taken as its reply leaves: converting takes the time, the answer is fresh.
      if (!asks) {
        this.options.run(job.line);
        continue;
      }
      const latencyMs = this.options.latencyMs();
      if (latencyMs <= 0) this.answer(job);
      else {
        this.busy = true;
        this.cancelReply = this.options.clock.after(latencyMs, () => {
          this.cancelReply = undefined;
          this.busy = false;
          this.answer(job);
          this.runNext();
        });
      }
    }
  }

  private answer({ line, connection }: Job): void {
    const text = this.options.run(line);
    if (text === null || this.options.misbehaviour.stalled) return;
    const { terminator, misbehaviour, clock } = this.options;
    const reply = Buffer.from(text + terminator, "latin1");
    const fault = misbehaviour.nextFault();
    const { pieces, held } = faultyReply(reply, terminator.length, fault, connection.held);
    connection.held = held;
    this.note("reply", text.slice(0, MOST_NOTED));
    for (const piece of pieces) {
      const send = (): void => {
        if (this.closed) return;
        this.put(connection, piece.bytes);
        if (piece.ending !== undefined) connection.wire[piece.ending]();
      };
      const afterMs = Math.max(piece.afterMs, this.notBeforeMs - clock.nowMs());
      if (fault?.fault === "delay" && fault.inOrder === true) this.notBeforeMs = clock.nowMs() + afterMs;
      if (afterMs <= 0) send();
      else clock.after(afterMs, send);
    }
  }
}
