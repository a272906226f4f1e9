import { constants, openSync, writeSync } from "node:fs";
import { type AddressInfo, createServer, type Socket } from "node:net";
import { ReadStream } from "node:tty";
import { openPtyPair } from "./pty-pair.ts";
import { until } from "./until.ts";

/** The instrument's end of a line: what it hears, and what it says. */
export interface FarEnd {
  address: string;
  /** Everything heard so far, over all connections. */
  heard(): string;
  /** Says something now, asked or not. */
  say(text: string): void;
  /** What to say to each line heard from now on, the whole answer in one piece; undefined says nothing. */
  answer(reply: (line: string) => string | undefined): void;
  /** The connection breaks, as by a pulled cable. */
  hangUp(): void;
  close(): Promise<void>;
}

function listener(say: (text: string) => void): {
  heard: () => string;
  hear: (bytes: Buffer) => void;
  answer: FarEnd["answer"];
} {
  let all = "";
  let line = "";
  let reply: (line: string) => string | undefined = () => undefined;
  return {
    heard: () => all,
    answer: (next) => {
      reply = next;
    },
    hear: (bytes) => {
      const text = bytes.toString("latin1");
      all += text;
      const lines = (line + text).split("\n");
      line = lines.pop() ?? "";
      for (const each of lines) {
        const said = reply(each);
        if (said !== undefined) say(said);
      }
    },
  };
}

/** A serial instrument at the far end of a real pty pair; `path` is the near end. */
export async function ptyFarEnd(): Promise<FarEnd & { path: string }> {
  const pair = await openPtyPair();
  const fd = openSync(pair.b, constants.O_RDWR | constants.O_NOCTTY | constants.O_NONBLOCK);
  const say = (text: string) => void writeSync(fd, text, null, "latin1");
  const { hear, heard, answer } = listener(say);
  const stream = new ReadStream(fd);
  stream.on("data", hear);
  stream.on("error", () => undefined);
  return {
    path: pair.a,
    address: `ASRL${pair.a}::INSTR`,
    heard,
    say,
    answer,
    hangUp: pair.hangUp,
    close: async () => {
      stream.destroy();
      await pair.close();
    },
  };
}

/** A network instrument on a real socket; it serves the newest connection. */
export async function socketFarEnd(): Promise<FarEnd & { socket(): Promise<Socket>; port: number }> {
  let peer: Socket | undefined;
  const sockets = new Set<Socket>();
  const say = (text: string) => void peer?.write(text, "latin1");
  const { hear, heard, answer } = listener(say);
  const server = createServer({ noDelay: true }, (socket) => {
    peer = socket;
    sockets.add(socket);
    socket.on("data", hear);
    socket.on("error", () => undefined);
  });
  await new Promise<void>((resolve) => server.listen(0, "127.0.0.1", resolve));
  const { port } = server.address() as AddressInfo;
  return {
    port,
    address: `TCPIP0::127.0.0.1::${port}::SOCKET`,
    heard,
    say,
    answer,
    socket: async () => {
      await until(() => peer !== undefined);
      return peer as Socket;
    },
    hangUp: () => void peer?.resetAndDestroy(),
    close: async () => {
      for (const socket of sockets) socket.destroy();
      await new Promise<void>((resolve) => server.close(() => resolve()));
    },
  };
}
