import type { DrawInput } from "../../shared/draw-input.ts";
import type { SupplyTraits } from "../../shared/files/supply-traits.ts";
import type { StageName } from "../../shared/plan.ts";
import { TraceColumns } from "../../src/capture/trace-columns.ts";
import { type LoadedScenario, loadScenario } from "../../src/simulator/load-scenario.ts";
import { SimulatedBoard } from "../../src/simulator/simulated-board.ts";
import { supplyDefaults } from "../../src/simulator/supply-defaults.ts";

export interface PowerUpOptions {
  intervalMs: number;
  stepAmps?: number;
  watchMs?: number;
  seed?: number;
  /** Whether the supply says what regulates. */
  saysMode?: boolean;
  traits?: SupplyTraits;
}

/**
 * A first power-up of a simulated board by hand: touch and hold-low of each feed alone, rise in order, watch, off; it
 * stops where a technician would. No wire and no clock are involved, so hundreds run in a test.
 */
export async function powerUp(
  name: string,
  options: PowerUpOptions,
): Promise<{ input: DrawInput; loaded: LoadedScenario }> {
  const loaded = await loadScenario(name);
  return { input: new Bench(loaded, options).run(), loaded };
}

class Bench {
  readonly #loaded: LoadedScenario;
  readonly #options: PowerUpOptions;
  readonly #board: SimulatedBoard;
  readonly #columns = new Map<string, TraceColumns>();
  readonly #names: string[];
  #atMs = 0;

  constructor(loaded: LoadedScenario, options: PowerUpOptions) {
    const { scenario, board } = loaded;
    this.#loaded = loaded;
    this.#options = options;
    const traits = {
      ...supplyDefaults,
      ...scenario.supply,
      refreshMs: Math.min(options.intervalMs, 50),
      stepAmps: options.stepAmps ?? 0.001,
      ...options.traits,
    };
    this.#board = new SimulatedBoard({ scenario, board, traits, seed: options.seed ?? 1, startMs: 0 });
    const order = (feed: string): number => board?.feeds[feed]?.order ?? 9;
    this.#names = Object.keys(scenario.feeds).sort((a, b) => order(a) - order(b));
    for (const feed of this.#names) {
      const columns = new TraceColumns(feed);
      columns.constants = {
        together: true,
        leadOhms: scenario.feeds[feed]?.leadOhms ?? null,
        stepVolts: traits.stepVolts,
        stepAmps: traits.stepAmps,
        accuracy: null,
      };
      this.#columns.set(feed, columns);
    }
  }

  run(): DrawInput {
    this.#reach();
    for (const feed of this.#names) this.#off(feed);
    this.#read("off", 300);
    const { scenario, board } = this.#loaded;
    return {
      traces: [...this.#columns.values()].map((columns) => columns.trace()),
      board,
      conditions: { host: scenario.conditions.host ?? "unknown", fans: scenario.conditions.fans ?? "unknown" },
      limitAmps: null,
    };
  }

  #reach(): void {
    this.#read("check", 200);
    for (const feed of this.#names) if (!this.#low(feed, "touch")) return;
    for (const feed of this.#names) if (this.#nominal(feed) > 4 && !this.#low(feed, "hold-low")) return;
    for (const feed of this.#names) if (!this.#rise(feed)) return;
    const end = this.#atMs + (this.#options.watchMs ?? 15_000);
    let limited = 0;
    while (this.#atMs < end && limited < 10) {
      this.#read("watch", this.#options.intervalMs);
      limited = this.#names.some((feed) => this.#board.feed(feed).stage.limiting) ? limited + 1 : 0;
    }
  }

  /** Answers false where the feed conducts or another is lifted. */
  #low(feed: string, stage: "touch" | "hold-low"): boolean {
    const twelve = this.#nominal(feed) > 4;
    const volts = stage === "hold-low" ? 3 : twelve ? 0.9 : 0.8;
    const limit = !twelve ? 0.1 : feed.startsWith("slot") ? 0.2 : 0.3;
    this.#on(feed, volts, limit);
    this.#read(stage, Math.max(300, 4 * this.#options.intervalMs));
    const { stage: output } = this.#board.feed(feed);
    const ohms = output.terminalVolts / Math.max(output.regulatedAmps, 1e-6);
    if (stage === "touch" && output.limiting) {
      this.#on(feed, volts, 2 * limit);
      this.#read(stage, Math.max(200, 4 * this.#options.intervalMs));
    }
    const lifted = this.#names.some((other) => other !== feed && this.#board.feed(other).circuit.boardVolts > 0.3);
    this.#off(feed);
    this.#read("check", 400);
    return !output.limiting && ohms > 100 && !lifted;
  }

  #rise(feed: string): boolean {
    const entry = this.#loaded.board?.feeds[feed];
    this.#on(feed, this.#nominal(feed), entry?.firstAmps ?? entry?.limitAmps ?? 2);
    const begin = this.#atMs;
    let limitedMs = 0;
    let falls = 0;
    let high = false;
    while (this.#atMs - begin < 1500) {
      this.#read("rise", this.#options.intervalMs);
      const { stage, circuit } = this.#board.feed(feed);
      if (stage.limiting) limitedMs += this.#options.intervalMs;
      if (circuit.boardVolts > 0.9 * this.#nominal(feed)) high = true;
      else if (high && circuit.boardVolts < 0.8 * this.#nominal(feed)) {
        falls++;
        high = false;
      }
      if (falls >= 3 || limitedMs > 1000) return false;
      const lifted = this.#names.some(
        (other) => !this.#board.feed(other).stage.on && this.#board.feed(other).circuit.boardVolts > 0.3,
      );
      if (lifted) {
        this.#read("rise", 4 * this.#options.intervalMs);
        return false;
      }
      if (high && !stage.limiting && this.#atMs - begin > 500) return true;
    }
    return true;
  }

  #nominal(feed: string): number {
    return this.#loaded.scenario.feeds[feed]?.nominalVolts ?? 12;
  }

  #on(feed: string, volts: number, limitAmps: number): void {
    const { stage } = this.#board.feed(feed);
    stage.setVolts = volts;
    stage.limitAmps = limitAmps;
    this.#board.settingsChanged(feed);
    if (!stage.on) this.#board.switchOutput(feed, "on", "test");
  }

  #off(feed: string): void {
    if (this.#board.feed(feed).stage.on) this.#board.switchOutput(feed, "off", "test");
  }

  /** Reads every feed each interval, for `ms`. */
  #read(stage: StageName, ms: number): void {
    const until = this.#atMs + ms;
    while (this.#atMs < until - 1e-6) {
      this.#atMs += this.#options.intervalMs;
      this.#board.advanceTo(this.#atMs);
      for (const feed of this.#names) {
        const { stage: output, readBack } = this.#board.feed(feed);
        const { volts, amps, limiting } = readBack.read(output);
        this.#columns.get(feed)?.push({
          atMs: this.#atMs,
          volts,
          amps,
          stage,
          setVolts: output.on ? output.setVolts : 0,
          limitAmps: output.on ? output.limitAmps : 0,
          ...(this.#options.saysMode === false ? {} : { mode: limiting ? ("cc" as const) : ("cv" as const) }),
        });
      }
    }
  }
}
