import type { Clock } from "../../../shared/clock.ts";
import type { BenchFile } from "../../../shared/files/bench-file.ts";
import type { BoardFile } from "../../../shared/files/board-file.ts";
import type { FoundInstrument } from "../../../shared/ipc.ts";
import type { ColdReadings } from "../../../shared/permit.ts";
import { HostCondition } from "../../../shared/record/diagnosis.ts";
import type { BeginSweep } from "../../../shared/sweep.ts";
import { learnedValues } from "../../job/known/learned-values.ts";
import type { JobStore } from "../../job/store/job-store.ts";
import { shippedFaultData } from "../../verdict/diagnosis/shipped-fault-data.ts";
import type { GoodValue } from "../../verdict/sweep/group-verdict.ts";
import { sweepLimits } from "../../verdict/sweep/sweep-limits.ts";
import { readLeadNull } from "../run/lead-null-file.ts";
import type { PreparedRun } from "../run/prepare-run.ts";
import { GuidedSweep } from "./guided-sweep.ts";
import type { SweepPower } from "./sweep-power.ts";

export interface OpenSweepOptions {
  /** The machine and the clock come from whoever composes: this folder knows neither. */
  begin: BeginSweep;
  clock: Clock;
  side: SweepPower;
  bench: BenchFile;
  board: BoardFile;
  instruments: readonly FoundInstrument[];
  /** The feeds to be powered; null: cold, nothing is energised. */
  prepared: PreparedRun | null;
  /** Cold readings from before, which the diagnosis takes in; what the permit rested on. */
  coldOhms: ColdReadings;
  diode: boolean;
  fourWire: boolean;
  /** The place of the black probe: the board's own ground, or the supply's end of the return. */
  blackAt: "board" | "supply";
  keepOn: boolean;
  /** Only the points of this group of the board file; cold. */
  group?: string;
  /** Also the volts over parts of known ohms, at this temperature of theirs; null not known. Hot. */
  across?: { celsius: number | null };
  store: JobStore;
  job: string;
}

/** A sweep of this board on this bench, before its start. */
export async function openSweep(options: OpenSweepOptions): Promise<GuidedSweep> {
  const { begin, clock, side, bench, board, instruments, prepared, coldOhms, store, job, group, across } = options;
  const isCold = prepared === null;
  const meter = bench.meter === undefined ? undefined : instruments.find((each) => each.name === bench.meter);
  const scanner = bench.meter === undefined ? undefined : bench.instruments[bench.meter]?.scanner;
  const leadNull = meter === undefined || !isCold ? null : await readLeadNull(store.dir, meter.identity);
  const data = shippedFaultData();
  const leadOhms = Math.max(0, ...(prepared?.plan.feeds ?? []).map((each) => each.leadOhms ?? 0));
  return new GuidedSweep({
    bench: side,
    clock,
    sweep: begin({
      board,
      cold: isCold,
      diode: options.diode,
      fourWire: options.fourWire,
      ...(group === undefined ? {} : { group }),
      across: across !== undefined,
      leadNullOhms: leadNull?.ohms ?? null,
      hasMeter: meter !== undefined,
      limitsOf: sweepLimits(board, data),
      rangesOf: (measure) => meter?.functions?.[measure] ?? [],
      channelOf: (point) => scanner?.[point] ?? null,
    }),
    board,
    data,
    store,
    job,
    cold: isCold,
    meter:
      meter === undefined ? null : { name: meter.name, identity: meter.identity, leadNullOhms: leadNull?.ohms ?? null },
    coldOhms,
    maxOnMs: prepared?.plan.maxOnMs ?? 0,
    watchSeconds: prepared?.plan.watch.seconds ?? 0,
    // Half of the largest lead pair is what all the current may have to come back through.
    returnOhms: options.blackAt === "supply" ? leadOhms / 2 : null,
    host: HostCondition.safeParse(prepared?.request.conditions.host).data ?? null,
    keepOn: options.keepOn,
    ...(group === undefined ? {} : { group: { group, good: await goodValues(store, board, options.diode) } }),
    partCelsius: across?.celsius ?? null,
  });
}

/** The readings of good boards of this kind at each point, in ohms or in diode mode; empty where the record cannot be read. */
async function goodValues(store: JobStore, board: BoardFile, diode: boolean): Promise<Map<string, GoodValue>> {
  const wanted = diode ? "diodeVolts" : "ohms";
  const learned = await learnedValues(store, board.name).catch(() => []);
  return new Map(
    learned
      .filter(({ quantity }) => quantity === wanted)
      .map(({ point, median, boards }) => [point, { value: median, boards }]),
  );
}
