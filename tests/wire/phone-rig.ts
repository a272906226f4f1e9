import { readdir } from "node:fs/promises";
import { type IncomingHttpHeaders, request } from "node:http";
import { join } from "node:path";
import type { WireAnswer } from "../../shared/wire.ts";
import { jobsForPage } from "../../src/daemon/page/jobs-for-page.ts";
import { recordReads } from "../../src/daemon/reads/record-reads.ts";
import { eventsOf } from "../../src/job/store/current-events.ts";
import type { JobStore } from "../../src/job/store/job-store.ts";
import { withStore } from "../job/sample-job.ts";
import { HandClock, type PageClient, WireRig } from "./wire-rig.ts";

export interface PhoneReply {
  status: number;
  text: string;
  headers: IncomingHttpHeaders;
}

/** PNG, third edition (W3C), 5.2: the signature; what follows is as long as asked for. */
export const picture = (bytes = 5_000): Buffer =>
  Buffer.concat([Buffer.from([137, 80, 78, 71, 13, 10, 26, 10]), Buffer.alloc(bytes - 8, 7)]);

/** A wire over a real record that takes photographs from phones, a page in control of it, and the phone's side. */
export interface PhoneBench {
  rig: WireRig;
  store: JobStore;
  clock: HandClock;
  page: PageClient;
  job: string;
  port: number;
  /** Makes a code by the page in control. */
  code(job?: string): Promise<WireAnswer>;
  ask(
    path: string,
    options?: { method?: string; headers?: Record<string, string>; body?: Buffer | string },
  ): Promise<PhoneReply>;
  /** Uses a code: the pass, or the status. */
  use(code: string): Promise<string | number>;
  upload(pass: string, body: Buffer, query?: string, headers?: Record<string, string>): Promise<PhoneReply>;
  /** What is filed of the job's photographs. */
  filed(): Promise<{ name: string; caption: string | null; by?: string; bytes: number; mediaType: string }[]>;
  /** Names of files in the folder of attachments, half-written ones too. */
  kept(): Promise<string[]>;
}

export const withPhone = (work: (bench: PhoneBench) => Promise<void>): Promise<void> =>
  withStore(async (store) => {
    const clock = new HandClock();
    let rig: WireRig | null = null;
    const desk = jobsForPage({
      store,
      reads: recordReads(store),
      board: () => "Kestrel K2",
      boardFile: () => null,
      onChange: (job) => rig?.facade.say({ type: "job-changed", job }),
      onRepair: () => {},
    });
    rig = await WireRig.open({ jobsForPage: desk, clock, phone: { host: "127.0.0.1", port: 0 } });
    const { port: portText } = new URL(rig.wire.phoneAddresses[0] ?? "");
    const port = Number(portText);
    const page = await rig.page();
    const lease = await page.takeLease();
    const job = await store.newJob({ title: "no picture" });
    const origin = `http://127.0.0.1:${port}`;
    let count = 0;
    const ask: PhoneBench["ask"] = (path, { method = "GET", headers = {}, body } = {}) =>
      new Promise((resolve, reject) => {
        const asked = request(
          {
            ...{ host: "127.0.0.1", port, path, method },
            headers: {
              ...(body === undefined ? {} : { "content-length": String(Buffer.byteLength(body)) }),
              ...(method === "GET" ? {} : { origin }),
              ...headers,
            },
          },
          (reply) => {
            let text = "";
            reply.setEncoding("utf8").on("data", (piece: string) => {
              text += piece;
            });
            reply.on("end", () => resolve({ status: reply.statusCode ?? 0, text, headers: reply.headers }));
          },
        );
        asked.on("error", reject);
        asked.end(body);
      });
    try {
      await work({
        ...{ rig, store, clock, page, job, port, ask },
        code: async (wanted = job) => {
          const id = `code-${++count}`;
          page.send({ type: "phone-code", id, lease, deadlineMs: clock.nowMs() + 3_000, job: wanted });
          return await page.answerTo(id);
        },
        use: async (code) => {
          const reply = await ask("/code", {
            method: "POST",
            headers: { "content-type": "application/json" },
            body: JSON.stringify({ code }),
          });
          return reply.status === 200 ? (JSON.parse(reply.text) as { pass: string }).pass : reply.status;
        },
        upload: (pass, body, query = "name=q12.jpg", headers = {}) =>
          ask(`/photographs?${query}`, {
            method: "POST",
            headers: { "content-type": "application/octet-stream", authorization: `Bearer ${pass}`, ...headers },
            body,
          }),
        filed: async () => eventsOf(await store.events(job), "attachment"),
        kept: async () =>
          (
            await readdir(join(store.dir, "attachments"), { recursive: true, withFileTypes: true }).catch(() => [])
          ).flatMap((each) => (each.isFile() ? [each.name] : [])),
      });
    } finally {
      await rig.close();
    }
  });

/** The letters of a code that was made. */
export function lettersOf(answer: WireAnswer): string {
  if (answer.result !== "phone-code") throw new Error(`no code: ${JSON.stringify(answer)}`);
  return answer.code;
}
