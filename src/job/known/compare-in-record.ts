import { BenchError, quoted } from "../../../shared/bench-error.ts";
import type { JobStore } from "../store/job-store.ts";
import { type JudgedRun, judgedRuns } from "../store/runs-of.ts";
import { compareRuns, type RunComparison } from "./compare-runs.ts";

export interface ComparedRun {
  job: string;
  run: string;
  capture: string;
  startedAt: string;
}

export interface RecordComparison extends RunComparison {
  a: ComparedRun;
  b: ComparedRun;
}

interface Found {
  job: string;
  run: JudgedRun;
}

/**
 * Compares what two ids stand for: a job stands for its last run with a verdict, a capture for its own; a job twice for its
 * first and its last. Throws BenchError "bad-input" for an id that is neither, or without a verdict.
 */
export async function compareInRecord(store: JobStore, a: string, b: string): Promise<RecordComparison> {
  const [one, other] = [await runsBehind(store, a), await runsBehind(store, b)];
  const sameJob = one.whole && other.whole && one.job === other.job;
  const first = found(one.job, sameJob ? one.runs.at(0) : one.runs.at(-1), a);
  const second = found(other.job, other.runs.at(-1), b);
  if (first.run === second.run || first.run.header.run === second.run.header.run) {
    throw new BenchError("bad-input", `${quoted(a)} and ${quoted(b)} are the same run; name two different ones`);
  }
  return { a: told(first), b: told(second), ...compareRuns(first.run, second.run) };
}

async function runsBehind(store: JobStore, text: string): Promise<{ job: string; runs: JudgedRun[]; whole: boolean }> {
  const job = await store.findJob(text).catch((error: unknown) => {
    if (error instanceof BenchError && error.detail["fits"] === undefined) return null;
    throw error;
  });
  if (job !== null) return { job, runs: judgedRuns(await store.events(job)), whole: true };
  const capture = await store.findCapture(text).catch((error: unknown) => {
    if (error instanceof BenchError && error.detail["fits"] !== undefined) throw error;
    throw new BenchError(
      "bad-input",
      `${quoted(text)} is neither a job nor a capture of this record; "job list" shows the jobs`,
    );
  });
  const runs = judgedRuns(await store.events(capture.job)).filter((run) => run.header.capture === capture.id);
  return { job: capture.job, runs, whole: false };
}

function found(job: string, run: JudgedRun | undefined, text: string): Found {
  if (run === undefined) throw new BenchError("bad-input", `${quoted(text)} has no run with a verdict`);
  return { job, run };
}

const told = ({ job, run: { header } }: Found): ComparedRun => ({
  job,
  run: header.run,
  capture: header.capture,
  startedAt: header.startedAt,
});
