import type { ScenarioFeed } from "../../shared/files/scenario-file.ts";
import { ampsOfLoad, type LoadSum } from "./load-sum.ts";
import type { OutputStage } from "./output-stage.ts";

/** A path between this feed and another: resistor, or diode that conducts one way only. */
export interface FeedPath {
  other: FeedCircuit;
  ohms: number;
  /** "out": conducts only from this feed to the other; "in": only back; "both": a resistor. */
  way: "both" | "out" | "in";
}

const diodeVolts = 0.35;

/** Amps from this feed into a path, and their slope, at `volts` here and `other` there. */
function ampsOfPath(path: FeedPath, volts: number, other: number): { amps: number; slope: number } {
  const across = volts - other;
  if (path.way === "both") return { amps: across / path.ohms, slope: 1 / path.ohms };
  const forward = (path.way === "out" ? across : -across) - diodeVolts;
  if (forward <= 0) return { amps: 0, slope: 0 };
  return { amps: ((path.way === "out" ? 1 : -1) * forward) / path.ohms, slope: 1 / path.ohms };
}

/** The result of a step of one feed, before it is taken over. */
export interface FeedStep {
  boardVolts: number;
  terminal: { volts: number; amps: number };
  reference: number;
  leadAmps: number;
}

/**
 * One feed: a supply's output, leads, the board's input capacitor with its series resistance, and what draws current.
 * Backward Euler: stable at any step, charge kept exactly, so that the step may be long where nothing moves.
 */
export class FeedCircuit {
  readonly name: string;
  readonly spec: ScenarioFeed;
  readonly stage: OutputStage;
  readonly paths: FeedPath[] = [];
  /** At the card's connector. */
  boardVolts = 0;
  /** In the capacitor, behind its series resistance. */
  capacitorVolts = 0;
  /** Through the leads, into the board. */
  leadAmps = 0;

  constructor(name: string, spec: ScenarioFeed, stage: OutputStage) {
    this.name = name;
    this.spec = spec;
    this.stage = stage;
  }

  /** Solves one step of `ms` for the load as it stands; `others` gives the other feeds' volts. Nothing is changed. */
  solve(load: LoadSum, ms: number, others: (feed: FeedCircuit) => number, guess: number): FeedStep {
    const seconds = ms / 1000;
    const reference = this.stage.referenceAfter(ms);
    const leadOhms = this.spec.open ? 1e9 : this.spec.leadOhms;
    const capacitor = 1 / (this.spec.esrOhms + seconds / this.spec.inputFarads);
    // Kirchhoff at the connector; falls as the voltage rises, so that Newton inside a bracket always ends.
    const left = (volts: number): { amps: number; slope: number; terminal: { volts: number; amps: number } } => {
      const terminal = this.stage.solve(volts, leadOhms, reference, seconds);
      const drawn = ampsOfLoad(load, volts);
      let amps = (terminal.volts - volts) / leadOhms - drawn.amps - capacitor * (volts - this.capacitorVolts);
      let slope = (terminal.slope - 1) / leadOhms - drawn.slope - capacitor;
      for (const path of this.paths) {
        const through = ampsOfPath(path, volts, others(path.other));
        amps -= through.amps;
        slope -= through.slope;
      }
      return { amps, slope, terminal };
    };
    let low = -5;
    let high = 100;
    let volts = guess;
    let found = left(volts);
    for (let round = 0; round < 60 && Math.abs(found.amps) > 1e-9; round++) {
      if (found.amps > 0) low = volts;
      else high = volts;
      const newton = volts - found.amps / found.slope;
      const next = newton > low && newton < high ? newton : (low + high) / 2;
      if (Math.abs(next - volts) < 1e-12) break;
      volts = next;
      found = left(volts);
    }
    return {
      boardVolts: volts,
      terminal: found.terminal,
      reference,
      leadAmps: (found.terminal.volts - volts) / leadOhms,
    };
  }

  /** Takes a step over; answers whether the next one should be short. */
  commit(step: FeedStep, ms: number): boolean {
    const capacitor = 1 / (this.spec.esrOhms + ms / 1000 / this.spec.inputFarads);
    const charging = capacitor * (step.boardVolts - this.capacitorVolts);
    this.capacitorVolts += (charging * (ms / 1000)) / this.spec.inputFarads;
    this.boardVolts = step.boardVolts;
    this.leadAmps = step.leadAmps;
    return this.stage.commit(step.terminal, step.reference, ms);
  }
}
