import { readFile } from "node:fs/promises";
import { type IncomingHttpHeaders, request } from "node:http";
import type { Trip } from "../../shared/plan.ts";
import { WIRE_PROTOCOL, type WireAnswer, type WirePreview, type WireUp } from "../../shared/wire.ts";
import type { Simulation } from "../../src/simulator/start-simulation.ts";
import { noteRun } from "../note-run.ts";
import { PageClient } from "../wire/wire-rig.ts";
import { type RunningProgram, startProgram } from "./run-program.ts";

type RunRequest = Extract<WireUp, { type: "preview" }>["request"];
type Started = { result: "started"; run: string };

/** The program's daemon, running, and the ways to it that a script has. */
export interface Served {
  program: RunningProgram;
  url: string;
  port: number;
  token: string;
  /** A script's socket that has said hello and holds its snapshot, which is answered with it. */
  script(): Promise<Script>;
  ask(path: string, headers?: Record<string, string>, method?: string): Promise<{ status: number; text: string }>;
  /** Opens a job and answers with its id. */
  newJob(title: string): Promise<string>;
}

/** Starts `serve --json` with these options and waits until it says where it is. */
export async function serveProgram(args: readonly string[], data: string): Promise<Served> {
  const program = startProgram(["serve", "--json", ...args, "--data", data]);
  await program.until("out", /\n/);
  const { url } = JSON.parse(program.said.out.split("\n")[0] ?? "") as { url: string };
  const port = Number(new URL(url).port);
  const token = (await readFile(`${data}/run/token`, "utf8")).trim();
  return {
    program,
    url,
    port,
    token,
    script: () => Script.open(port, token),
    ask: (path, headers, method = "GET") =>
      askHttp({ port, path, method, headers: headers ?? { authorization: `Bearer ${token}` } }),
    newJob: async (title) => {
      const headers = { authorization: `Bearer ${token}`, "content-type": "application/json" };
      const reply = await askHttp({
        port,
        path: "/api/jobs",
        method: "POST",
        headers,
        body: JSON.stringify({ title }),
      });
      return (JSON.parse(reply.text) as { job: string }).job;
    },
  };
}

export class Script {
  readonly client: PageClient;
  readonly #waiting = new Map<string, (answer: WireAnswer) => void>();
  #count = 0;
  #lease: number | null = null;
  #daemonAheadMs = 0;

  private constructor(client: PageClient) {
    this.client = client;
    // Several commands may be under way at once.
    client.socket.on("message", (data: Buffer) => {
      const message = JSON.parse(data.toString()) as { type: string; id: string; answer: WireAnswer };
      if (message.type === "answer") this.#waiting.get(message.id)?.(message.answer);
      // As a page does: control is kept as long as it is heard of.
      if (message.type === "beat" && this.#lease !== null) client.send({ type: "renew-lease", lease: this.#lease });
    });
  }

  static async open(port: number, token: string): Promise<Script> {
    const script = new Script(await PageClient.open(port, { authorization: `Bearer ${token}` }));
    const { nowMs } = await script.client.next("hello");
    script.#daemonAheadMs = nowMs - performance.now();
    script.client.send({ type: "hello", protocol: WIRE_PROTOCOL, nonce: null });
    return script;
  }

  async takeLease(): Promise<number> {
    const answer = await this.#command({ type: "take-lease" });
    if (answer.result !== "lease") throw new Error(`no lease: ${JSON.stringify(answer)}`);
    this.#lease = answer.lease;
    return answer.lease;
  }

  async preview(asked: RunRequest): Promise<WirePreview> {
    const answer = await this.#command({ type: "preview", request: asked });
    if (answer.result !== "preview") throw new Error(`no preview: ${JSON.stringify(answer)}`);
    return answer.preview;
  }

  /** Sends a start, answered when it began or was refused; `confirmed` as in the preview. */
  start(asked: RunRequest, preview: Pick<WirePreview, "feeds">, lease: number): Promise<WireAnswer> {
    return this.#command({
      type: "start-run",
      lease,
      deadlineMs: performance.now() + this.#daemonAheadMs + 5_000,
      request: asked,
      cautionsRead: true,
      confirmed: preview.feeds.map(({ feed, volts, limitAmps }) => ({ feed, volts, limitAmps })),
    });
  }

  nullLeads(lease: number): Promise<WireAnswer> {
    const deadlineMs = performance.now() + this.#daemonAheadMs + 5_000;
    return this.#command({ type: "null-leads", lease, deadlineMs, job: null });
  }

  cut(): Promise<WireAnswer> {
    return this.#command({ type: "cut" });
  }

  stop(): Promise<WireAnswer> {
    return this.#command({ type: "stop" });
  }

  answer(question: number, yes: boolean, lease: number): Promise<WireAnswer> {
    const deadlineMs = performance.now() + this.#daemonAheadMs + 5_000;
    return this.#command({ type: "answer", lease, deadlineMs, question, yes });
  }

  #command(message: object): Promise<WireAnswer> {
    this.#count += 1;
    const id = `script-${this.#count}`;
    return new Promise((resolve) => {
      this.#waiting.set(id, resolve);
      this.client.send({ ...message, id });
    });
  }
}

