import type { DrawInput, DrawTrace } from "../../shared/draw-input.ts";
import { BoardFile } from "../../shared/files/board-file.ts";
import type { StageName } from "../../shared/plan.ts";
import type { RegulationMode } from "../../shared/reading.ts";
import { TraceColumns } from "../../src/capture/trace-columns.ts";
import { gaussian, seeded } from "../analysis/series.ts";

/** A stretch of a trace; volts and amps are levels or functions of the milliseconds since its beginning. */
export interface Part {
  stage: StageName;
  ms: number;
  set?: number;
  limit?: number;
  volts: number | ((ms: number) => number);
  amps: number | ((ms: number) => number);
  mode?: RegulationMode;
}

export interface TraceOptions {
  feed?: string;
  intervalMs?: number;
  /** Share of the interval by which readings come early or late. */
  jitter?: number;
  stepAmps?: number;
  noiseAmps?: number;
  leadOhms?: number | null;
  together?: boolean;
  seed?: number;
}

export const OFF: Part = { stage: "check", ms: 300, set: 0, limit: 0, volts: 0, amps: 0 };
/** A look at 0.9 V that shows a clean input. */
export const CLEAN_TOUCH: Part = {
  stage: "touch",
  ms: 300,
  set: 0.9,
  limit: 0.3,
  volts: 0.9,
  amps: 0.0001,
  mode: "cv",
};

/** Readings of an instrument that moves in steps, of a draw written down part by part. */
export function traceOf(parts: readonly Part[], options: TraceOptions = {}): DrawTrace {
  const { intervalMs = 20, jitter = 0.1, stepAmps = 0.001, noiseAmps = 0.0005 } = options;
  const random = seeded(options.seed ?? 1);
  const draw = gaussian(random);
  const columns = new TraceColumns(options.feed ?? "in12");
  columns.constants = {
    together: options.together ?? true,
    leadOhms: options.leadOhms === undefined ? 0.05 : options.leadOhms,
    stepVolts: 0.001,
    stepAmps,
    accuracy: null,
  };
  let begin = 0;
  for (const part of parts) {
    for (let ms = 0; ms < part.ms; ms += intervalMs) {
      const since = ms + jitter * intervalMs * (random() - 0.5);
      const level = (value: Part["volts"]) => (typeof value === "number" ? value : value(Math.max(0, since)));
      columns.push({
        atMs: begin + intervalMs + since,
        volts: Math.round(level(part.volts) / 0.001) * 0.001,
        amps: Math.round((level(part.amps) + noiseAmps * draw()) / stepAmps) * stepAmps,
        stage: part.stage,
        ...(part.set === undefined ? {} : { setVolts: part.set }),
        ...(part.limit === undefined ? {} : { limitAmps: part.limit }),
        ...(part.mode === undefined ? {} : { mode: part.mode }),
      });
    }
    begin += part.ms;
  }
  return columns.trace();
}

/** A watch at 12 V, with the reading at which it rose. */
export function watched(ms: number, amps: Part["amps"], limit = 2): Part[] {
  return [
    { stage: "rise", ms: 40, set: 12, limit, volts: 12, amps: typeof amps === "number" ? amps : amps(0) },
    { stage: "watch", ms, set: 12, limit, volts: 12, amps },
    OFF,
  ];
}

export const BOARD = BoardFile.parse({
  version: 1,
  name: "Wren W1",
  feeds: { in12: { nominalVolts: 12, limitAmps: 4, inputFarads: [0.0003, 0.002], lockOutVolts: [7.5, 7] } },
  idleAmps: [
    {
      when: { host: "none", fans: "off" },
      of: ["in12"],
      bands: {
        "open-input": [0, 0.003],
        "standby-only": [0.003, 0.08],
        "partly-up": [0.08, 0.35],
        "core-alive": [0.35, 0.6],
        normal: [0.65, 1.1],
      },
    },
  ],
});

export function inputOf(traces: DrawTrace[], rest: Partial<DrawInput> = {}): DrawInput {
  return { traces, board: BOARD, conditions: { host: "none", fans: "off" }, limitAmps: null, ...rest };
}
