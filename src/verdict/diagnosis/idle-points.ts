import type { DiagnosisReadings, HostCondition } from "../../../shared/record/diagnosis.ts";
import type { BoardRoles } from "./board-roles.ts";
import type { PowerTree } from "./power-tree.ts";
import { sagBecause, saggingInputs } from "./sagging-inputs.ts";

/** The state of power that comes after the one the board is in. */
export interface NextState {
  name: string;
  /** "the power key is pressed". */
  after: string;
  /** The points that come up with it. */
  up: readonly string[];
}

/** Which points are not expected to be up as things stand: a low reading there says nothing of the board. */
export interface IdlePoints {
  host: HostCondition | "unknown";
  /** Point to the reason, a clause: "no host is attached, and the host drives it". */
  why: ReadonlyMap<string, string>;
  /** Why a look at the signal of a role says nothing, a clause; null where it does say something, or no role is given. */
  ofSignal(role: string | null): string | null;
  /** null where the board file has no states of power, or the last one is reached. */
  next: NextState | null;
}

/** From this share of nominal on a point counts as up, where that tells which state of power was reached. */
const UP_SHARE = 0.5;

/**
 * Points that are down on a good board too: signals that a host drives while none is attached, rails of a state of power that was not
 * reached, what hangs on an input whose supply is in its limit, and what needs either. A state nobody named is the last one of which a point of its own is up. A host nobody spoke of is
 * taken as absent for what a low signal says, and as possible for what may be measured.
 */
export function idlePoints(readings: DiagnosisReadings, tree: PowerTree, roles: BoardRoles): IdlePoints {
  const host = readings.host ?? (readings.checks["host-look"] === undefined ? "unknown" : "attached");
  const { states, next } = statesOf(readings, tree);
  const why = new Map<string, string>();
  const isBehindIdle = (rail: string): string | undefined =>
    tree.board.rails[rail]?.needs.find((need) => why.has(need));
  for (const rail of tree.rails) {
    const waits = isBehindIdle(rail);
    const undriven = isHostDriven(rail, tree, roles) ? undrivenBecause(host, roles.signals.get(rail)) : null;
    const later = states.get(rail);
    if (later !== undefined) why.set(rail, `it comes up only after ${later}`);
    else if (undriven !== null) why.set(rail, undriven);
    else if (waits !== undefined) why.set(rail, `it waits for ${waits}, of which ${why.get(waits)}`);
  }
  // An input that sags takes along what hangs on it, once the converters there are locked out.
  for (const sag of saggingInputs(readings, tree)) {
    const behind = tree.rails.filter((rail) => sag.isLockedOut && tree.isBehind(rail, sag.feed));
    const low = [sag.feed, tree.planeOf(sag.feed) ?? sag.feed, ...behind];
    for (const point of low) if (!why.has(point)) why.set(point, sagBecause(sag));
  }
  const ofSignal = (role: string | null): string | null => {
    if (role === null) return null;
    const signal = [...roles.signals].find(([, each]) => each === role)?.[0];
    if (signal !== undefined) return why.get(signal) ?? null;
    // A card whose board file names no reset has it from its host anyway.
    return role === "reset" && host === "none" ? "no host is attached, and the host drives it" : null;
  };
  return { host, why, next, ofSignal };
}

/** True for a signal that the host drives: by the board file's word, and a reference clock always. */
export const isHostDriven = (point: string, tree: PowerTree, roles: BoardRoles): boolean => {
  const drivenBy = tree.board.rails[point]?.drivenBy;
  return drivenBy === "host" || (drivenBy === undefined && roles.signals.get(point) === "ref-clock");
};

function undrivenBecause(host: IdlePoints["host"], role: string | undefined): string | null {
  if (host === "attached" || (host === "pulled-up" && role === "reset")) return null;
  if (host === "pulled-up") return "the resistor only releases reset, and the host drives it";
  return host === "none"
    ? "no host is attached, and the host drives it"
    : "the host drives it, and it was not stated whether a host is attached";
}

function statesOf(
  readings: DiagnosisReadings,
  tree: PowerTree,
): { states: ReadonlyMap<string, string>; next: NextState | null } {
  const list = Object.entries(tree.board.states ?? {});
  const firstOf = new Map<string, number>();
  list.forEach(([, { up }], at) => {
    for (const point of up) if (!firstOf.has(point)) firstOf.set(point, at);
  });
  const isUp = (point: string): boolean => {
    const volts = readings.volts[point] ?? readings.signals[point];
    const nominal = tree.board.rails[point]?.volts ?? 0;
    return typeof volts === "number" && nominal > 0 && volts >= UP_SHARE * nominal;
  };
  const stated = list.findIndex(([name]) => name === readings.state);
  const shown = Math.max(0, ...[...firstOf].filter(([point]) => isUp(point)).map(([, at]) => at));
  const now = stated === -1 ? shown : stated;
  const states = new Map<string, string>();
  for (const [point, at] of firstOf) {
    const entry = list[at];
    if (at > now && entry !== undefined) states.set(point, entry[1].after);
  }
  const coming = list[now + 1];
  return {
    states,
    next: coming === undefined ? null : { name: coming[0], after: coming[1].after, up: coming[1].up },
  };
}
