import { mkdir, mkdtemp, rm, writeFile } from "node:fs/promises";
import { type IncomingHttpHeaders, request } from "node:http";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { WebSocket } from "ws";
import { WIRE_PROTOCOL, WireDown } from "../../shared/wire.ts";
import type { PageJobs } from "../../src/wire/job-desk.ts";
import { startWire, type Wire, type WireOptions } from "../../src/wire/start-wire.ts";
import { ScriptedFacade } from "./scripted-facade.ts";

export const TOKEN = "a1".repeat(32);

export interface Reply {
  status: number;
  headers: IncomingHttpHeaders;
  text: string;
}

/** A served wire over a scripted bench, with a small page in a folder of its own and a secret file beside it. */
export class WireRig {
  readonly facade: ScriptedFacade;
  readonly wire: Wire;
  readonly #folder: string;

  private constructor(facade: ScriptedFacade, wire: Wire, folder: string) {
    this.facade = facade;
    this.wire = wire;
    this.#folder = folder;
  }

  static async open({
    jobsForPage,
    ...options
  }: Partial<WireOptions> & { jobsForPage?: PageJobs } = {}): Promise<WireRig> {
    const folder = await mkdtemp(join(tmpdir(), "firstamp-wire-"));
    const pageDir = join(folder, "page");
    await mkdir(join(pageDir, "assets"), { recursive: true });
    await writeFile(join(pageDir, "index.html"), "<!doctype html><title>the page</title>");
    await writeFile(join(pageDir, "assets", "main-abcdef12.js"), "export {};");
    await writeFile(join(pageDir, "phone.html"), '<!doctype html><script src="/assets/phone-abcdef12.js"></script>');
    await writeFile(join(pageDir, "assets", "phone-abcdef12.js"), "export {};");
    await writeFile(join(pageDir, "notes.sqlite"), "not a page file");
    await writeFile(join(folder, "secret.html"), "beside the page");
    const facade = new ScriptedFacade();
    if (jobsForPage !== undefined) facade.jobsForPage = jobsForPage;
    const wire = await startWire({ facade, pageDir, token: TOKEN, ...options });
    return new WireRig(facade, wire, folder);
  }

  async close(): Promise<void> {
    await this.wire.close();
    await rm(this.#folder, { recursive: true, force: true });
  }

  get origin(): string {
    return `http://127.0.0.1:${this.wire.port}`;
  }

  /** One plain request; headers as given and nothing added but Host and the kind of the body: bytes, or JSON. */
  ask(
    path: string,
    options: { method?: string; headers?: Record<string, string>; body?: unknown } = {},
  ): Promise<Reply> {
    const isBytes = Buffer.isBuffer(options.body);
    const body = options.body === undefined ? undefined : isBytes ? options.body : JSON.stringify(options.body);
    return new Promise((resolve, reject) => {
      const asked = request(
        {
          host: "127.0.0.1",
          port: this.wire.port,
          path,
          method: options.method ?? "GET",
          headers: {
            host: `127.0.0.1:${this.wire.port}`,
            ...(body === undefined
              ? {}
              : {
                  "content-type": isBytes ? "application/octet-stream" : "application/json",
                  "content-length": String(Buffer.byteLength(body as string | Buffer)),
                }),
            ...options.headers,
          },
        },
        (reply) => {
          let text = "";
          reply.setEncoding("utf8");
          reply.on("data", (chunk: string) => {
            text += chunk;
          });
          reply.on("end", () => resolve({ status: reply.statusCode ?? 0, headers: reply.headers, text }));
        },
      );
      asked.on("error", reject);
      asked.end(body);
    });
  }

  /** A code exchanged as a page does it: the headers to send from now on. */
  async session(url: string = this.wire.newUrl()): Promise<{ authorization: string }> {
    const code = url.split("#k=")[1];
    const reply = await this.ask("/api/session", { method: "POST", headers: { origin: this.origin }, body: { code } });
    if (reply.status !== 200) throw new Error(`no session: ${reply.status} ${reply.text}`);
    return { authorization: `Bearer ${(JSON.parse(reply.text) as { bearer: string }).bearer}` };
  }

  /** A page that has said hello and holds its snapshot. */
  async page(session?: { authorization: string }): Promise<PageClient> {
    const client = await PageClient.open(this.wire.port, {
      ...(session ?? (await this.session())),
      origin: this.origin,
    });
    client.send({ type: "hello", protocol: WIRE_PROTOCOL });
    await client.next("snapshot");
    await client.next("lease");
    return client;
  }
}

/** The far end of a socket: what came, in order, and a way to wait for what is to come. */
export class PageClient {
  readonly socket: WebSocket;
  readonly closed: Promise<{ code: number; because: string }>;
  readonly #came: WireDown[] = [];
  #wake: (() => void)[] = [];

