import { closeSync, constants, openSync } from "node:fs";
import { connect } from "node:net";
import type { Duplex } from "node:stream";
import { ReadStream } from "node:tty";

/** A client as plain as can be, for the simulator's own tests: it shares no code with firstamp's links. */
export interface LineClient {
  send(line: string): void;
  /** Sends a line and waits for the next one back. */
  ask(line: string): Promise<string>;
  /** The next line that comes. */
  next(): Promise<string>;
  /** Everything received so far, undivided. */
  readonly received: string;
  /** Resolves once `test` holds for everything received. */
  until(test: (received: string) => boolean): Promise<void>;
  readonly closed: Promise<void>;
  close(): Promise<void>;
}

/** Opens a VISA name of a simulated instrument. */
export async function openLineClient(address: string): Promise<LineClient> {
  const socket = /^TCPIP0::([\d.]+)::(\d+)::SOCKET$/.exec(address);
  const serial = /^ASRL(.+)::INSTR$/.exec(address);
  let stream: Duplex;
  let descriptor: number | undefined;
  if (socket?.[1] !== undefined) {
    const opened = connect({ host: socket[1], port: Number(socket[2]), noDelay: true });
    await new Promise<void>((resolve, reject) => {
      opened.once("connect", () => resolve());
      opened.once("error", reject);
    });
    stream = opened;
  } else if (serial?.[1] !== undefined) {
    descriptor = openSync(serial[1], constants.O_RDWR | constants.O_NOCTTY);
    stream = new ReadStream(descriptor);
  } else throw new Error(`no address of a simulated instrument: ${address}`);
  let received = "";
  let taken = 0;
  const waiting: (() => void)[] = [];
  stream.on("data", (bytes: Buffer) => {
    received += bytes.toString("latin1");
    for (const wake of waiting.splice(0)) wake();
  });
  stream.on("error", () => {});
  const closed = new Promise<void>((resolve) => stream.once("close", () => resolve()));
  const changed = () => new Promise<void>((resolve) => waiting.push(resolve));
  const next = async (): Promise<string> => {
    for (;;) {
      const end = /[\r\n]+/.exec(received.slice(taken));
      if (end !== null) {
        const line = received.slice(taken, taken + end.index);
        taken += end.index + end[0].length;
        return line;
      }
      await changed();
    }
  };
  return {
    send: (line) => void stream.write(`${line}\n`),
    next,
    ask: (line) => {
      stream.write(`${line}\n`);
      return next();
    },
    get received() {
      return received;
    },
    until: async (test) => {
      while (!test(received)) await changed();
    },
    closed,
    close: async () => {
      stream.destroy();
      await closed;
      if (descriptor !== undefined) closeSync(descriptor);
    },
  };
}