export const isStarted = (answer: WireAnswer): answer is Started => answer.result === "started";

/** What a technician would ask of the page on this simulated bench: everything measured and stated. */
export const askedOf = (simulation: Simulation, more: Partial<RunRequest> = {}): RunRequest => ({
  board: null,
  coldOhms: simulation.coldOhms,
  conditions: {
    host: simulation.scenario.conditions.host ?? "unknown",
    fans: simulation.scenario.conditions.fans ?? "unknown",
    cooler: "cooler",
    polarityChecked: true,
    commonReturn: true,
    sidebandStrapped: true,
    pairsUnplugged: true,
  },
  waiver: null,
  watchSeconds: 1,
  keepOn: false,
  job: null,
  ...more,
});

/** The waiver of every condition that a preview shows as not done, each by its name. */
export const waiverFor = (preview: WirePreview): NonNullable<RunRequest["waiver"]> => ({
  reason: "a test on a simulated bench",
  items: preview.permit.items.filter((each) => each.state !== "holds").map((each) => each.id),
});

/** How often a run that the machine had no time for is done again. */
const MOST_TRIES = 5;

/**
 * Does a run in real time again where this machine, not the board, ended it: a trip that says nothing of the board. An
 * end that is the board's, or that has no trip, is answered at once.
 */
export async function onceInTime<T extends { trip: Trip | null }>(run: () => Promise<T>): Promise<T> {
  for (let tries = 1; ; tries++) {
    const result = await run();
    if (tries === MOST_TRIES || result.trip === null || result.trip.board) {
      noteRun(null);
      return result;
    }
    noteRun(result.trip.because);
  }
}

/** The bench processes a daemon has now, by its children: the guardian is a child of theirs. */
export async function benchProcessesOf(program: RunningProgram): Promise<number[]> {
  const pid = program.child.pid ?? -1;
  const children = await readFile(`/proc/${pid}/task/${pid}/children`, "utf8");
  return children.trim().split(" ").filter(Boolean).map(Number);
}

function askHttp(options: {
  port: number;
  path: string;
  method: string;
  headers: Record<string, string>;
  body?: string;
}): Promise<{ status: number; text: string; headers: IncomingHttpHeaders }> {
  const { body, ...asking } = options;
  return new Promise((resolve, reject) => {
    const asked = request({ host: "127.0.0.1", ...asking }, (reply) => {
      let text = "";
      reply.setEncoding("utf8").on("data", (chunk: string) => {
        text += chunk;
      });
      reply.on("end", () => resolve({ status: reply.statusCode ?? 0, text, headers: reply.headers }));
    });
    asked.on("error", reject);
    asked.end(body);
  });
}
