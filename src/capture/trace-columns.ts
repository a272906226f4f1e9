import type { DrawTrace } from "../../shared/draw-input.ts";
import type { Accuracy } from "../../shared/files/bench-file.ts";
import { StageName } from "../../shared/plan.ts";
import type { RegulationMode } from "../../shared/reading.ts";
import { readIntervalOf } from "../analysis/read-interval.ts";
import { mergeQuietRows } from "./merge-quiet-rows.ts";

/** One reading on its way into a trace; what is left out was not known. */
export interface TraceRow {
  atMs: number;
  /** NaN: no number came. */
  volts: number;
  amps: number;
  mode?: RegulationMode;
  setVolts?: number;
  limitAmps?: number;
  stage?: StageName;
}

/** The facts of a whole trace. */
export interface TraceConstants {
  together: boolean;
  leadOhms: number | null;
  leadExpandedOhms?: number | null;
  stepVolts: number | null;
  stepAmps: number | null;
  accuracy: Accuracy | null;
}

export const NOTHING_KNOWN: TraceConstants = {
  together: true,
  leadOhms: null,
  stepVolts: null,
  stepAmps: null,
  accuracy: null,
};

const MODES: readonly RegulationMode[] = ["unknown", "cv", "cc"];
const NO_STAGE = 255;

/** The columns of one feed's trace while they grow; a column in which nothing was ever known becomes null. */
export class TraceColumns {
  readonly feed: string;
  constants: TraceConstants = NOTHING_KNOWN;
  #mostRows: number;
  #intervalMs: number | null = null;
  #n = 0;
  #room = 256;
  #atMs = new Float64Array(this.#room);
  #volts = new Float64Array(this.#room);
  #amps = new Float64Array(this.#room);
  #setVolts: Float64Array | null = null;
  #limitAmps: Float64Array | null = null;
  #mode: Uint8Array | null = null;
  #stage: Uint8Array | null = null;

  /** From `mostRows` on (default: never) level stretches are thinned, so that memory stays bounded however long it gets. */
  constructor(feed: string, mostRows = Number.POSITIVE_INFINITY) {
    this.feed = feed;
    this.#mostRows = mostRows;
  }

  get length(): number {
    return this.#n;
  }

  push(row: TraceRow): void {
    if (this.#n >= this.#mostRows) this.#thin();
    if (this.#n === this.#room) this.#grow();
    const i = this.#n++;
    this.#atMs[i] = row.atMs;
    this.#volts[i] = row.volts;
    this.#amps[i] = row.amps;
    if (row.setVolts !== undefined) this.#setVolts ??= new Float64Array(this.#room).fill(Number.NaN);
    if (row.limitAmps !== undefined) this.#limitAmps ??= new Float64Array(this.#room).fill(Number.NaN);
    const mode = MODES.indexOf(row.mode ?? "unknown");
    if (mode > 0) this.#mode ??= new Uint8Array(this.#room);
    if (row.stage !== undefined) this.#stage ??= new Uint8Array(this.#room).fill(NO_STAGE);
    // Unknown values are written too: where rows were thinned away, others stood before.
    if (this.#setVolts !== null) this.#setVolts[i] = row.setVolts ?? Number.NaN;
    if (this.#limitAmps !== null) this.#limitAmps[i] = row.limitAmps ?? Number.NaN;
    if (this.#mode !== null) this.#mode[i] = mode;
    if (this.#stage !== null)
      this.#stage[i] = row.stage === undefined ? NO_STAGE : StageName.options.indexOf(row.stage);
  }

  /** The trace so far; later rows do not change it. */
  trace(): DrawTrace {
    const n = this.#n;
    return {
      feed: this.feed,
      atMs: this.#atMs.slice(0, n),
      volts: this.#volts.slice(0, n),
      amps: this.#amps.slice(0, n),
      mode: this.#mode?.slice(0, n) ?? null,
      setVolts: this.#setVolts?.slice(0, n) ?? null,
      limitAmps: this.#limitAmps?.slice(0, n) ?? null,
      stage: this.#stage?.slice(0, n) ?? null,
      ...this.constants,
      ...(this.#intervalMs === null ? {} : { readEveryMs: this.#intervalMs }),
    };
  }

  #thin(): void {
    this.#intervalMs ??= readIntervalOf(this.#atMs.subarray(0, this.#n));
    this.#n = mergeQuietRows(
      {
        atMs: this.#atMs,
        volts: this.#volts,
        amps: this.#amps,
        setVolts: this.#setVolts,
        limitAmps: this.#limitAmps,
        mode: this.#mode,
        stage: this.#stage,
      },
      this.#n,
    );
    // Rows that all differ are all kept; looking again at each one more would take for ever.
    if (this.#n > 0.75 * this.#mostRows) this.#mostRows *= 2;
  }

  #grow(): void {
    this.#room *= 2;
    this.#atMs = grown(this.#atMs, this.#room);
    this.#volts = grown(this.#volts, this.#room);
    this.#amps = grown(this.#amps, this.#room);
    if (this.#setVolts !== null) this.#setVolts = grown(this.#setVolts, this.#room);
    if (this.#limitAmps !== null) this.#limitAmps = grown(this.#limitAmps, this.#room);
    if (this.#mode !== null) this.#mode = grownBytes(this.#mode, this.#room, 0);
    if (this.#stage !== null) this.#stage = grownBytes(this.#stage, this.#room, NO_STAGE);
  }
}

/** The mode and stage of a trace's row in words; undefined where not known. */
export function modeAt(trace: DrawTrace, index: number): RegulationMode | undefined {
  const mode = trace.mode?.[index] ?? 0;
  return mode === 0 ? undefined : MODES[mode];
}
export const stageAt = (trace: DrawTrace, index: number): StageName | undefined =>
  StageName.options[trace.stage?.[index] ?? NO_STAGE];

function grown(from: Float64Array, room: number): Float64Array<ArrayBuffer> {
  const to = new Float64Array(room).fill(Number.NaN, from.length);
  to.set(from);
  return to;
}

function grownBytes(from: Uint8Array, room: number, fill: number): Uint8Array<ArrayBuffer> {
  const to = new Uint8Array(room).fill(fill, from.length);
  to.set(from);
  return to;
}
