import { connect, type Socket } from "node:net";
import { BenchError, quoted } from "../../shared/bench-error.ts";
import type { Clock } from "../../shared/clock.ts";
import { LineLink } from "./line-link.ts";
import type { LinkClosed } from "./link.ts";

export interface SocketLinkOptions {
  host: string;
  port: number;
  address: string;
  clock: Clock;
  deadlineMs: number;
}

/** The most bytes that may wait for a peer that takes nothing. */
const UNSENT_BYTES = 64 * 1024;

/**
 * Connects to an instrument's raw socket. TCP does not report a peer that went silent in useful time, keep-alive or not:
 * whoever asks needs a deadline for each answer. Throws BenchError "connection-refused", or "no-reply" when nothing
 * answers in time or the host cannot be found or reached.
 */
export async function openSocketLink(options: SocketLinkOptions): Promise<LineLink> {
  const { host, port } = options;
  const socket = connect({
    host,
    port,
    noDelay: true,
    keepAlive: true,
    keepAliveInitialDelay: 1000,
    allowHalfOpen: false,
  });
  let link: LineLink | undefined;
  const lost = (closed: LinkClosed) => link?.lost(closed);
  socket.on("data", (bytes) => link?.received(bytes));
  socket.on("end", () => lost({ why: "ended", detail: "the instrument ended the connection" }));
  socket.on("error", (error: NodeJS.ErrnoException) => lost({ why: reasonOf(error), detail: error.message }));
  socket.on("close", () => lost({ why: "failed", detail: "the connection was lost" }));

  await connected(socket, options);
  link = new LineLink({
    address: options.address,
    clock: options.clock,
    wire: {
      send(bytes) {
        // A socket already broken would take the bytes without a word.
        if (!socket.writable) throw new Error("the connection was lost");
        if (socket.writableLength > UNSENT_BYTES)
          throw new Error(`the instrument accepts nothing: ${socket.writableLength} bytes wait`);
        socket.write(bytes);
      },
      shut: () => shut(socket),
    },
  });
  return link;
}

function reasonOf(error: NodeJS.ErrnoException): LinkClosed["why"] {
  if (error.code === "ECONNRESET") return "reset";
  return error.code === "EPIPE" ? "write-failed" : "failed";
}

function connected(socket: Socket, { host, port, clock, deadlineMs }: SocketLinkOptions): Promise<void> {
  const place = `${quoted(host)} port ${port}`;
  return new Promise((resolve, reject) => {
    const cancel = clock.after(deadlineMs, () => {
      reject(
        new BenchError("no-reply", `Cannot connect to ${place}: no answer within ${deadlineMs} ms; nothing was sent`),
      );
      socket.destroy();
    });
    socket.once("connect", () => {
      cancel();
      resolve();
    });
    socket.once("error", (cause: NodeJS.ErrnoException) => {
      cancel();
      reject(connectError(place, cause));
    });
  });
}

function connectError(place: string, cause: NodeJS.ErrnoException): BenchError {
  const code = cause.code ?? "";
  if (code === "ECONNREFUSED" || code === "ECONNRESET") {
    return new BenchError(
      "connection-refused",
      `Cannot connect to ${place}: the connection was refused; raw SCPI often uses port 5025, and some instruments serve one connection at a time; nothing was sent`,
      { cause },
    );
  }
  const what =
    code === "ENOTFOUND" || code === "EAI_AGAIN"
      ? "no host has this name"
      : `the host cannot be reached (${cause.message || code})`;
  return new BenchError("no-reply", `Cannot connect to ${place}: ${what}; nothing was sent`, { cause });
}

/** Sends what waits, then closes; does not wait for the other side to close too. */
function shut(socket: Socket): Promise<void> {
  return new Promise((resolve) => {
    if (socket.closed) {
      resolve();
      return;
    }
    socket.once("close", () => resolve());
    socket.destroySoon();
  });
}
