import { BenchError, quoted } from "../../../shared/bench-error.ts";
import type { FiledColdReadings } from "../../../shared/cold-evidence.ts";
import type { FoundFeed, FoundInstrument, MissingFeed } from "../../../shared/ipc.ts";
import type { ColdReadings, Permit } from "../../../shared/permit.ts";
import type { Plan } from "../../../shared/plan.ts";
import type { RunHeader, RunPurpose } from "../../../shared/record/run-record.ts";
import { coldReadingProblems } from "../../analysis/cold-readings.ts";
import { uuidV7 } from "../../job/store/uuid-v7.ts";
import { compileInjection } from "../../plan/compile/compile-injection.ts";
import { compileLeads } from "../../plan/compile/compile-leads.ts";
import { compilePlan, type PlanProblem, type SupplyCapabilities } from "../../plan/compile/compile-plan.ts";
import { evaluatePermit } from "../../plan/permit/permit.ts";
import type { PermitEvidence } from "../../plan/permit/permit-evidence.ts";
import { evaluateInjection, evaluateLeads } from "../../plan/permit/permit-injection.ts";
import type { BenchProcess } from "../process/bench-process.ts";
import { PROGRAM } from "../process/program.ts";
import { benchFeeds, missingInWords } from "./bench-feeds.ts";
import type { RunRequest } from "./run-request.ts";

export interface PreparedRun {
  request: RunRequest;
  plan: Plan;
  permit: Permit;
  instruments: FoundInstrument[];
  feeds: FoundFeed[];
  /** The scheduling that the bench process got, in words; null where it has not said so. */
  scheduling: string | null;
  /** The warnings for a person before it is energised, in sentences. */
  warnings: string[];
}

/** Feeds of the bench that a run of this board uses: those both name, or all of the bench's for an unknown board. */
function feedsOf({ bench, board, task }: RunRequest): string[] {
  // All of them must be off while one is on a rail.
  if (task?.task === "inject" || task?.task === "leads") return Object.keys(bench.feeds);
  const feeds = Object.keys(bench.feeds).filter((feed) => board === null || Object.hasOwn(board.feeds, feed));
  if (feeds.length > 0 || board === null) return feeds;
  throw new BenchError(
    "bad-input",
    `Cannot power ${board.name} on this bench: the board's feeds are ${Object.keys(board.feeds).join(", ")}, the bench has ${Object.keys(bench.feeds).join(", ")}; they need at least one name in common; nothing was touched`,
  );
}

function capabilitiesOf(instruments: FoundInstrument[], feeds: FoundFeed[]): Record<string, SupplyCapabilities> {
  return Object.fromEntries(
    instruments
      .filter((each) => each.kind === "supply")
      .map((each) => [
        each.name,
        {
          stepVolts: each.stepVolts,
          stepAmps: each.stepAmps,
          offsetAmps: each.offsetAmps,
          hasOverVoltage: each.hasOverVoltage,
          hasOverCurrent: each.hasOverCurrent,
          hasWatchdog: each.hasWatchdog,
          riseMs: each.riseMs,
          channels: Object.fromEntries(
            feeds
              .filter((feed) => feed.supply === each.name)
              .map((feed) => [
                feed.channel,
                { maxVolts: feed.maxVolts, maxAmps: feed.maxAmps, readIntervalMs: feed.readIntervalMs },
              ]),
          ),
        },
      ]),
  );
}

function warningsOf(
  { instruments, feeds, missing }: Pick<PreparedRun, "instruments" | "feeds"> & { missing: MissingFeed[] },
  request: RunRequest,
): string[] {
  const supplies = instruments.filter((each) => each.kind === "supply");
  const isUnpowered = request.task?.task === "inject" || request.task?.task === "leads";
  const atBoard = isUnpowered ? [] : boardWarnings(request, missing);
  return [
    ...feeds
      .filter((each) => each.cutByUs)
      .map((each) => `${each.feed}: the output of ${each.supply} was found on and has been cut`),
    ...instruments.flatMap(({ name, driver, driverFile }) =>
      driverFile === undefined
        ? []
        : [`${name} uses ${driver}, a driver of your own (${quoted(driverFile)}), which decides what off means for it`],
    ),
    ...supplies
      .filter((each) => !each.hasWatchdog)
      .map(
        (each) =>
          `${each.name} stays on if this computer dies: it has no communication watchdog. Keep its own switch within reach`,
      ),
    ...supplies
      .filter((each) => !each.hasOverVoltage)
      .map(
        (each) =>
          `${each.name} has no over-voltage protection: the program can only switch off after the voltage was too high`,
      ),
    ...atBoard,
    ...missingInWords(missing),
  ];
}

function boardWarnings(request: RunRequest, missing: readonly MissingFeed[]): string[] {
  const isMissing = (feed: string): boolean => missing.some((each) => each.feed === feed);
  return [
    ...(request.board === null
      ? ["no board file was given: limits and bands are the built-in defaults for an unknown board, weak on purpose"]
      : []),
    ...Object.keys(request.bench.feeds)
      .filter((feed) => request.board !== null && !Object.hasOwn(request.board.feeds, feed) && !isMissing(feed))
      .map((feed) => `${feed} of the bench is not a feed of this board and stays off`),
    ...Object.keys(request.board?.feeds ?? {})
      .filter((feed) => !Object.hasOwn(request.bench.feeds, feed))
      .map((feed) => `${feed} of the board has no feed on this bench and stays off, so expect a low draw`),
  ];
}

