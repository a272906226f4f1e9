import { BenchError } from "../../../shared/bench-error.ts";
import type { MeterReading } from "../../../shared/meter-reading.ts";
import type { LeadNull } from "../../../shared/record/lead-null.ts";
import type { JobStore } from "../../job/store/job-store.ts";
import { judgeLeadNull } from "../../verdict/lead-null.ts";
import type { BenchProcess } from "../process/bench-process.ts";
import { keepLeadNull } from "./lead-null-file.ts";

/** The part of the bench process's client that this needs. */
interface MeterSide extends Pick<BenchProcess, "readMeter" | "restMeter"> {
  on(event: "meter-readings", listener: (message: { readings: MeterReading[] }) => void): unknown;
  off(event: "meter-readings", listener: (message: { readings: MeterReading[] }) => void): unknown;
}

export interface TakeLeadNullOptions {
  client: MeterSide;
  /** The meter's answer to `*IDN?`. */
  meter: string;
  directory: string;
  /** The job it is filed with too; null for none. */
  job: { store: JobStore; id: string } | null;
  /** The time the tips may take to meet, milliseconds; default 15,000. */
  withinMs?: number;
}

const READINGS = 10;
const WITHIN_MS = 15_000;

/**
 * Reads ten ohms readings of the probes held together, and keeps their mean in the data directory and with the job.
 * Throws BenchError "bad-input" with the reason where they are no lead null, or do not come in time; what was kept before
 * stays then.
 */
export async function takeLeadNull(
  options: TakeLeadNullOptions,
): Promise<{ leadNull: LeadNull; remark: string | null }> {
  const { client, meter, directory, job } = options;
  const judged = judgeLeadNull(await shortedReadings(options));
  if (judged.kind === "refused")
    throw new BenchError("bad-input", `Cannot null the leads: ${judged.because}; nothing was energised`);
  await client.restMeter();
  const { ohms, spreadOhms } = judged;
  const leadNull: LeadNull = { version: 1, ohms, spreadOhms, at: new Date().toISOString(), meter };
  await keepLeadNull(directory, leadNull);
  if (job !== null) await job.store.appendEvent(job.id, { kind: "lead-null", ohms, spreadOhms, meter });
  return { leadNull, remark: judged.remark };
}

/** The readings from the first contact on; an open among them is told as null. */
async function shortedReadings({ client, withinMs = WITHIN_MS }: TakeLeadNullOptions): Promise<(number | null)[]> {
  const values: (number | null)[] = [];
  let take: (message: { readings: MeterReading[] }) => void = () => {};
  let late: NodeJS.Timeout | undefined;
  try {
    const enough = new Promise<void>((resolve) => {
      late = setTimeout(resolve, withinMs);
      take = ({ readings }) => {
        for (const { kind, value } of readings) {
          if (values.length === 0 && kind !== "value") continue;
          values.push(value);
        }
        if (values.length >= READINGS) resolve();
      };
    });
    client.on("meter-readings", take);
    await client.readMeter({
      function: "ohms",
      rangeUpTo: null,
      powerLineCycles: null,
      channel: null,
      leadNullOhms: null,
    });
    await enough;
    return values.slice(0, READINGS);
  } finally {
    clearTimeout(late);
    client.off("meter-readings", take);
  }
}
