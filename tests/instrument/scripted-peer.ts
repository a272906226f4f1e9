import { constants, openSync, writeSync } from "node:fs";
import { type AddressInfo, createServer, type Socket } from "node:net";
import { ReadStream } from "node:tty";
import { openPtyPair } from "../link/pty-pair.ts";

/** What to answer: a text, one that comes `lateMs` later, or nothing. */
export type Scripted = string | { text: string; lateMs: number } | undefined;

/** An instrument that does as it is told, on a real socket or a real pty; handles one line after the other. */
export interface ScriptedPeer {
  address: string;
  /** Every line heard, with the number of the connection it came on (from 1). */
  readonly heard: { line: string; connection: number }[];
  /** Connections there are now. */
  readonly connections: number;
  /** Bytes nobody asked for, to the newest connection. */
  say(bytes: string): void;
  /** Ends the newest connection. */
  drop(): void;
  close(): Promise<void>;
}

export const IDENTITY = "Bench,SCRIPTED,SN7,1.0";

type Script = (line: string) => Scripted;

export interface PeerOptions {
  terminator?: string;
  echo?: boolean;
  /** Refuses a connection while another lives. */
  singleConnection?: boolean;
  /** What `*IDN?` brings; left out, IDENTITY. Nothing else asks the script for it. */
  identity?: () => Scripted;
}

/** Takes bytes in, hands replies to `write`, in order: a late reply holds up those after it, as in an instrument. */
function processor(
  script: Script,
  options: PeerOptions,
  onLine: (line: string) => void,
  write: (text: string) => void,
) {
  const { terminator = "\n", echo = false, identity } = options;
  let partial = "";
  let chain: Promise<void> = Promise.resolve();
  const handle = async (line: string): Promise<void> => {
    onLine(line);
    const reply = line !== "*IDN?" ? script(line) : identity === undefined ? IDENTITY : identity();
    if (reply === undefined) return;
    if (typeof reply === "string") return write(reply + terminator);
    await new Promise<void>((resolve) => setTimeout(resolve, reply.lateMs));
    write(reply.text + terminator);
  };
  return (bytes: Buffer): void => {
    if (echo) write(bytes.toString("latin1"));
    const lines = (partial + bytes.toString("latin1")).split(/[\r\n]+/);
    partial = lines.pop() ?? "";
    for (const line of lines) if (line !== "") chain = chain.then(() => handle(line));
  };
}

export async function socketPeer(script: Script, options: PeerOptions = {}): Promise<ScriptedPeer> {
  const heard: ScriptedPeer["heard"] = [];
  const sockets: Socket[] = [];
  let count = 0;
  const server = createServer({ noDelay: true }, (socket) => {
    const live = sockets.filter((each) => !each.destroyed);
    if (options.singleConnection === true && live.length > 0) {
      socket.resetAndDestroy();
      return;
    }
    const connection = ++count;
    sockets.push(socket);
    socket.on("error", () => {});
    socket.on("end", () => socket.destroy());
    const write = (text: string) => void (socket.destroyed || socket.write(text, "latin1"));
    socket.on(
      "data",
      processor(script, options, (line) => heard.push({ line, connection }), write),
    );
  });
  await new Promise<void>((resolve) => server.listen(0, "127.0.0.1", resolve));
  return {
    address: `TCPIP0::127.0.0.1::${(server.address() as AddressInfo).port}::SOCKET`,
    heard,
    get connections() {
      return sockets.filter((each) => !each.destroyed).length;
    },
    say: (bytes) => void sockets.at(-1)?.write(bytes, "latin1"),
    drop: () => void sockets.at(-1)?.resetAndDestroy(),
    close: async () => {
      for (const socket of sockets) socket.destroy();
      await new Promise<void>((resolve) => server.close(() => resolve()));
    },
  };
}

export async function ptyPeer(script: Script, options: PeerOptions = {}): Promise<ScriptedPeer> {
  const pair = await openPtyPair();
  const heard: ScriptedPeer["heard"] = [];
  const fd = openSync(pair.b, constants.O_RDWR | constants.O_NOCTTY | constants.O_NONBLOCK);
  const write = (text: string): void => {
    try {
      writeSync(fd, text, null, "latin1");
    } catch {
      // The other end has hung up; a late answer has nobody to go to.
    }
  };
  const stream = new ReadStream(fd);
  stream.on(
    "data",
    processor(script, options, (line) => heard.push({ line, connection: 1 }), write),
  );
  stream.on("error", () => {});
  return {
    address: `ASRL${pair.a}::INSTR`,
    heard,
    connections: 1,
    say: write,
    drop: pair.hangUp,
    close: async () => {
      stream.destroy();
      await pair.close();
    },
  };
}
