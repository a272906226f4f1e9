import { randomUUID } from "node:crypto";
import type { IncomingMessage } from "node:http";
import type { Duplex } from "node:stream";
import { type RawData, type WebSocket, WebSocketServer } from "ws";
import type { Clock } from "../../shared/clock.ts";
import { SESSION_ENDED, WIRE_PROTOCOL, type WireAnswer, type WireDown, WireUp } from "../../shared/wire.ts";
import { type Access, LIVE_PROTOCOL, type PageSession } from "./access.ts";
import type { PageBench } from "./bench-facade.ts";
import { CommandGate, type Sender } from "./command-gate.ts";
import { PageSocket } from "./page-socket.ts";
import type { PhoneDesk } from "./phone/phone-desk.ts";
import { refusalOf } from "./request-rules.ts";

export interface SocketServer {
  readonly gate: CommandGate;
  /** Takes an HTTP upgrade: refuses it in plain HTTP, or makes it a page's socket. */
  upgrade(request: IncomingMessage, socket: Duplex, head: Buffer): void;
  /** Closes every page of a session that was ended. */
  endSession(session: string): void;
  /** Tells every page how photographs by phone stand. */
  tellPhone(): void;
  close(): void;
}

const MOST_SOCKETS = 32;
/** Room for the longest board file as text in JSON, with its quotes escaped. */
const MOST_MESSAGE_BYTES = 1024 * 1024;
const HELLO_MS = 5_000;
const TICK_MS = 1_000;

/**
 * The live half of the wire. Every limit is set by hand, since the library's own are made for friendly peers (100 MiB a
 * message, 16 384 fragments); nobody gets as far as its parser without a session.
 */
