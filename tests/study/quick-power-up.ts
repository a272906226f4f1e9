import type { DrawInput } from "../../shared/draw-input.ts";
import type { StageName } from "../../shared/plan.ts";
import { TraceColumns } from "../../src/capture/trace-columns.ts";
import type { Random } from "../../src/simulator/random.ts";
import { type CircuitTraits, QuickCircuit } from "./quick-circuit.ts";
import { logUniform, pick, type StudyBoard, uniform } from "./study-board.ts";

/** How a study power-up is read. */
export interface StudyMeter extends CircuitTraits {
  intervalMs: number;
  jitter: number;
  filterMs: number;
  stepAmps: number;
  noiseAmps: number;
  noiseVolts: number;
  gainAmps: number;
  offsetAmps: number;
  gainVolts: number;
  /** Volts and amps come from one question; else amps are one interval older. */
  together: boolean;
  saysMode: boolean;
  knowsLead: boolean;
}

/** Meters from 5 to 300 ms, coarse and fine, quick and slow to limit. */
export function drawMeter(random: Random): StudyMeter {
  const intervalMs = logUniform(random, 5, 300);
  return {
    intervalMs,
    jitter: uniform(random, 0, 0.3),
    filterMs: random.next() < 0.5 ? 0 : intervalMs * uniform(random, 0.1, 0.6),
    stepAmps: pick(random, 0.001, 0.01),
    noiseAmps: logUniform(random, 0.0001, 0.003),
    noiseVolts: logUniform(random, 0.0003, 0.003),
    // Inside the accuracy that is reckoned with where none is stated: 0.5 % and one step.
    gainAmps: uniform(random, -0.004, 0.004),
    offsetAmps: uniform(random, -0.0008, 0.0008),
    gainVolts: uniform(random, -0.003, 0.003),
    together: random.next() < 0.7,
    saysMode: random.next() < 0.6,
    knowsLead: random.next() < 0.8,
    riseMs: logUniform(random, 3, 100),
    limitDelayMs: random.next() < 0.3 ? uniform(random, 2, 20) : 0.3,
    surgeAmps: uniform(random, 5, 15),
  };
}

const FINE_MS = 0.1;
/** Once nothing charges any more; pulses want a closer look. */
const COARSE_MS = { pulsed: 0.4, steady: 1 };

/** A first power-up as the design has it: touch, hold-low, rise, watch, off; stopped where it would be stopped. */
export function quickPowerUp(study: StudyBoard, meter: StudyMeter, random: Random): DrawInput {
  const circuit = new QuickCircuit(study.draw, meter, random);
  const columns = new TraceColumns("in12");
  columns.constants = {
    together: meter.together,
    leadOhms: meter.knowsLead ? study.draw.leadOhms : null,
    stepVolts: 0.001,
    stepAmps: meter.stepAmps,
    accuracy: null,
  };
  const coarseMs = study.draw.pulse === null ? COARSE_MS.steady : COARSE_MS.pulsed;
  let [nowMs, nextMs, volts, amps, lastAmps] = [0, meter.intervalMs, 0, 0, 0];

  let onRead = (_volts: number): void => undefined;
  const read = (stage: StageName): void => {
    const seenVolts = volts * (1 + meter.gainVolts) + meter.noiseVolts * random.normal();
    const moves = 1 + study.rippleShare * random.normal();
    const seenAmps = amps * moves * (1 + meter.gainAmps) + meter.offsetAmps + meter.noiseAmps * random.normal();
    const shown = Math.round(seenAmps / meter.stepAmps) * meter.stepAmps;
    columns.push({
      atMs: nowMs,
      volts: Math.round(seenVolts / 0.001) * 0.001,
      amps: meter.together ? shown : lastAmps,
      stage,
      setVolts: circuit.setVolts,
      limitAmps: circuit.limitAmps,
      ...(meter.saysMode ? { mode: circuit.limiting ? ("cc" as const) : ("cv" as const) } : {}),
    });
    lastAmps = shown;
    onRead(seenVolts);
    nextMs += meter.intervalMs * (1 + meter.jitter * (2 * random.next() - 1));
  };
  /** Lets `ms` pass; `stop` is asked after each step and ends it. */
  const pass = (stage: StageName, ms: number, stop: () => boolean = () => false): void => {
    const untilMs = nowMs + ms;
    const onMs = nowMs;
    while (nowMs < untilMs) {
      const begins = nowMs - onMs < (stage === "rise" ? 1000 : 50);
      const stepMs = Math.min(
        circuit.setVolts === 0 ? 10 : begins || (stage === "watch" && circuit.limiting) ? FINE_MS : coarseMs,
        Math.max(1e-6, nextMs - nowMs),
      );
      if (circuit.setVolts > 0) circuit.step(stepMs);
      nowMs += stepMs;
      const share = meter.filterMs === 0 ? 1 : -Math.expm1(-stepMs / meter.filterMs);
      volts += share * (circuit.volts - volts);
      amps += share * (circuit.amps - amps);
      if (nowMs >= nextMs - 1e-6) read(stage);
      if (stop()) return;
    }
  };
  const set = (setVolts: number, limitAmps: number): void => {
    circuit.setVolts = setVolts;
    circuit.limitAmps = limitAmps;
  };
  const off = (ms: number): void => {
    circuit.off();
    pass("check", ms);
  };
  /** Answers whether the feed stayed out of its limit. */
  const low = (stage: "touch" | "hold-low", setVolts: number): boolean => {
    const holdMs = Math.min(1500, Math.max(300, 4.5 * meter.intervalMs));
    set(setVolts, 0.3);
    pass(stage, holdMs);
    // A path of less than 100 Ω is found by the cold ohms before it, so it stops here also where this meter's steps are too coarse.
    const conducts = circuit.limiting || circuit.amps > 0.009;
    if (conducts && circuit.limiting) {
      set(setVolts, 0.6);
      pass(stage, holdMs);
    }
    off(4 * meter.intervalMs);
    return !conducts;
  };
  const finish = (): DrawInput => {
    circuit.off();
    pass("off", 4 * meter.intervalMs);
    return {
      traces: [columns.trace()],
      board: study.board,
      conditions: { host: "none", fans: "off" },
      limitAmps: null,
    };
  };

  off(3 * meter.intervalMs);
  if (!low("touch", 0.9) || !low("hold-low", 3)) return finish();
  const allowedMs = Math.min(
    1000,
    Math.max(100, (3000 * 2 * study.draw.inputFarads * 12) / study.limitAmps + 50 + 3 * meter.intervalMs),
  );
  let [limitedMs, falls, high, stopped] = [0, 0, false, false];
  let [seenAtMs, wasLimited] = [nowMs, false];
  // Stopped by what was read, as the tool stops it: a quick loop goes on until a slow meter has seen it.
  onRead = (seenVolts) => {
    if (circuit.limiting && wasLimited) limitedMs += nowMs - seenAtMs;
    [seenAtMs, wasLimited] = [nowMs, circuit.limiting];
    if (seenVolts >= 10.8) high = true;
    else if (high && seenVolts < 9.6) {
      falls++;
      high = false;
    }
    stopped = limitedMs > allowedMs || falls >= 2;
  };
  set(12, study.limitAmps);
  pass("rise", 1000, () => stopped);
  limitedMs = 0;
  if (!stopped) pass("watch", study.watchMs, () => stopped);
  // The cut takes its turn.
  if (stopped) pass("rise", 5);
  return finish();
}