/**
 * Connects the instruments, makes the plan of what they can do and of the board, and evaluates the permit. Energises
 * nothing; an output found on has been cut. Throws BenchError "bad-input" naming every field that does not fit, or what
 * the failing instrument threw.
 */
export async function prepareRun(
  client: Pick<BenchProcess, "connect"> & { scheduling?: string },
  request: RunRequest,
): Promise<PreparedRun> {
  const { bench, board } = request;
  // A request that can be refused without an instrument is refused before one is opened.
  compiled(request, {});
  const { instruments, feeds, missing } = await client.connect({
    bench,
    drivers: request.drivers,
    ownDrivers: request.ownDrivers ?? {},
    // All of them must be off while one is on a rail.
    ...benchFeeds(bench, request.task?.task === "inject" ? null : board),
  });
  const left = feeds.find((each) => each.output !== "off");
  if (left !== undefined) {
    throw new BenchError(
      "output-unknown",
      `Cannot start: the output of ${left.supply} for feed "${left.feed}" could not be confirmed off; switch it off at the supply`,
      {
        detail: { output: "unknown" },
      },
    );
  }
  const { plan, capBecause } = compiled(request, capabilitiesOf(instruments, feeds));
  const evidence: PermitEvidence = {
    conditions: request.conditions,
    ...(request.statedAgeMs === undefined ? {} : { statedAgeMs: request.statedAgeMs }),
    coldOhms: request.coldOhms,
    coldFourWire: request.fourWire ?? [],
    coldFiled: filedOf(request),
    instruments: instruments.flatMap(({ name, kind, identity, hasWatchdog }) =>
      // A recorder switches nothing and decides nothing: no condition is about it.
      kind === "recorder" ? [] : [{ name, kind, identity, hasWatchdog }],
    ),
    found: feeds.map((each) => ({ feed: each.feed, output: each.output, cutByUs: each.cutByUs, volts: each.volts })),
  };
  const { task } = request;
  const permit =
    task?.task === "inject"
      ? evaluateInjection(plan, { ...evidence, side: task.side, capBecause }, request.waiver)
      : task?.task === "leads"
        ? evaluateLeads(plan, { ...evidence, joined: task.joined, capBecause }, request.waiver)
        : evaluatePermit(plan, board, evidence, request.waiver);
  const { scheduling = null } = client;
  const warnings = warningsOf({ instruments, feeds, missing }, request);
  return { request, plan, permit, instruments, feeds, scheduling, warnings };
}

/** The job's cold readings of points this board or bench has; the job may have seen another board file. */
function filedOf({ bench, board, filedCold = {} }: RunRequest): FiledColdReadings {
  return Object.fromEntries(
    Object.entries(filedCold).filter(
      ([point, { ohms }]) => coldReadingProblems({ [point]: ohms }, bench, board).length === 0,
    ),
  );
}

const freshOhms = (filed: FiledColdReadings): ColdReadings =>
  Object.fromEntries(
    Object.entries(filed).flatMap(([point, { ohms, expired }]) => (expired === null ? [[point, ohms]] : [])),
  );

function compiled(
  request: RunRequest,
  capabilities: Record<string, SupplyCapabilities>,
): { plan: Plan; capBecause: string } {
  const { bench, board, task } = request;
  const common = { bench, board, capabilities, coldOhms: { ...freshOhms(filedOf(request)), ...request.coldOhms } };
  const result: { plan: Plan; capBecause?: string } | { problems: PlanProblem[] } =
    task?.task === "inject"
      ? compileInjection({ ...common, wish: task })
      : task?.task === "leads"
        ? compileLeads({ bench, capabilities, wish: task })
        : compilePlan({
            ...common,
            options: {
              feeds: feedsOf(request),
              cooler: request.conditions.cooler,
              keepOn: request.keepOn,
              ...(request.watchSeconds === null ? {} : { watchSeconds: request.watchSeconds }),
              ...(task?.task === "soak" ? { wholeWatch: true } : {}),
              ...(task?.task === "margin" ? { margin: task } : {}),
            },
          });
  if ("plan" in result) return { plan: result.plan, capBecause: result.capBecause ?? "" };
  throw new BenchError(
    "bad-input",
    `Cannot make a plan of this bench and board: ${result.problems.map(({ path, message }) => `${path} ${message}`).join("; ")}; nothing was energised`,
    { detail: { problems: result.problems } },
  );
}

/** All the run is started with, as it is filed. */
export function runHeader(prepared: PreparedRun, purpose: RunPurpose): RunHeader {
  const { request, plan, permit, instruments, scheduling } = prepared;
  return {
    ...(scheduling === null ? {} : { scheduling }),
    run: uuidV7(),
    capture: uuidV7(),
    purpose,
    startedAt: new Date().toISOString(),
    program: PROGRAM,
    plan,
    board: request.board,
    bench: request.bench,
    instruments: instruments.map((each) => ({
      name: each.name,
      kind: each.kind,
      address: each.address,
      identity: each.identity,
      serialNumber: each.serialNumber,
      driver: each.driver,
      ...(each.driverFile === undefined ? {} : { driverFile: each.driverFile }),
      accuracy: request.bench.instruments[each.name]?.accuracy ?? each.accuracy,
      roundTrip: each.roundTrip,
    })),
    conditions: request.conditions,
    permit,
  };
}
