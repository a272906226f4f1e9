import type { BoardFile } from "../../shared/files/board-file.ts";
import type { ScenarioFeed, ScenarioFile } from "../../shared/files/scenario-file.ts";
import { type BoardLoad, sinceAbove } from "./board-load.ts";
import { FeedCircuit } from "./feed-circuit.ts";
import { type LoadSum, nothing } from "./load-sum.ts";
import { makeLoad } from "./make-load.ts";
import { OutputStage } from "./output-stage.ts";
import { type FeedState, RailTree } from "./rail-tree.ts";
import { seededRandom, seedOf } from "./random.ts";
import { ReadBack } from "./read-back.ts";
import type { FullSupplyTraits } from "./supply-defaults.ts";
import { FeedTally, type Truth } from "./truth.ts";

const leastMs = 0.02;
const mostMs = 4;
/** A step that moves a node by more than this is made again, shorter. */
const coarseVolts = 0.08;
/** A step that moves every node by less than this may be followed by a longer one. */
const fineVolts = 0.015;

const openFeed: ScenarioFeed = {
  nominalVolts: 12,
  leadOhms: 0.05,
  inputFarads: 1e-6,
  esrOhms: 0.01,
  leakOhms: 1e6,
  open: true,
  loads: [],
};

/** One feed with its supply output, what reads it back, and its truth. */
export interface SimulatedFeed {
  name: string;
  circuit: FeedCircuit;
  stage: OutputStage;
  readBack: ReadBack;
  tally: FeedTally;
  loads: BoardLoad[];
  past: (volts: number, atMs: number) => number | undefined;
  /** An output with nothing on it; not part of the truth. */
  spare: boolean;
}

/**
 * The board and the outputs that feed it, by physics. It is advanced lazily, to whatever time is asked of it, in steps
 * of 20 µs where something moves and up to 4 ms where nothing does.
 */
export class SimulatedBoard {
  readonly feeds: SimulatedFeed[] = [];
  readonly rails: RailTree;
  /** Called whenever an output switched by itself or by hand. */
  onSwitched: (feed: string, output: "on" | "off", why: string, atMs: number) => void = () => {};
  /** Called with the time after each step of the physics. */
  readonly onStep = new Set<(atMs: number) => void>();
  private readonly states = new Map<string, FeedState>();
  private readonly shortedHighSide: { feed: SimulatedFeed; share: number } | undefined;
  private nowMs: number;
  private stepMs = leastMs;
  private coreVolts = 0;
  private maxCoreVolts = 0;

  constructor(options: {
    scenario: ScenarioFile;
    board: BoardFile | null;
    traits: FullSupplyTraits;
    seed: number;
    startMs: number;
    /** Outputs with nothing on them. */
    spares?: readonly string[];
  }) {
    const { scenario, board, traits, seed } = options;
    this.nowMs = options.startMs;
    const bare = (name: string): [string, ScenarioFeed] => [name, openFeed];
    for (const [name, spec] of [...Object.entries(scenario.feeds), ...(options.spares ?? []).map(bare)]) {
      const stage = new OutputStage(traits);
      const lockOut = spec.lockOutVolts ??
        board?.feeds[name]?.lockOutVolts ?? [0.62 * spec.nominalVolts, 0.58 * spec.nominalVolts];
      this.feeds.push({
        name,
        circuit: new FeedCircuit(name, spec, stage),
        stage,
        readBack: new ReadBack(traits, seededRandom(seedOf(seed, `read ${name}`))),
        tally: new FeedTally(),
        loads: spec.loads.map((load, index) => makeLoad(load, seededRandom(seedOf(seed, `load ${name} ${index}`)))),
        past: sinceAbove(lockOut[0], lockOut[1]),
        spare: options.spares?.includes(name) === true,
      });
      this.states.set(name, { volts: 0, up: false });
      const shorted = spec.loads.find((load) => load.load === "shorted-high-side");
      const feed = this.feeds.at(-1);
      if (shorted !== undefined && feed !== undefined) {
        this.shortedHighSide = { feed, share: shorted.coreOhms / (shorted.coreOhms + shorted.pathOhms) };
      }
    }
    for (const path of scenario.backFeed) {
      const from = this.feed(path.from).circuit;
      const to = this.feed(path.to).circuit;
      from.paths.push({ other: to, ohms: path.ohms, way: path.path === "diode" ? "out" : "both" });
      to.paths.push({ other: from, ohms: path.ohms, way: path.path === "diode" ? "in" : "both" });
    }
    this.rails = new RailTree(board, scenario.rails, scenario.creep);
  }