export function socketServer(options: {
  facade: PageBench;
  access: Access;
  clock: Clock;
  /** null: no phone may send photographs. */
  phone: PhoneDesk | null;
  port: () => number;
  onProblem: (text: string, detail: Record<string, unknown>) => void;
}): SocketServer {
  const { facade, access, clock } = options;
  const pages = new Map<string, PageSocket>();
  const server = new WebSocketServer({
    noServer: true,
    maxPayload: MOST_MESSAGE_BYTES,
    maxFragments: 64,
    maxBufferedChunks: 1024,
    perMessageDeflate: false,
    clientTracking: false,
    // The other one that a page offers is its bearer, and is never sent back.
    handleProtocols: (offered) => (offered.has(LIVE_PROTOCOL) ? LIVE_PROTOCOL : false),
  });
  const gate = new CommandGate({
    facade,
    clock,
    phone: options.phone,
    onLeaseLost: (connection) => {
      const session = pages.get(connection)?.session.id ?? connection;
      options.onProblem("the operator's page has closed", { session });
      facade.operatorGone?.(session);
      tellLease();
    },
    onAsked: (holder, by) => pages.get(holder)?.send({ type: "lease-asked", by }),
    onOffered: (connection, by) => pages.get(connection)?.send({ type: "lease-offered", by }),
  });

  function tellLease(): void {
    const { holder } = gate.lease;
    const by = holder === null ? undefined : pages.get(holder)?.session.name;
    for (const page of pages.values()) {
      if (page.greeted) {
        page.send({
          type: "lease",
          holder: holder === null ? "nobody" : holder === page.id ? "you" : "other",
          mayOperate: page.session.mayOperate,
          ...(holder === page.id ? { lease: gate.lease.number } : by === undefined ? {} : { by }),
        });
      }
    }
  }

  const unsubscribe = facade.subscribe((message: WireDown) => {
    let text: string | undefined;
    for (const page of pages.values()) {
      if (!page.greeted) continue;
      text ??= JSON.stringify(message);
      page.send(message, text);
    }
  });
  let callOffTick = clock.after(TICK_MS, tick);
  function tick(): void {
    callOffTick = clock.after(TICK_MS, tick);
    for (const page of pages.values()) {
      page.tick();
      if (page.greeted) page.send({ type: "beat", nowMs: clock.nowMs(), wallMs: Date.now() });
    }
  }

  function upgrade(request: IncomingMessage, socket: Duplex, head: Buffer): void {
    // Without a listener a reset during the handshake would end the process.
    socket.on("error", () => socket.destroy());
    const asked = { method: request.method ?? "", url: request.url ?? "", rawHeaders: request.rawHeaders };
    const session = access.sessionOf(asked);
    const refusal = refusalOf(asked, { port: options.port(), needsOrigin: session?.byToken !== true, isPage: false });
    if (refusal !== null) return refuse(socket, refusal.status, refusal.because);
    if (asked.url !== "/live") return refuse(socket, 404, "nothing is here");
    if (session === null) return refuse(socket, 401, "no session");
    if (pages.size >= MOST_SOCKETS) return refuse(socket, 503, "too many pages are open");
    server.handleUpgrade(request, socket, head, (opened) => welcome(opened, session));
  }

  function welcome(socket: WebSocket, session: PageSession): void {
    const page = new PageSocket({ id: randomUUID(), session, socket, clock });
    pages.set(page.id, page);
    const callOffHello = clock.after(HELLO_MS, () => {
      if (!page.greeted) page.end();
    });
    socket.on("error", (error) => options.onProblem("a socket failed", { because: error.message }));
    socket.on("close", () => {
      callOffHello();
      const held = gate.lease.holder === page.id;
      // While it is still listed, so that the loss can be told with the session's name.
      gate.gone(page.id);
      pages.delete(page.id);
      if (held) tellLease();
    });
    socket.on("message", (data, isBinary) => receive(page, data, isBinary));
    page.send({ type: "hello", protocol: WIRE_PROTOCOL, nowMs: clock.nowMs(), wallMs: Date.now() });
  }

  function receive(page: PageSocket, data: RawData, isBinary: boolean): void {
    if (!page.budget.spend()) {
      options.onProblem("a socket sent too many messages", { session: page.session.id });
      page.close(1008, "too many messages");
      return page.end();
    }
    if (isBinary) return page.close(1003, "text only");
    const document = parsed(data.toString());
    if (document === undefined) return page.close(1008, "not JSON");
    const from: Sender = { connection: page.id, session: page.session };

    // A cut is a cut, even with a key that nobody knows: off is never refused for its spelling.
    if (page.greeted && isRecord(document) && document["type"] === "cut") {
      const id = typeof document["id"] === "string" ? document["id"].slice(0, 64) : "cut";
      return answer(page, id, gate.cut(id, from));
    }
    const message = WireUp.safeParse(document);
    if (!message.success) {
      const id = isRecord(document) && typeof document["id"] === "string" ? document["id"] : null;
      if (!page.greeted || id === null) return page.close(1008, "not a message of this protocol");
      const [first] = message.error.issues;
      const because = `The daemon does not understand this: ${first?.path.join(".") ?? ""} ${first?.message ?? ""}`;
      return answer(page, id.slice(0, 64), Promise.resolve({ result: "refused", code: "bad-message", because }));
    }
    if (message.data.type === "hello") return greet(page, message.data);
    if (!page.greeted) return page.close(1008, "the first message should be hello");
    if (message.data.type === "cut") return;
    if (message.data.type === "renew-lease") {
      if (!gate.lease.renew(page.id, message.data.lease)) tellLease();
      return;
    }
    const { holder: before } = gate.lease;
    answer(page, message.data.id, gate.take(message.data, from));
    if (gate.lease.holder !== before) tellLease();
  }

  function greet(page: PageSocket, hello: Extract<WireUp, { type: "hello" }>): void {
    // A page of another protocol has the daemon's hello and shows its banner; it gets nothing it could misread.
    if (hello.protocol !== WIRE_PROTOCOL) return page.close(4000, `this daemon speaks protocol ${WIRE_PROTOCOL}`);
    if (page.greeted) return;
    page.greeted = true;
    page.send({ type: "snapshot", snapshot: facade.snapshot() });
    tellLease();
    // Not waited for: what is true of the bench stands behind no file.
    void facade.setOnce?.read().then((set) => page.send({ type: "set-once", set }));
    if (options.phone !== null) page.send({ type: "phone", phone: options.phone.look() });
  }

  function answer(page: PageSocket, id: string, outcome: Promise<WireAnswer>): void {
    void outcome.then((answered) => page.send({ type: "answer", id, answer: answered }));
  }

  return {
    gate,
    upgrade,
    endSession: (session) => {
      for (const page of pages.values())
        if (page.session.id === session) page.close(SESSION_ENDED, "the session was ended");
    },
    tellPhone: () => {
      if (options.phone === null) return;
      const message: WireDown = { type: "phone", phone: options.phone.look() };
      for (const page of pages.values()) if (page.greeted) page.send(message);
    },
    close: () => {
      callOffTick();
      unsubscribe();
      for (const page of pages.values()) page.end();
      server.close();
    },
  };
}

function refuse(socket: Duplex, status: number, because: string): void {
  socket.end(
    `HTTP/1.1 ${status} Refused\r\nConnection: close\r\nContent-Type: text/plain\r\nContent-Length: ${because.length}\r\n\r\n${because}`,
  );
}

function parsed(text: string): unknown {
  try {
    return JSON.parse(text);
  } catch {
    return undefined;
  }
}

const isRecord = (value: unknown): value is Record<string, unknown> => typeof value === "object" && value !== null;