  private constructor(socket: WebSocket) {
    this.socket = socket;
    this.closed = new Promise((resolve) => {
      socket.on("close", (code, because) => resolve({ code, because: because.toString() }));
    });
    socket.on("error", () => undefined);
    socket.on("message", (data: Buffer) => {
      this.#came.push(WireDown.parse(JSON.parse(data.toString())));
      for (const wake of this.#wake.splice(0)) wake();
    });
    socket.on("close", () => {
      for (const wake of this.#wake.splice(0)) wake();
    });
  }

  static open(port: number, headers: Record<string, string>, path = "/live"): Promise<PageClient> {
    const socket = new WebSocket(`ws://127.0.0.1:${port}${path}`, { headers, perMessageDeflate: false });
    const client = new PageClient(socket);
    return new Promise((resolve, reject) => {
      socket.once("open", () => resolve(client));
      socket.once("unexpected-response", (_request, reply) => {
        reply.resume();
        reject(new Error(`refused with ${reply.statusCode}`));
      });
      socket.once("error", reject);
    });
  }

  send(message: unknown): void {
    this.socket.send(typeof message === "string" ? message : JSON.stringify(message));
  }

  /** The next message of a type, taken out of those that came. */
  async next<Type extends WireDown["type"]>(type: Type): Promise<Extract<WireDown, { type: Type }>> {
    for (;;) {
      const at = this.#came.findIndex((message) => message.type === type);
      if (at !== -1) return this.#came.splice(at, 1)[0] as Extract<WireDown, { type: Type }>;
      if (this.socket.readyState >= WebSocket.CLOSING) throw new Error(`closed before ${type} came`);
      await new Promise<void>((resolve) => this.#wake.push(resolve));
    }
  }

  /** The answer to the command with this id. */
  async answerTo(id: string): Promise<Extract<WireDown, { type: "answer" }>["answer"]> {
    for (;;) {
      const message = await this.next("answer");
      if (message.id === id) return message.answer;
    }
  }

  has(type: WireDown["type"]): boolean {
    return this.#came.some((message) => message.type === type);
  }

  async takeLease(id = "lease-1"): Promise<number> {
    this.send({ type: "take-lease", id });
    const answer = await this.answerTo(id);
    if (answer.result !== "lease") throw new Error(`no lease: ${JSON.stringify(answer)}`);
    return answer.lease;
  }
}

/** A clock that moves when it is told to. */
export class HandClock {
  #nowMs = 1_000;
  #due: { atMs: number; run: () => void }[] = [];

  nowMs(): number {
    return this.#nowMs;
  }

  after(ms: number, run: () => void): () => void {
    const entry = { atMs: this.#nowMs + ms, run };
    this.#due.push(entry);
    return () => {
      this.#due = this.#due.filter((each) => each !== entry);
    };
  }

  move(ms: number): void {
    const untilMs = this.#nowMs + ms;
    for (;;) {
      const next = this.#due.toSorted((a, b) => a.atMs - b.atMs)[0];
      if (next === undefined || next.atMs > untilMs) break;
      this.#due = this.#due.filter((each) => each !== next);
      this.#nowMs = next.atMs;
      next.run();
    }
    this.#nowMs = untilMs;
  }
}