  get atMs(): number {
    return this.nowMs;
  }

  feed(name: string): SimulatedFeed {
    const found = this.feeds.find((each) => each.name === name);
    if (found === undefined) throw new Error(`the simulated board has no feed ${JSON.stringify(name)}`);
    return found;
  }

  /** Something outside changed (a setting, an output): look closely at what follows. */
  disturb(): void {
    this.stepMs = leastMs;
  }

  /** Switches an output and files why. */
  switchOutput(name: string, output: "on" | "off", why: string): void {
    const { stage, tally } = this.feed(name);
    const before = stage.on;
    if (output === "on") stage.switchOn();
    else stage.switchOff();
    this.disturb();
    if (before !== stage.on) {
      tally.switched(this.nowMs, output, why);
      this.onSwitched(name, output, why, this.nowMs);
    }
    if (stage.on) tally.settings(stage.limitAmps, stage.setVolts);
  }

  /** A setting was changed: the truth keeps the highest that stood while on. */
  settingsChanged(name: string): void {
    const { stage, tally } = this.feed(name);
    if (stage.on) tally.settings(stage.limitAmps, stage.setVolts);
    this.disturb();
  }

  /** Lets time pass until `untilMs`; earlier times change nothing. */
  advanceTo(untilMs: number): void {
    while (this.nowMs < untilMs - 1e-9) {
      if (this.asleep()) {
        this.nowMs = untilMs;
        for (const feed of this.feeds)
          feed.readBack.step({ ms: 1000, atMs: untilMs, volts: 0, amps: 0, limiting: false });
        for (const seen of this.onStep) seen(untilMs);
        return;
      }
      this.step(Math.min(this.stepMs, untilMs - this.nowMs));
      for (const seen of this.onStep) seen(this.nowMs);
    }
  }

  private asleep(): boolean {
    return this.feeds.every(
      ({ circuit, stage }) =>
        !stage.on &&
        Math.abs(circuit.boardVolts) < 5e-4 &&
        Math.abs(stage.terminalVolts) < 5e-4 &&
        Math.abs(circuit.capacitorVolts) < 5e-4,
    );
  }

  private step(wishMs: number): void {
    const atMs = this.nowMs;
    let changed = false;
    let limitMs = wishMs;
    let loadsChangeMs = Number.POSITIVE_INFINITY;
    const sums: LoadSum[] = [];
    for (const feed of this.feeds) {
      const state = this.states.get(feed.name);
      if (state === undefined) continue;
      state.volts = feed.circuit.boardVolts;
      const up = feed.past(state.volts, atMs) !== undefined;
      if (up !== state.up) changed = true;
      state.up = up;
    }
    this.rails.update(this.states, atMs);
    loadsChangeMs = this.rails.nextChangeMs(atMs);
    for (const feed of this.feeds) {
      const sum = nothing();
      sum.siemens += 1 / feed.circuit.spec.leakOhms;
      for (const load of feed.loads) {
        load.draw(sum, feed.circuit.boardVolts, atMs);
        loadsChangeMs = Math.min(loadsChangeMs, load.nextChangeMs(atMs));
      }
      this.rails.draw(sum, feed.name, atMs);
      sums.push(sum);
      limitMs = Math.min(limitMs, feed.stage.nextChangeMs(), feed.readBack.nextRefreshMs - atMs);
    }
    limitMs = Math.min(limitMs, loadsChangeMs - atMs);
    // A change due at this very moment still needs a step to happen in.
    const ended = limitMs < wishMs;
    let ms = Math.max(limitMs, Math.min(wishMs, leastMs / 4));
    let solved = this.solve(sums, ms);
    while (solved.movedVolts > coarseVolts && ms > leastMs) {
      ms = Math.max(leastMs, ms / 2);
      this.stepMs = ms;
      solved = this.solve(sums, ms);
    }
    this.nowMs = atMs + ms;
    this.feeds.forEach((feed, index) => {
      const step = solved.steps[index];
      if (step === undefined) return;
      const wasOn = feed.stage.on;
      if (feed.circuit.commit(step, ms)) changed = true;
      feed.tally.step({
        ms,
        boardVolts: step.boardVolts,
        amps: step.leadAmps,
        limiting: feed.stage.stepLimited,
        on: wasOn,
      });
      feed.readBack.step({
        ms,
        atMs: this.nowMs,
        volts: step.terminal.volts,
        amps: step.leadAmps,
        limiting: feed.stage.limiting,
      });
      if (wasOn && !feed.stage.on) {
        feed.tally.switched(this.nowMs, "off", feed.stage.tripped);
        this.onSwitched(feed.name, "off", feed.stage.tripped, this.nowMs);
      }
    });
    if (this.shortedHighSide !== undefined) {
      this.coreVolts = this.shortedHighSide.feed.circuit.boardVolts * this.shortedHighSide.share;
      this.maxCoreVolts = Math.max(this.maxCoreVolts, this.coreVolts);
    }
    if (changed || this.nowMs >= loadsChangeMs - 1e-9) this.stepMs = leastMs;
    else if (solved.movedVolts < fineVolts && !ended) this.stepMs = Math.min(mostMs, this.stepMs * 1.5);
  }

