import type { BoardFile } from "../../shared/files/board-file.ts";
import type { ScenarioRail } from "../../shared/files/scenario-file.ts";
import { converterChangeMs, converterWatts } from "./load-converter.ts";
import { retryPulse } from "./load-retry.ts";
import type { LoadSum } from "./load-sum.ts";

interface Rail extends ScenarioRail {
  name: string;
  volts: number;
  needs: readonly string[];
  /** The plane of a feed itself. */
  follows: string | null;
  /** When everything it needs was there, simulation time. */
  letGoMs: number | undefined;
  lostMs: number | undefined;
}

/** The facts of a feed that the tree needs. */
export interface FeedState {
  volts: number;
  /** True while it is past its lock-out. */
  up: boolean;
}

/** The rate at which a rail's capacitors empty once nothing feeds them; from memory, common practice. */
const decayMs = 40;

const plain = (): ScenarioRail => ({ watts: 0, efficiency: 0.85, afterMs: 2, softStartMs: 2, startMs: 0, off: 0 });

/**
 * The power tree of a board as it comes up: each rail starts when all it needs is there, draws its power from one feed
 * and may have a fault. A board without rails is an empty tree.
 */
export class RailTree {
  private readonly rails: Rail[] = [];
  private readonly byName = new Map<string, Rail>();
  private readonly creep: { share: number; tauMs: number } | undefined;
  private warmSinceMs: number | undefined;

  constructor(
    board: BoardFile | null,
    behaviour: Record<string, ScenarioRail>,
    creep: { share: number; tauMs: number } | undefined,
  ) {
    this.creep = creep;
    const add = (name: string): void => {
      const rail = board?.rails[name];
      if (rail === undefined || this.byName.has(name)) return;
      for (const need of rail.needs) if (!need.startsWith("feed:")) add(need);
      const feed = rail.needs.length === 1 ? rail.needs[0] : undefined;
      const plane = feed?.startsWith("feed:") === true && board?.feeds[feed.slice(5)]?.nominalVolts === rail.volts;
      const made: Rail = {
        ...(behaviour[name] ?? plain()),
        name,
        volts: rail.volts,
        needs: rail.needs,
        follows: plane && feed !== undefined ? feed.slice(5) : null,
        letGoMs: undefined,
        lostMs: undefined,
      };
      this.rails.push(made);
      this.byName.set(name, made);
    };
    for (const name of Object.keys(board?.rails ?? {})) add(name);
  }

  /** Looks at the feeds and lets rails go or drop; needs come before what needs them. */
  update(feeds: Map<string, FeedState>, atMs: number): void {
    for (const rail of this.rails) {
      const fed = rail.needs.every((need) =>
        need.startsWith("feed:") ? feeds.get(need.slice(5))?.up === true : this.isUp(need, atMs),
      );
      if (fed && rail.letGoMs === undefined) {
        rail.letGoMs = atMs;
        rail.lostMs = undefined;
        this.warmSinceMs ??= atMs;
      } else if (!fed && rail.letGoMs !== undefined) {
        rail.letGoMs = undefined;
        rail.lostMs = atMs;
      }
    }
  }

  /** True where the rail has reached a level that what follows it accepts. */
  isUp(name: string, atMs: number): boolean {
    const rail = this.byName.get(name);
    if (rail?.letGoMs === undefined) return false;
    if (rail.follows !== null) return true;
    if (atMs - rail.letGoMs < rail.afterMs + rail.softStartMs) return false;
    return this.level(rail) >= 0.8 * rail.volts;
  }

  private level(rail: Rail): number {
    switch (rail.fault?.fault) {
      case "dead":
      case "short":
        return 0;
      case "off-level":
        return rail.fault.volts;
      default:
        return rail.volts * (1 + rail.off);
    }
  }

  /** Adds what the rails draw from `feed`. */
  draw(sum: LoadSum, feed: string, atMs: number): void {
    for (const rail of this.rails) {
      if (rail.from !== feed || rail.letGoMs === undefined || rail.fault?.fault === "dead") continue;
      const ms = atMs - rail.letGoMs;
      if (rail.fault?.fault === "short") {
        if (retryPulse({ ...rail.fault, afterMs: rail.afterMs }, ms).on) sum.amps += rail.fault.amps;
      } else {
        const warm =
          this.creep === undefined ? 0 : -Math.expm1(-(atMs - (this.warmSinceMs ?? atMs)) / this.creep.tauMs);
        sum.watts += converterWatts(rail, ms) * (1 + (this.creep?.share ?? 0) * warm);
      }
    }
  }

  /** The feed that a rail is the plane of; null for a rail with a converter, or none. */
  feedOf(name: string): string | null {
    return this.byName.get(name)?.follows ?? null;
  }

  /** The current that a rail's own load takes from it now, amps. */
  ampsOf(name: string, atMs: number): number {
    const rail = this.byName.get(name);
    if (rail === undefined || !this.isUp(name, atMs)) return 0;
    return (converterWatts(rail, atMs - (rail.letGoMs ?? atMs)) * rail.efficiency) / this.level(rail);
  }

  nextChangeMs(atMs: number): number {
    let next = Number.POSITIVE_INFINITY;
    for (const rail of this.rails) {
      if (rail.letGoMs === undefined) continue;
      const ms = atMs - rail.letGoMs;
      const change =
        rail.fault?.fault === "short"
          ? retryPulse({ ...rail.fault, afterMs: rail.afterMs }, ms).changeMs
          : converterChangeMs(rail, ms);
      next = Math.min(next, rail.letGoMs + change);
    }
    return next;
  }

  /** Volts of a rail now, or undefined where there is no such rail. */
  voltsOf(name: string, feeds: Map<string, FeedState>, atMs: number): number | undefined {
    const rail = this.byName.get(name);
    if (rail === undefined) return undefined;
    if (rail.follows !== null) return feeds.get(rail.follows)?.volts ?? 0;
    const level = this.level(rail);
    if (rail.letGoMs !== undefined) {
      const running = atMs - rail.letGoMs - rail.afterMs;
      const ramp =
        rail.softStartMs <= 0 ? (running >= 0 ? 1 : 0) : Math.max(0, Math.min(1, running / rail.softStartMs));
      return level * ramp;
    }
    return rail.lostMs === undefined ? 0 : level * Math.exp(-(atMs - rail.lostMs) / decayMs);
  }
}
