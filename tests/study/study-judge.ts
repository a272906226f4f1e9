import type { DrawVerdict } from "../../shared/draw-verdict.ts";
import type { StudyMeter } from "./quick-power-up.ts";
import type { StudyBoard } from "./study-board.ts";

/** Whether a verdict is the right one: the class of what is wrong, or for what one try cannot decide an undecided one that names it. */
export function isRight({ mechanism, truth }: StudyBoard, verdict: DrawVerdict): boolean {
  const named = verdict.candidates.map((each) => each.class);
  switch (mechanism) {
    case "limited":
      return verdict.class === "overload" || (verdict.class === "cannot-tell" && named.includes("overload"));
    case "start-demand":
      return (
        verdict.class === truth ||
        (verdict.class === "cannot-tell" && (named.includes("normal") || named.includes("core-alive")))
      );
    default:
      return verdict.class === truth;
  }
}

/** A short, an overload, a retry or a climb taken for a board whose core lives. */
export const isCalledHealthy = ({ truth }: StudyBoard, verdict: DrawVerdict): boolean =>
  (truth === "dead-short" || truth === "overload" || truth === "retrying" || truth === "creeping") &&
  (verdict.class === "normal" || verdict.class === "core-alive");

/** Whether `cannot-tell` is what the design asks for here, whatever the meter. */
export const mustStayOpen = ({ mechanism }: Pick<StudyBoard, "mechanism">): boolean =>
  mechanism === "limited" || mechanism === "start-demand" || mechanism === "intermittent";

/**
 * Whether this meter can see what tells this board from the others: levels further than three standard uncertainties from
 * an edge, pulses of at least a reading with three readings to a period, a climb well above steps and noise.
 */
export function canResolve(study: StudyBoard, meter: StudyMeter): boolean {
  const { mechanism, draw, scale, levelAmps, watchMs } = study;
  const { stepAmps, noiseAmps, intervalMs, jitter } = meter;
  const uncertainty = (amps: number) =>
    Math.hypot(0.005 * amps + Math.max(stepAmps, 0.001), stepAmps / 2, noiseAmps / 3) / Math.sqrt(3);
  const clear = (amps: number, edges: readonly number[]) =>
    edges.every((edge) => Math.abs(amps - edge) > 3 * uncertainty(amps));
  switch (mechanism) {
    case "open-input":
      return stepAmps <= 0.001 && noiseAmps < 0.001;
    case "standby-only":
      return (
        levelAmps > Math.max(0.003 + 3 * uncertainty(levelAmps), 4 * stepAmps) &&
        clear(levelAmps, [0.08 * scale]) &&
        levelAmps < 0.08 * scale
      );
    case "partly-up":
      return clear(levelAmps, [0.08 * scale, 0.35 * scale]) && levelAmps > 0.08 * scale && levelAmps < 0.35 * scale;
    case "core-alive":
    case "normal": {
      const [low, high] = mechanism === "normal" ? [0.65 * scale, 1.1 * scale] : [0.35 * scale, 0.6 * scale];
      const grown = levelAmps * (1 + (draw.creep?.share ?? 0));
      return clear(levelAmps, [low]) && levelAmps > low && clear(grown, [high]) && grown < high;
    }
    case "dead-short":
    case "ohmic": {
      const ohms = 1 / draw.siemens;
      const amps = Math.min(0.3, 0.9 / ohms);
      const voltsU = (0.005 * amps * ohms + 0.005) / Math.sqrt(3);
      const ohmsU = ohms * Math.hypot(voltsU / (amps * ohms), uncertainty(amps) / amps);
      const doubt = 3 * ohmsU + (meter.knowsLead ? 0 : 0.2);
      return Math.abs(ohms - 0.5) > doubt && 0.9 / ohms > 3 * uncertainty(0) + 4 * stepAmps;
    }
    case "over-demand":
      return clear(levelAmps, [1.65 * scale]) && levelAmps > 1.65 * scale;
    case "retrying": {
      const pulse = draw.pulse;
      if (pulse === null) return false;
      const seen = pulse.periodMs >= 3.5 * intervalMs && pulse.onMs >= intervalMs * (1 + jitter) + 2 * meter.filterMs;
      return seen && watchMs >= 5.5 * pulse.periodMs && pulse.amps >= Math.max(10 * stepAmps, 10 * noiseAmps);
    }
    case "creeping":
    case "leaky": {
      const leak = draw.leak;
      if (leak === null) return false;
      const climb = Math.min(leak.mostAmps, leak.amps * Math.expm1(watchMs / leak.tauMs));
      return climb > Math.max(5 * stepAmps, 5 * noiseAmps, 0.03 * levelAmps);
    }
    default:
      return true;
  }
}
