import { createHash, randomUUID } from "node:crypto";
import { existsSync } from "node:fs";
import { open, rename, rm, writeFile } from "node:fs/promises";
import { BenchError, quoted } from "../../../shared/bench-error.ts";
import { makeReport } from "../../job/report/make-report.ts";
import type { JobStore } from "../../job/store/job-store.ts";
import { safeName } from "../../job/store/safe-name.ts";
import { storageProblem } from "../../job/store/storage-problem.ts";
import { lookingAtRecord, withRecord } from "./with-record.ts";

export interface WrittenReport {
  job: string;
  out: string;
  sha256: string;
  /** Whether the record now says that the report was made; false where another process owns it. */
  filed: boolean;
}

const REPORT_START = '<!doctype html>\n<html lang="en"><head><meta charset="utf-8">';

/**
 * Writes the report of a job to `out` and notes in the job that it was made, where this process can own the record. Throws
 * BenchError "bad-input" where a file that is no report is at `out`.
 */
export async function writeJobReport(data: string | undefined, job: string, out: string): Promise<WrittenReport> {
  const write = async (store: JobStore): Promise<WrittenReport> => {
    const id = await store.findJob(job);
    const report = await makeReport(store, id);
    await placeReport(report, out);
    const sha256 = createHash("sha256").update(report).digest("hex");
    if (!store.readOnly) await store.appendEvent(id, { kind: "report-made", name: safeName(out), sha256 });
    return { job: id, out, sha256, filed: !store.readOnly };
  };
  try {
    return await withRecord(data, write);
  } catch (error) {
    if (!(error instanceof BenchError) || error.code !== "data-in-use") throw error;
  }
  return await lookingAtRecord(data, write);
}

async function placeReport(report: string, out: string): Promise<void> {
  if (existsSync(out) && !(await startsAsReport(out))) {
    throw new BenchError(
      "bad-input",
      `Cannot write the report to ${quoted(out)}: another file is there; nothing was written, give another name`,
    );
  }
  const making = `${out}.making-${randomUUID()}`;
  try {
    await writeFile(making, report, { flag: "wx" });
    await rename(making, out);
  } catch (error) {
    await rm(making, { force: true });
    throw storageProblem(error, `Cannot write the report to ${quoted(out)}`);
  }
}

async function startsAsReport(path: string): Promise<boolean> {
  const file = await open(path, "r").catch(() => null);
  if (file === null) return false;
  try {
    const head = Buffer.alloc(REPORT_START.length);
    const { bytesRead } = await file.read(head, 0, head.length, 0);
    return head.subarray(0, bytesRead).toString("utf8") === REPORT_START;
  } catch {
    return false;
  } finally {
    await file.close();
  }
}
