import { Diagnosis, type DiagnosisReadings } from "../../shared/record/diagnosis.ts";
import type { JobEvent, JobRecord } from "../../shared/record/job.ts";
import type { AttachQuery, FindQuery } from "../../shared/wire-http.ts";
import {
  JobDiagnosis,
  WireAttached,
  WireCapturePoints,
  WireComparison,
  WireFoundJobs,
  WireJobSheet,
  WireStoredRun,
} from "../../shared/wire-job.ts";
import { messageOf } from "../../shared/words/message-of.ts";
import { askDaemon } from "../page/session.ts";
import type { Span } from "../plot/plot-span.ts";
import { say } from "../words/shell.ts";

/** The outcome of a request to the record: the answer, or the reason why there is none, as a sentence. */
export type Asked<Value> = { ok: true; value: Value } | { ok: false; because: string };

const MOST_FILE_BYTES = 20 * 1024 * 1024;

/** The page's way to the job record: plain requests, each answered; what comes is checked by schema. */
export const jobRecord = {
  find: (query: FindQuery): Promise<Asked<WireFoundJobs>> =>
    ask(`/api/find-jobs?${new URLSearchParams(query as Record<string, string>)}`, {}, WireFoundJobs),
  /** The last photograph of a job; null: it has none. */
  async picture(job: string): Promise<Blob | null> {
    const reply = await askDaemon(`/api/jobs/${job}/picture`).catch(() => null);
    return reply?.status === 200 ? await reply.blob() : null;
  },
  /** An event as it reads now, to be put right. */
  async event(job: string, id: string): Promise<Asked<JobEvent>> {
    const asked = await ask(`/api/jobs/${job}`, {});
    // Checked when it is filed: nothing of it is shown but what the person may write.
    const log = asked.ok ? (asked.value as Pick<JobRecord, "log">).log : [];
    const corrected = log.findLast(({ event }) => event.kind === "correction" && event.of === id)?.event;
    const found = corrected?.kind === "correction" ? corrected.event : log.find((each) => each.id === id)?.event;
    if (found !== undefined) return { ok: true, value: found };
    return asked.ok ? { ok: false, because: say("record.no-entry") } : asked;
  },
  sheet: (job: string): Promise<Asked<WireJobSheet>> => ask(`/api/jobs/${job}/sheet`, {}, WireJobSheet),
  run: (job: string, run: string): Promise<Asked<WireStoredRun>> =>
    ask(`/api/jobs/${job}/runs/${run}`, {}, WireStoredRun),
  /** A run's capture in a window of time, seconds, thinned to so many points a feed. */
  points: (job: string, capture: string, { from, to }: Span, most: number): Promise<Asked<WireCapturePoints>> =>
    ask(
      `/api/jobs/${job}/captures/${capture}/points?${new URLSearchParams({ from: String(Math.max(0, from * 1000)), to: String(Math.max(0, to * 1000)), most: String(most) })}`,
      {},
      WireCapturePoints,
    ),
  compare: (a: string, b: string): Promise<Asked<WireComparison>> =>
    ask(`/api/compare?${new URLSearchParams({ a, b })}`, {}, WireComparison),

  async newJob(title: string): Promise<Asked<string>> {
    const asked = await ask("/api/jobs", json({ title: title.trim() === "" ? null : title }));
    return asked.ok ? { ok: true, value: (asked.value as { job: string }).job } : asked;
  },

  /** Files an event; the id makes a second try of the same request harmless. */
  file: (job: string, event: JobEvent): Promise<Asked<unknown>> =>
    ask(`/api/jobs/${job}/events`, json({ id: crypto.randomUUID(), event })),

  /** Keeps a file; answered with what it shows. `of` says of a host look what it does not say itself. */
  async attach(job: string, file: File, of: Omit<AttachQuery, "name">): Promise<Asked<WireAttached>> {
    if (file.size > MOST_FILE_BYTES) return { ok: false, because: say("record.too-large", { name: file.name }) };
    const said = Object.entries({ ...of, name: file.name }).filter(([, value]) => String(value).trim() !== "");
    const headers = { "content-type": "application/octet-stream" };
    const query = new URLSearchParams(said.map(([key, value]) => [key, String(value)]));
    return ask(`/api/jobs/${job}/attachments?${query}`, { method: "POST", headers, body: file }, WireAttached);
  },

  /** The diagnosis from all that is filed. */
  diagnosis: (job: string): Promise<Asked<JobDiagnosis>> => ask(`/api/jobs/${job}/diagnosis`, {}, JobDiagnosis),
  /** Marks a point on a photograph of the board; null takes the mark away. */
  mark: (photo: number, point: string, at: { x: number; y: number } | null): Promise<Asked<unknown>> =>
    ask(`/api/board/photos/${photo}/marks`, json({ point, at })),
  /** The diagnosis from the board's readings, weighed anew. */
  diagnose: (readings: DiagnosisReadings): Promise<Asked<Diagnosis>> => ask("/api/diagnose", json(readings), Diagnosis),

  /** A file that the daemon makes: the readings of a run as CSV, or the whole job. */
  async made(path: string): Promise<Asked<Blob>> {
    const reply = await askDaemon(path).catch(() => null);
    if (reply?.ok === true) return { ok: true, value: await reply.blob() };
    const told = (await reply?.json().catch(() => null)) as { error?: unknown } | null | undefined;
    return { ok: false, because: typeof told?.error === "string" ? told.error : say("record.unreachable") };
  },

  async report(job: string): Promise<Asked<{ name: string; html: string }>> {
    const asked = await ask(`/api/jobs/${job}/report`, json({}));
    return asked.ok ? { ok: true, value: asked.value as { name: string; html: string } } : asked;
  },
};

/** The lines that tell a person what a kept file shows; none for a file that shows nothing of the board. */
export const foundIn = ({ found, notes }: WireAttached): string[] => [...(found === null ? [] : [found]), ...notes];

const json = (body: unknown): RequestInit => ({
  method: "POST",
  headers: { "content-type": "application/json" },
  body: JSON.stringify(body),
});

async function ask<Value = unknown>(
  path: string,
  init: RequestInit,
  schema?: { parse(document: unknown): Value },
): Promise<Asked<Value>> {
  try {
    const reply = await askDaemon(path, init);
    const document: unknown = await reply.json();
    if (!reply.ok) {
      const { error } = document as { error?: unknown };
      return {
        ok: false,
        because: typeof error === "string" ? error : say("record.answered", { status: reply.status }),
      };
    }
    return { ok: true, value: schema === undefined ? (document as Value) : schema.parse(document) };
  } catch (cause) {
    return {
      ok: false,
      because: say("record.unreachable.why", { because: messageOf(cause) }),
    };
  }
}