  private solve(sums: LoadSum[], ms: number) {
    const volts = new Map(this.feeds.map((feed) => [feed.circuit, feed.circuit.boardVolts]));
    const of = (circuit: FeedCircuit): number => volts.get(circuit) ?? 0;
    const coupled = this.feeds.some((feed) => feed.circuit.paths.length > 0);
    let steps = [] as ReturnType<FeedCircuit["solve"]>[];
    // Feeds joined by a path are solved in turn until they agree.
    for (let round = 0; round < (coupled ? 40 : 1); round++) {
      let moved = 0;
      steps = this.feeds.map((feed, index) => {
        const step = feed.circuit.solve(sums[index] ?? nothing(), ms, of, of(feed.circuit));
        moved = Math.max(moved, Math.abs(step.boardVolts - of(feed.circuit)));
        volts.set(feed.circuit, step.boardVolts);
        return step;
      });
      if (moved < 1e-7) break;
    }
    let movedVolts = 0;
    for (const [index, { circuit, stage }] of this.feeds.entries()) {
      const onBoard = Math.abs((steps[index]?.boardVolts ?? 0) - circuit.boardVolts);
      const atTerminals = Math.abs((steps[index]?.terminal.volts ?? 0) - stage.terminalVolts);
      movedVolts = Math.max(movedVolts, onBoard, atTerminals);
    }
    return { steps, movedVolts };
  }

  /** Volts at a point: a feed or a rail; undefined where the board has no such point. */
  voltsAt(point: string): number | undefined {
    const feed = this.feeds.find((each) => each.name === point);
    if (feed !== undefined) return feed.circuit.boardVolts;
    return this.rails.voltsOf(point, this.states, this.nowMs);
  }

  /** Amps into a feed or out of a rail's converter now; 0 for a point that carries none. */
  ampsInto(point: string): number {
    const named = this.rails.feedOf(point) ?? point;
    const feed = this.feeds.find((each) => each.name === named);
    return feed === undefined ? this.rails.ampsOf(point, this.nowMs) : feed.circuit.leadAmps;
  }

  get coreNodeVolts(): number {
    return this.coreVolts;
  }

  truth(): Truth {
    return {
      atMs: this.nowMs,
      coreVolts: this.coreVolts,
      maxCoreVolts: this.maxCoreVolts,
      feeds: Object.fromEntries(
        this.feeds
          .filter((feed) => !feed.spare)
          .map((feed) => [
            feed.name,
            feed.tally.truth({
              boardVolts: feed.circuit.boardVolts,
              amps: feed.circuit.leadAmps,
              limiting: feed.stage.limiting,
              on: feed.stage.on,
            }),
          ]),
      ),
    };
  }
}
